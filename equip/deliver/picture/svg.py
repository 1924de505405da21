"""A picture as SVG: black on white, one accent, with a title and a description.

No other module of this package writes SVG.
"""

from collections.abc import Iterator
from html import escape

from equip.deliver.picture.ink import Block, Dot, Mark, Picture, Stroke, Tone

_COLOURS: dict[Tone, str] = {
    "ink": "#1c1b19",
    "accent": "#8a2d1c",
    "soft": "#5f5b53",
    "shade": "#ece8dc",
    "paper": "#ffffff",
}


def svg(picture: Picture, name: str = "cycle") -> str:
    """The whole element; *name* is its class, and the start of the ids within it."""
    size = f"{picture.width:g} {picture.height:.0f}"
    labelled = f' aria-labelledby="{name}-title {name}-says"' if picture.says else ""
    parts = [
        f'<svg class="{name}" viewBox="0 0 {size}" role="img" '
        f'xmlns="http://www.w3.org/2000/svg"{labelled} '
        'font-family="sans-serif" fill="none" stroke-linejoin="round">',
        *_named(picture, name),
        f'<rect width="{picture.width:g}" height="{picture.height:.0f}" '
        f'fill="{_COLOURS["paper"]}"/>',
        *map(_drawn, picture.marks),
        "</svg>",
    ]
    return "".join(parts)


def _named(picture: Picture, name: str) -> Iterator[str]:
    """The title and the description; a title alone names the picture without an id."""
    if not picture.says:
        yield f"<title>{escape(picture.title)}</title>"
        return
    yield f'<title id="{name}-title">{escape(picture.title)}</title>'
    yield f'<desc id="{name}-says">{escape(picture.says)}</desc>'


def _drawn(mark: Mark) -> str:
    if isinstance(mark, Stroke):
        return _stroke(mark)
    if isinstance(mark, Dot):
        return _dot(mark)
    if isinstance(mark, Block):
        edge = f' stroke="{_COLOURS["ink"]}" stroke-width="{mark.edge:.2g}"' if mark.edge else ""
        return (
            f'<rect x="{mark.x:.1f}" y="{mark.y:.1f}" width="{mark.width:.1f}" '
            f'height="{mark.height:.1f}" fill="{_COLOURS[mark.tone]}"{edge}/>'
        )
    bold = ' font-weight="bold"' if mark.bold else ""
    anchor = "" if mark.anchor == "start" else f' text-anchor="{mark.anchor}"'
    return (
        f'<text x="{mark.x:.1f}" y="{mark.y:.1f}" font-size="{mark.size:.3g}"{anchor}{bold} '
        f'fill="{_COLOURS[mark.tone]}">{escape(mark.text)}</text>'
    )


def _stroke(mark: Stroke) -> str:
    points = "L".join(f"{x:.1f} {y:.1f}" for x, y in mark.points)
    dash = (
        f' stroke-dasharray="{" ".join(f"{part:.2g}" for part in mark.dash)}"' if mark.dash else ""
    )
    return (
        f'<path d="M{points}" stroke="{_COLOURS[mark.tone]}" '
        f'stroke-width="{mark.weight:.2g}"{dash}/>'
    )


def _dot(mark: Dot) -> str:
    colour = _COLOURS[mark.tone]
    inked = f'stroke="{colour}" stroke-width="{mark.ring:.2g}"' if mark.ring else f'fill="{colour}"'
    return f'<circle cx="{mark.x:.1f}" cy="{mark.y:.1f}" r="{mark.radius:.3g}" {inked}/>'
