"""What a picture is made of, before it is known whether it goes to a screen or to paper.

Strokes, blocks, dots and words in one unit, with the origin at the top left corner and y downward.
`svg` and `paper` draw them; neither knows what they show.
"""

from dataclasses import dataclass
from typing import Literal

Tone = Literal["ink", "accent", "soft", "shade", "paper"]
"""What a mark is drawn in. On paper the accent is ink: whatever it says is said without colour."""
Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through *points*; *dash* is the length of its strokes and gaps, none if unbroken."""

    points: tuple[Point, ...]
    weight: float = 1.0
    dash: tuple[float, ...] = ()
    tone: Tone = "ink"


@dataclass(frozen=True, slots=True)
class Block:
    """A filled box, with an edge of ink if *edge* is a width."""

    x: float
    y: float
    width: float
    height: float
    tone: Tone = "shade"
    edge: float = 0.0


@dataclass(frozen=True, slots=True)
class Dot:
    """A full dot round *x* and *y*; no more than a ring if *ring* is a width."""

    x: float
    y: float
    radius: float
    tone: Tone = "ink"
    ring: float = 0.0


@dataclass(frozen=True, slots=True)
class Words:
    """Words on a baseline at *y*, anchored at *x*."""

    text: str
    x: float
    y: float
    size: float
    anchor: Anchor = "start"
    bold: bool = False
    tone: Tone = "ink"


Mark = Stroke | Block | Dot | Words


@dataclass(frozen=True, slots=True)
class Picture:
    """Marks in the order in which they are drawn, and what they show in words.

    *says* is empty where the title says it all.
    """

    width: float
    height: float
    marks: tuple[Mark, ...]
    title: str
    says: str
