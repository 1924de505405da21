"""The field of one panel: its curves, its limits, and words put where no curve runs."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass

from equip.deliver.picture.cycle import Curve, Panel
from equip.deliver.picture.ink import Block, Mark, Stroke, Words
from equip.deliver.picture.thinning import Box, clipped, thinned
from equip.deliver.picture.ticks import Scale
from labels.faces import BOLD, PLAIN, width

_COLUMN = 0.12
"""Width of a column that is thinned, in sizes of the type: about a dot and a half on a screen."""
_LOOKS = 60
"""At how many places it is looked where the curves run."""


@dataclass(frozen=True, slots=True)
class _Place:
    """A box of words; *x* and *y* are its left end and its baseline."""

    x: float
    y: float
    width: float
    em: float

    def holds(self, x: float, y: float) -> bool:
        within = self.x - 0.3 * self.em <= x <= self.x + self.width + 0.3 * self.em
        return within and self.y - 1.1 * self.em <= y <= self.y + 0.4 * self.em

    def meets(self, other: "_Place") -> bool:
        beside = self.x + self.width < other.x or other.x + other.width < self.x
        return not beside and abs(self.y - other.y) < 1.3 * self.em


class Plot:
    """Where a moment and a value stand, and everything drawn within the axes.

    *taken* are places of words, *uprights* where upright lines stand: words keep clear of both.
    """

    def __init__(
        self, panel: Panel, left: float, right: float, top: float, bottom: float, em: float
    ) -> None:
        self.panel, self.em = panel, em
        self.left, self.right, self.top, self.bottom = left, right, top, bottom
        self.start, self.end = panel.start, panel.end
        self.across = Scale(panel.start, panel.end, left, right)
        self.upward = Scale(panel.low, panel.high, bottom, top)
        self.box = Box(panel.start, panel.end, panel.low, panel.high)
        self.taken: list[_Place] = []
        self.uprights: list[float] = []

    def x(self, second: float) -> float:
        return self.across.at(second)

    def y(self, value: float) -> float:
        return self.upward.at(value)

    def ground(self) -> Iterator[Mark]:
        """The band and the limits, under the curves."""
        wide, thin = self.right - self.left, 0.07 * self.em
        if self.panel.band is not None:
            low, high = (self.y(value) for value in self.panel.band)
            yield Block(self.left, high, wide, low - high)
            for y in (low, high):
                yield Stroke(((self.left, y), (self.right, y)), thin)
        for level in self.panel.levels:
            y = self.y(level.at)
            yield Stroke(((self.left, y), (self.right, y)), thin, (0.9 * self.em, 0.25 * self.em))

    def curves(self) -> Iterator[Mark]:
        for curve in self.panel.curves:
            dash = tuple(part * self.em / 13 for part in curve.dash)
            for part in self._parts(curve):
                points = tuple((self.x(s), self.y(v)) for s, v in part)
                yield Stroke(points, curve.weight * self.em / 13, dash)

    def _parts(self, curve: Curve) -> Iterator[list[tuple[float, float]]]:
        """The pieces of a curve that are seen; one reading alone between holes is a short dash."""
        columns = max(int((self.right - self.left) / (_COLUMN * self.em)), 1)
        for start, end in curve.whole:
            seconds, values = curve.seconds[start:end], curve.values[start:end]
            points = thinned(seconds, values, self.start, self.end, columns)
            for part in clipped(points, self.box):
                if len(part) == 1:
                    (second, value), half = part[0], (self.end - self.start) / 400
                    part = [(second - half, value), (second + half, value)]
                yield part

    # --- words where there is room ----------------------------------------------------------------

    def labels(self) -> Iterator[Mark]:
        """The letter on each line, then the words of band and limits."""
        yield from self._letters()
        if self.panel.band is not None:
            low, high = (self.y(value) for value in self.panel.band)
            heights = (high - 0.45 * self.em, high + 1.3 * self.em, low + 1.3 * self.em)
            yield self._words(self.panel.band_says, heights)
        for level in self.panel.levels:
            y = self.y(level.at)
            yield self._words(level.says, (y - 0.45 * self.em, y + 1.3 * self.em))

    def _words(self, says: str, heights: tuple[float, ...]) -> Words:
        """The words at whichever place the fewest curves run through."""
        wide = width(says, PLAIN, self.em)
        room = self.right - self.left - wide - self.em
        columns = [self.left + 0.5 * self.em + max(room, 0) * part / 12 for part in range(13)]
        places = [
            _Place(x, y, wide, self.em)
            for y in heights
            for x in columns
            if self.top <= y - 0.9 * self.em and y + 0.2 * self.em <= self.bottom
        ]
        chosen = min(places or [_Place(columns[0], heights[0], wide, self.em)], key=self._met)
        self.taken.append(chosen)
        return Words(says, chosen.x, chosen.y, self.em)

    def _met(self, place: _Place) -> int:
        met = sum(place.holds(x, y) for curve in self.panel.curves for x, y in self._course(curve))
        met += 3 * sum(place.holds(x, place.y) for x in self.uprights)
        return met + 10 * sum(place.meets(other) for other in self.taken)

    def _course(self, curve: Curve) -> list[tuple[float, float]]:
        """Where a curve runs, at a few places across the field."""
        step = (self.right - self.left) / _LOOKS
        xs = [self.left + step * (n + 0.5) for n in range(_LOOKS)]
        found = []
        for x in xs:
            value = self._value(curve, self.across.value(x))
            if value is not None:
                found.append((x, self.y(value)))
        return found

    def _value(self, curve: Curve, second: float) -> float | None:
        """The reading at or before a moment, None where there is none or it is not seen."""
        index = bisect_right(curve.seconds, second) - 1
        if index < 0 or not self.panel.low <= curve.values[index] <= self.panel.high:
            return None
        return curve.values[index]

    def _letters(self) -> Iterator[Mark]:
        """A curve's mark on its own line, where it is flat and far from the others."""
        if len(self.panel.curves) < 2:
            return
        courses = {curve.mark: self._course(curve) for curve in self.panel.curves}
        for curve in self.panel.curves:
            others = [c for mark, c in courses.items() if mark != curve.mark]
            place = self._place_of(curve, courses[curve.mark], others)
            if place is None:
                continue
            self.taken.append(place)
            yield Block(place.x, place.y - 0.8 * self.em, place.width, 0.9 * self.em, "paper")
            middle = place.x + place.width / 2
            yield Words(curve.mark, middle, place.y, self.em, "middle", bold=True)

    def _place_of(
        self,
        curve: Curve,
        course: list[tuple[float, float]],
        others: list[list[tuple[float, float]]],
    ) -> _Place | None:
        wide = width(curve.mark, BOLD, self.em) + 0.2 * self.em
        best, found = (-1.0, 0.0), None
        for x, y in course:
            place = _Place(x - wide / 2, y + 0.36 * self.em, wide, self.em)
            if not self._is_free(place) or not self._is_flat(curve, x, wide):
                continue
            near = [abs(y - oy) for other in others for ox, oy in other if abs(ox - x) < 1e-6]
            apart = round(min([2 * self.em, *near]), 1)
            beside = min([8 * self.em, *(abs(x - other.x) for other in self.taken)])
            if (apart, beside) > best:
                best, found = (apart, beside), place
        return found

    def _is_free(self, place: _Place) -> bool:
        """Whether no other words and no upright line stand there."""
        uprights = any(place.holds(x, place.y) for x in self.uprights)
        return not uprights and not any(place.meets(other) for other in self.taken)

    def _is_flat(self, curve: Curve, x: float, wide: float) -> bool:
        """Whether nothing of the line would be hidden by a letter at *x*, whole and within."""
        if x - wide < self.left or x + wide > self.right:
            return False
        first = bisect_left(curve.seconds, self.across.value(x - wide / 2))
        last = bisect_right(curve.seconds, self.across.value(x + wide / 2))
        part = curve.values[max(first - 1, 0) : last + 1]
        return self.y(min(part)) - self.y(max(part)) < 0.7 * self.em
