"""A picture for a page of PDF, with the same marks as on the screen; it prints well in black."""

from reportlab.graphics.shapes import Circle, Drawing, Group, PolyLine, Rect, String
from reportlab.lib.colors import Color, black, white
from reportlab.platypus import Flowable

from equip.deliver.picture.ink import Block, Dot, Mark, Picture, Stroke, Tone
from labels.faces import BOLD, PLAIN, printable
from labels.pdf import registered

_TONES: dict[Tone, Color] = {
    "ink": black,
    "accent": black,
    "soft": Color(0.3, 0.3, 0.3),
    "shade": Color(0.91, 0.91, 0.91),
    "paper": white,
}


class Fitting(Flowable):  # type: ignore[misc]  # reportlab is untyped
    """A picture on a page: one unit is one point, or less where there is less room for it."""

    def __init__(self, picture: Picture) -> None:
        super().__init__()
        self._picture = picture
        self._scale = 1.0

    def wrap(self, _wide: float, high: float) -> tuple[float, float]:
        """The size it takes of what there is; the name and its meaning are reportlab's."""
        self._scale = min(1.0, high / self._picture.height)
        return self._picture.width * self._scale, self._picture.height * self._scale

    def draw(self) -> None:
        scale, high = self._scale, self._picture.height
        drawing = Drawing(self._picture.width * scale, high * scale)
        shapes = [_shape(mark, high) for mark in self._picture.marks]
        drawing.add(Group(*shapes, transform=(scale, 0, 0, scale, 0, 0)))
        drawing.drawOn(self.canv, 0, 0)


def _shape(mark: Mark, height: float) -> Circle | PolyLine | Rect | String:
    """One mark, with the picture's downward y turned to the upward one of PDF."""
    if isinstance(mark, Stroke):
        points = [at for x, y in mark.points for at in (round(x, 2), round(height - y, 2))]
        return PolyLine(
            points,
            strokeColor=_TONES[mark.tone],
            strokeWidth=mark.weight,
            strokeDashArray=list(mark.dash) or None,
            strokeLineJoin=1,
        )
    if isinstance(mark, Block):
        return Rect(
            mark.x,
            height - mark.y - mark.height,
            mark.width,
            mark.height,
            fillColor=_TONES[mark.tone],
            strokeColor=black if mark.edge else None,
            strokeWidth=mark.edge,
        )
    if isinstance(mark, Dot):
        return Circle(
            mark.x,
            height - mark.y,
            mark.radius,
            fillColor=None if mark.ring else _TONES[mark.tone],
            strokeColor=_TONES[mark.tone] if mark.ring else None,
            strokeWidth=mark.ring,
        )
    face = BOLD if mark.bold else PLAIN
    return String(
        mark.x,
        height - mark.y,
        printable(mark.text, face),
        fontName=registered(face),
        fontSize=mark.size,
        textAnchor=mark.anchor,
        fillColor=_TONES[mark.tone],
    )
