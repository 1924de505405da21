"""A picture for a page of PDF, with the same marks as on the screen; it prints well in black."""

from reportlab.graphics.shapes import Drawing, Group, PolyLine, Rect, String
from reportlab.lib.colors import Color, black, white

from equip.deliver.ink import Block, Mark, Picture, Stroke, Tone
from labels.faces import BOLD, PLAIN, printable
from labels.pdf import registered

_TONES: dict[Tone, Color] = {
    "ink": black,
    "accent": black,
    "soft": Color(0.3, 0.3, 0.3),
    "shade": Color(0.91, 0.91, 0.91),
    "paper": white,
}


def flowing(picture: Picture, highest: float) -> Drawing:
    """The picture as something that a page can hold: one unit is one point, or less to fit."""
    scale = min(1.0, highest / picture.height)
    drawing = Drawing(picture.width * scale, picture.height * scale)
    shapes = [_shape(mark, picture.height) for mark in picture.marks]
    drawing.add(Group(*shapes, transform=(scale, 0, 0, scale, 0, 0)))
    return drawing


def _shape(mark: Mark, height: float) -> Rect | String | PolyLine:
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
