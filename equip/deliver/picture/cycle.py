"""What a picture of a cycle shows, in seconds and in the units of its scales; nothing of ink."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Curve:
    """One quantity over time. *mark* stands on the line and in the key, *name* in the key.

    *whole* are the index ranges without a hole of the log between them: no line bridges a hole.
    """

    mark: str
    name: str
    unit: str
    seconds: Sequence[float]
    values: Sequence[float]
    whole: Sequence[tuple[int, int]]
    dash: tuple[float, ...] = ()
    weight: float = 1.6


@dataclass(frozen=True, slots=True)
class Level:
    """A limit: a line across the panel and its words."""

    at: float
    says: str


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of time with a name; not *sure* where it is wanted, unclear or does not count."""

    start: float
    end: float
    says: str
    sure: bool = True


@dataclass(frozen=True, slots=True)
class Trouble:
    """Where something went wrong: its number among the reasons and a few words for it."""

    number: int
    at_s: float
    says: str
    remark: bool = False


@dataclass(frozen=True, slots=True)
class CycleEvent:
    """A moment that the table of the picture has a row for."""

    at_s: float
    says: str


@dataclass(frozen=True, slots=True)
class Panel:
    """Curves on one scale from *low* to *high*, over the time from *start* to *end*.

    *tall* is the height of the scale, in sizes of the type. *band* is what the programme asks
    for, with its words. A *close* panel shows a part of another one again.
    """

    title: str
    curves: tuple[Curve, ...]
    start: float
    end: float
    low: float
    high: float
    tall: float
    band: tuple[float, float] | None = None
    band_says: str = ""
    levels: tuple[Level, ...] = ()
    spans: tuple[Span, ...] = ()
    close: bool = False


@dataclass(frozen=True, slots=True)
class Drawn:
    """Panels under each other, what went wrong, and all of it in words."""

    panels: tuple[Panel, ...]
    troubles: tuple[Trouble, ...]
    events: tuple[CycleEvent, ...]
    title: str
    says: str
