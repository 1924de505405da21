"""The stages of a cycle as people see them, and the boundaries that somebody may correct by hand.

A stage that a log shows has a name, a beginning, an end, and what was measured in between. Which
there are, and what a log contradicts, is for `steam_parts` and `washer_parts`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from equip.logs.plain import Trace
from equip.rules.wording import exact_span
from equip.typed import Mistyped, decimal

AIR_REMOVAL_ENDS, DRYING_BEGINS = "air-removal-ends", "drying-begins"
BOUNDARIES = {
    AIR_REMOVAL_ENDS: "end of the air removal",
    DRYING_BEGINS: "beginning of the drying",
}
"""Every boundary that may be corrected, as a fact spells it and as people say it."""
_LONGEST_S = 7 * 86_400
_MILLISECOND = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Boundaries:
    """Where stages begin or end, in seconds of the log; None is where nobody knows or said."""

    air_removal_ends_s: float | None = None
    drying_begins_s: float | None = None

    @property
    def known(self) -> dict[str, float]:
        """Those that are known, by their names in a fact."""
        every = {
            AIR_REMOVAL_ENDS: self.air_removal_ends_s,
            DRYING_BEGINS: self.drying_begins_s,
        }
        return {name: seconds for name, seconds in every.items() if seconds is not None}

    def over(self, found: "Boundaries") -> "Boundaries":
        """These where they are known, else those that were *found*."""
        every = {**found.known, **self.known}
        return Boundaries(every.get(AIR_REMOVAL_ENDS), every.get(DRYING_BEGINS))


AS_FOUND = Boundaries()
"""Nothing was corrected."""


class BadBoundary(ValueError):
    """A boundary that is no moment of a log; the message says which and what to do."""


def read_boundaries(given: Mapping[str, str]) -> dict[str, str]:
    """Boundaries as they were typed, spelled as a fact keeps them; an empty one is left out."""
    read: dict[str, str] = {}
    for name, typed in given.items():
        if name not in BOUNDARIES:
            known = ", ".join(BOUNDARIES.values())
            raise BadBoundary(f"“{name[:30]}” is no boundary of a cycle; there are {known}.")
        if text := typed.strip():
            read[name] = _spelled(name, text)
    return read


def _spelled(name: str, text: str) -> str:
    try:
        seconds = decimal(text, least=0, most=_LONGEST_S, places=9)
    except Mistyped:
        raise BadBoundary(
            f"“{text[:20]}” was read as the {BOUNDARIES[name]}: type the seconds of the log, "
            "as 1305 or 1305.5."
        ) from None
    return format(seconds.quantize(_MILLISECOND).normalize(), "f")


def as_boundaries(kept: Mapping[str, str]) -> Boundaries:
    """Boundaries out of a fact."""
    seconds = {name: float(text) for name, text in kept.items()}
    return Boundaries(seconds.get(AIR_REMOVAL_ENDS), seconds.get(DRYING_BEGINS))


def outside(trace: Trace, boundaries: Boundaries) -> list[str]:
    """A sentence for each of *boundaries* that lies outside the log."""
    first, last = trace.seconds[0], trace.seconds[-1]
    return [
        f"The log runs from {exact_span(first)} to {exact_span(last)}: the {BOUNDARIES[name]} "
        f"cannot be at {exact_span(seconds)}."
        for name, seconds in boundaries.known.items()
        if not first < seconds <= last
    ]


def up_to(seconds: Sequence[float], moment: float) -> int:
    """How many readings were taken before *moment*."""
    return sum(1 for at in seconds if at < moment)


@dataclass(frozen=True, slots=True)
class StagePart:
    """One stage of one cycle. *kpa* are the lowest and highest pressure, None without a gauge."""

    name: str
    from_s: float
    to_s: float
    celsius: tuple[float, float]
    kpa: tuple[float, float] | None


def part(trace: Trace, name: str, first: int, last: int) -> StagePart:
    """What was measured from reading *first* to reading *last*, over all probes."""
    readings = [celsius for probe in trace.probes for celsius in probe[first : last + 1]]
    kpa = None if trace.kpa is None else trace.kpa[first : last + 1]
    return StagePart(
        name,
        trace.seconds[first],
        trace.seconds[last],
        (min(readings), max(readings)),
        None if kpa is None else (min(kpa), max(kpa)),
    )


def in_a_row(trace: Trace, ends: Sequence[tuple[str, int, int]]) -> Iterator[StagePart]:
    """The parts of those names and readings that hold two readings at least."""
    for name, first, last in ends:
        if last > first:
            yield part(trace, name, first, last)
