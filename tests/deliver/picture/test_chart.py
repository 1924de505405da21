"""A control chart: its values in their frame, what is odd told by shape, all of it in its title."""

from itertools import pairwise
from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from equip.deliver.picture.chart import OddValue, Series, picture
from equip.deliver.picture.ink import Block, Dot, Picture, Stroke, Words
from equip.deliver.picture.svg import svg

SVG = "{http://www.w3.org/2000/svg}"
VALUES = st.lists(st.floats(-1000, 1000), min_size=1, max_size=60)


def series(values: list[float], *odd: OddValue, half: float = 1.0) -> Series:
    center = sum(values) / len(values)
    return Series(
        values=values,
        average=[center] * len(values),
        center=center,
        lower=center - half,
        upper=center + half,
        odd=odd,
        title="Lowest <temperature> & more, steam-134",
        unit="°C",
        first="03 Jan 2026",
        last="28 Nov 2026",
    )


def rings(made: Picture) -> list[Dot]:
    return [mark for mark in made.marks if isinstance(mark, Dot) and mark.ring]


def squares(made: Picture) -> list[Stroke]:
    return [mark for mark in made.marks if isinstance(mark, Stroke) and mark.tone == "accent"]


@given(VALUES, st.floats(0, 500))
def test_whatever_was_measured_every_mark_lies_in_the_frame(
    values: list[float], half: float
) -> None:
    made = picture(series(values, half=half))

    assert sum(isinstance(mark, Dot) for mark in made.marks) == len(values)
    for mark in made.marks:
        points = mark.points if isinstance(mark, Stroke) else ((mark.x, mark.y),)
        assert not isinstance(mark, Block)
        assert all(0 <= x <= made.width and 0 <= y <= made.height for x, y in points)


def test_a_value_outside_has_a_square_round_it_and_one_that_drifts_a_ring() -> None:
    odd = (OddValue(1, "outside"), OddValue(3, "drift"))

    made = picture(series([134.8, 139.0, 134.9, 135.6], *odd))

    dots = [mark for mark in made.marks if isinstance(mark, Dot) and not mark.ring]
    (square,), (ring,) = squares(made), rings(made)
    xs, ys = zip(*square.points, strict=True)
    assert min(xs) < dots[1].x < max(xs) and min(ys) < dots[1].y < max(ys)
    assert (max(xs) + min(xs)) / 2 == approx(dots[1].x)
    assert (max(ys) + min(ys)) / 2 == approx(dots[1].y)
    assert (ring.x, ring.y) == (dots[3].x, dots[3].y)


def test_values_that_never_change_make_a_flat_line() -> None:
    made = picture(series([135.0] * 8, half=0.0))

    assert len({mark.y for mark in made.marks if isinstance(mark, Dot)}) == 1
    assert rings(made) == squares(made) == []


@given(VALUES, st.floats(0, 500))
def test_the_values_of_the_usual_range_never_run_together(values: list[float], half: float) -> None:
    made = picture(series(values, half=half))

    beside = [mark for mark in made.marks if isinstance(mark, Words) and mark.x > 640]
    heights = sorted(mark.y for mark in beside)
    assert 1 <= len(beside) <= 3
    assert len({mark.text for mark in beside}) == len(beside)
    assert all(below - above >= 14.9 for above, below in pairwise(heights))


def test_the_title_names_the_picture_and_says_what_it_shows() -> None:
    drawing = ElementTree.fromstring(svg(picture(series([1.0, -2.0])), "chart"))

    assert drawing.get("role") == "img"
    assert drawing[0].tag == f"{SVG}title"
    assert drawing[0].text == (
        "Lowest <temperature> & more, steam-134. "
        "2 values, centre −0.5 °C, usual range −1.5 to 0.5 °C, 0 odd."
    )


def test_several_charts_on_a_page_share_no_id() -> None:
    assert " id=" not in svg(picture(series([1.0])), "chart")


def test_the_key_says_what_each_shape_means() -> None:
    words = [mark.text for mark in picture(series([1.0])).marks if isinstance(mark, Words)]

    assert "dotted: moving average · square: outside its range · ring: drifting" in words
