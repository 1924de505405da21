"""What benches scan, each scan with a piece of the answer that it must get."""

from collections.abc import Iterable, Iterator
from itertools import cycle

from tests.measure.grown import STEPS

Planned = tuple[str, bytes]

VISIT = 16  # scans: nine of a scope, five of a card, one of a patient, one of a lot
_VISITS = 50  # until a bench begins again with its first patient


def _says(word: str, tone: str = "note") -> bytes:
    return f'"answer":{{"tone":"{tone}","word":"{word}",'.encode()


USED = _says("Used")
_WET = b'"answer":{"tone":"note","word":"Wet until '


def checks(pairs: Iterable[tuple[str, str]]) -> list[Planned]:
    """Every scope looked at ahead of the session. What was checked holds for some hours."""
    lines = [("check", _says("Check"))]
    for scope in (scope for pair in pairs for scope in pair):
        lines += [(scope, _says("Picture, edge and light")), ("good", _says("Checked"))]
    return lines


WAIT: Planned = ("", b"")
"""Nobody scans until what was wiped has been wet for its time; it counts as no scan."""


def visits(number: int, pair: tuple[str, str], lot: str) -> Iterator[Planned]:
    """Two scopes cleaned, one asked for, both used on a patient; and again without end."""
    one, other = pair
    lines: list[Planned] = []
    for visit in range(_VISITS):
        for step in STEPS:
            lines.append((step, _says(step.capitalize())))
            if step == "disinfect":
                lines += [(lot, _says("Lot")), *((scope, _WET) for scope in pair), WAIT]
            else:
                lines += [(scope, _says("Done")) for scope in pair]
        lines += [
            ("lay up", _says("Lay up")),
            (one, _says("Yes", tone="yes")),
            (f"{7_000_000 + number * 1000 + visit}", _says("Patient")),
            (one, USED),
            (other, USED),
            ("finish", _says("Finished")),
        ]
    return cycle(lines)


def bare(script: Iterable[Planned]) -> Iterator[Planned]:
    """The same scans at the floor, which has only one answer."""
    return ((text, b"{}") for text, _ in script if text)
