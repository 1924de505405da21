"""What a picture of a cycle shows, as a table: for those who hear it or want the figures.

A row at each round moment and at each moment at which something began, ended or went wrong.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass

from equip.deliver.picture.cycle import Curve, Drawn
from equip.deliver.picture.ticks import time_step
from equip.rules.wording import exact_span

_MOST = 30


@dataclass(frozen=True, slots=True)
class TableRow:
    """One moment: how far into the log, a value of each curve, what happened; *wrong* if so."""

    at: str
    values: tuple[str, ...]
    says: str
    wrong: bool = False


@dataclass(frozen=True, slots=True)
class Tabled:
    """The names of the columns, in full and as short as the letters on the lines; the rows."""

    heads: tuple[str, ...]
    short: tuple[str, ...]
    rows: tuple[TableRow, ...]


def tabled(drawn: Drawn) -> Tabled:
    """The whole cycle as a table; what a close-up shows again is in it once."""
    curves = [curve for panel in drawn.panels if not panel.close for curve in panel.curves]
    heads = tuple(f"{c.mark}: {c.name}, {c.unit}" for c in curves)
    short = tuple(f"{c.mark}, {c.unit}" for c in curves)
    return Tabled(heads, short, tuple(_rows(drawn, curves)))


def _rows(drawn: Drawn, curves: list[Curve]) -> Iterator[TableRow]:
    whole = drawn.panels[0]
    step = time_step(whole.end - whole.start, _MOST)
    first = -int(-whole.start // step) * step
    happened: dict[float, list[str]] = {}
    wrong = {trouble.at_s for trouble in drawn.troubles if not trouble.remark}
    for event in drawn.events:
        happened.setdefault(event.at_s, []).append(event.says)
    for trouble in drawn.troubles:
        says = f"{trouble.number}: {trouble.says.partition(': ')[2]}"
        happened.setdefault(trouble.at_s, []).append(says)
    moments = {float(at) for at in range(first, int(whole.end) + 1, step)} | set(happened)
    for at in sorted(moments):
        values = tuple(_value(curve, at) for curve in curves)
        yield TableRow(exact_span(at), values, "; ".join(happened.get(at, [])), at in wrong)


def _value(curve: Curve, at: float) -> str:
    """The reading nearest to a moment, of the part of the log that the moment lies in."""
    for start, end in curve.whole:
        if curve.seconds[start] <= at <= curve.seconds[end - 1]:
            after = bisect_left(curve.seconds, at, start, end)
            before = bisect_right(curve.seconds, at, start, end) - 1
            nearer = min((before, after), key=lambda n: abs(curve.seconds[n] - at))
            return f"{curve.values[nearer]:,.1f}"
    return "no reading"
