"""What every judged log's picture has in common: its probes, its troubles, room for words."""

from collections.abc import Iterable, Iterator, Sequence

from equip.deliver.picture.cycle import Curve, Trouble
from equip.deliver.picture.layout import LOWEST
from equip.facts import Told
from equip.logs.plain import Trace
from equip.rules.cycles.behind import behind
from equip.rules.wording import exact_span

COLD_C = 20.0
"""Scales of temperature begin no higher."""
_DASHES: tuple[tuple[float, ...], ...] = ((), (9, 3), (4, 3), (9, 3, 2, 3), (6, 2, 2, 2, 2, 2))
_WORDS_EM = 1.6
"""The height of a row of words with its air, in sizes of the type."""

Whole = Sequence[tuple[int, int]]
"""The parts of a log without a hole, as `thinning.unbroken` gives them."""


def troubles(reasons: Iterable[Told]) -> Iterator[Trouble]:
    for number, reason in enumerate(reasons, start=1):
        if reason.at_s is not None:
            about, at = behind(reason.code), float(reason.at_s)
            yield Trouble(number, at, f"{exact_span(at)}: {about.short}", about.remark)


def probes(trace: Trace, whole: Whole) -> Iterator[Curve]:
    for number, probe in enumerate(trace.probes, start=1):
        mark = "T" if len(trace.probes) == 1 else f"T{number}"
        name = "chamber" if number == 1 else f"probe {number}"
        dash = _DASHES[(number - 1) % len(_DASHES)]
        yield Curve(
            mark, name, "°C", trace.seconds, probe, whole, dash, 2.0 if number == 1 else 1.4
        )


def with_room(low: float, highest: float, tall: float) -> float:
    """The upper end of a scale on which words still fit above *highest*, however low it is set."""
    return low + (highest - low) / (1 - _WORDS_EM / (tall * LOWEST))
