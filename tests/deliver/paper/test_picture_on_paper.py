"""Marks on paper: each kind that a screen shows is printed as well, upright and in black."""

import io

from reportlab.pdfgen.canvas import Canvas

from equip.deliver.paper.picture import Fitting
from equip.deliver.picture.ink import Block, Dot, Mark, Picture, Stroke, Words


def printed(*marks: Mark) -> str:
    """What a page says in PDF, with a picture of these marks on it."""
    out = io.BytesIO()
    canvas = Canvas(out, pageCompression=0, invariant=1)
    fitting = Fitting(Picture(100, 50, marks, "A picture", ""))
    fitting.wrap(100, 50)
    fitting.drawOn(canvas, 0, 0)
    canvas.save()
    streams = out.getvalue().decode("latin-1").split("stream")
    return next(part for part in streams if " cm" in part)


def test_a_dot_is_a_full_circle_and_a_ring_an_empty_one() -> None:
    dot, ring = printed(Dot(20, 10, 5)), printed(Dot(20, 10, 5, "accent", ring=2))

    assert dot.split().count("c") == ring.split().count("c") == 4  # four bends make a circle
    assert "f*" in dot.split() and "S" not in dot.split()
    assert "S" in ring.split() and "f*" not in ring.split()


def test_the_picture_stands_upright_on_the_page() -> None:
    assert "25 40 m" in printed(Dot(20, 10, 5)).splitlines()  # 10 below the top of 50


def test_every_other_mark_leaves_its_trace() -> None:
    assert "100 0 l" in printed(Stroke(((0, 0), (100, 50))))
    assert "10 20 20 20 re" in printed(Block(10, 10, 20, 20))
    assert "Tj" in printed(Words("passed", 10, 10, 8))
