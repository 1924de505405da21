"""What a cycle's heating or drying says about how much was in it, by the machine's own cycles.

What must be heated grows with what is in the chamber. A line through the machine's own passed
cycles of the programme, seconds over number of things, is drawn by medians (Theil and Sen: the
median of all slopes between two cycles), so that a load that was counted wrong once moves it
little; how far cycles lie off it is their scatter (median absolute deviation). A load that lies
far off asks a question. Things are not kilograms: the line tells of many and few, not of mass.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from statistics import NormalDist, median

from equip.rules.verdict import Reason
from equip.rules.wording import span

_SIGMAS = 1 / NormalDist().inv_cdf(0.75)
"""How many median absolute deviations a sigma of normally spread values is: 1.4826."""


@dataclass(frozen=True, slots=True)
class SizeRules:
    """When anything is said at all, and how far off asks; each number from a dated rule."""

    fewest_cycles: int
    fewest_sizes: int
    scatter: float
    least_s: float


@dataclass(frozen=True, slots=True)
class SizedCycle:
    """One cycle of the machine: how many things were put in, how long the stage took."""

    things: int
    seconds: float


@dataclass(frozen=True, slots=True)
class SizeLine:
    """Seconds for an empty chamber and for each thing more, and how far off is still usual.

    *fewest* and *most* are the smallest and the largest load among the *cycles* it rests on.
    """

    base_s: float
    each_s: float
    band_s: float
    cycles: int
    fewest: int
    most: int

    def expected_s(self, things: int) -> float:
        """What a load of so many things takes; beyond the sizes that were seen, as the last."""
        return self.base_s + self.each_s * min(max(things, self.fewest), self.most)

    def like(self, seconds: float) -> int:
        """How many things take so long; nought for an empty chamber."""
        return max(round((seconds - self.base_s) / self.each_s), 0)


def line(cycles: Sequence[SizedCycle], rules: SizeRules) -> SizeLine | None:
    """The line through *cycles*, or None where they say nothing about size.

    They say nothing if they are too few or too much alike in size, or if the largest load takes
    no longer than the smallest by more than the scatter.
    """
    sizes = {one.things for one in cycles}
    if len(cycles) < rules.fewest_cycles or len(sizes) < rules.fewest_sizes:
        return None
    each = median(
        (b.seconds - a.seconds) / (b.things - a.things)
        for a, b in combinations(cycles, 2)
        if a.things != b.things
    )
    base = median(one.seconds - each * one.things for one in cycles)
    off = median(abs(one.seconds - base - each * one.things) for one in cycles)
    band = max(rules.scatter * _SIGMAS * off, rules.least_s)
    if each * (max(sizes) - min(sizes)) <= band:
        return None
    return SizeLine(base, each, band, len(cycles), min(sizes), max(sizes))


def asks(stage: str, size_line: SizeLine, things: int, seconds: float) -> Reason | None:
    """A question if a load of *things* took longer or shorter than such a load may.

    *stage* is the verb of the sentence: "heated", "dried". A load that is larger than any before
    is only asked about if it took less than the largest, a smaller one if it took more than the
    smallest: nobody knows how the line goes on.
    """
    expected = size_line.expected_s(things)
    apart = seconds - expected
    beyond = (things > size_line.most and apart > 0) or (things < size_line.fewest and apart < 0)
    like = size_line.like(seconds)
    if abs(apart) <= size_line.band_s or beyond or like == things:
        return None
    low, high = _range(size_line, things)
    why = (
        "Is something in it that was not scanned, or were its things much colder or heavier?"
        if apart > 0
        else "Was something left out of it, or were its things warm or light?"
    )
    says = (
        f"{_put_in(things)}, but it {stage} like {_about(like, size_line)}: it took "
        f"{span(seconds)}, where {size_line.cycles} passed cycles of this machine let "
        f"{span(low)} to {span(high)} be expected. {why}"
    )
    return Reason(f"load-size-{stage}", says, spoils="pass")


def usual(stage: str, size_line: SizeLine, things: int, seconds: float) -> str:
    """What the machine's own cycles let be expected, beside what this load took."""
    low, high = _range(size_line, things)
    beyond = (
        ""
        if size_line.fewest <= things <= size_line.most
        else f" None of them held so {'many' if things > size_line.most else 'few'}."
    )
    return (
        f"It {stage} for {span(seconds)}. For {things} {'thing' if things == 1 else 'things'}, "
        f"{size_line.cycles} passed cycles of this machine let {span(low)} to {span(high)} be "
        f"expected.{beyond}"
    )


def _range(size_line: SizeLine, things: int) -> tuple[float, float]:
    expected = size_line.expected_s(things)
    return max(expected - size_line.band_s, 0.0), expected + size_line.band_s


def _put_in(things: int) -> str:
    return "1 thing was put in" if things == 1 else f"{things} things were put in"


def _about(like: int, size_line: SizeLine) -> str:
    if like == 0:
        return "an empty chamber"
    if like > size_line.most:
        return f"more than {size_line.most}, the most in any of them"
    return f"about {like}"
