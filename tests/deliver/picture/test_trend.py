"""A trend: each result at its day, the line through them, dashed where it is only expected."""

from datetime import date
from itertools import pairwise
from xml.etree import ElementTree

from equip.deliver.picture.ink import Dot, Picture, Stroke, Words
from equip.deliver.picture.svg import svg
from equip.deliver.picture.trend import Trend, picture

LIMITS = ((100.0, "+100 %"), (0.0, "0"), (-100.0, "−100 %"))
LINE_WEIGHT = 2
RESULTS = ((date(2024, 1, 1), 0.0), (date(2025, 1, 1), 30.0), (date(2026, 1, 1), 60.0))


def drawn(
    results: tuple[tuple[date, float], ...],
    line: tuple[tuple[date, float], tuple[date, float]] | None = None,
) -> Picture:
    solid_until = results[-1][0] if line else None
    says = f"{len(results)} results"
    return picture(Trend("Error at 37 °C", says, results, LIMITS, line, solid_until))


def dots(made: Picture) -> list[Dot]:
    return [mark for mark in made.marks if isinstance(mark, Dot)]


def line_of(made: Picture) -> list[Stroke]:
    return [m for m in made.marks if isinstance(m, Stroke) and m.weight == LINE_WEIGHT]


def words(made: Picture) -> list[str]:
    return [mark.text for mark in made.marks if isinstance(mark, Words)]


def test_one_result_is_one_dot_and_one_day_without_a_line() -> None:
    made = drawn(RESULTS[:1])

    assert len(dots(made)) == 1
    assert line_of(made) == []
    assert words(made) == ["+100 %", "0", "−100 %", "01 Jan 2024"]


def test_too_few_results_for_a_line_are_dots_from_day_to_day() -> None:
    made = drawn(RESULTS[:2])

    assert [dot.x for dot in dots(made)] == sorted(dot.x for dot in dots(made))
    assert line_of(made) == []
    assert words(made)[-2:] == ["01 Jan 2024", "01 Jan 2025"]


def test_results_that_never_change_lie_on_a_flat_line() -> None:
    results = tuple((day, 20.0) for day, _ in RESULTS)

    made = drawn(results, (results[0], results[-1]))

    (line,) = line_of(made)
    assert {dot.y for dot in dots(made)} == {y for _, y in line.points}
    assert len({y for _, y in line.points}) == 1
    assert not line.dash


def test_beyond_the_last_result_the_line_goes_on_dashed_at_the_same_slope() -> None:
    made = drawn(RESULTS, (RESULTS[0], (date(2028, 1, 1), 120.0)))

    whole, expected = line_of(made)
    assert not whole.dash and expected.dash
    assert whole.points[-1] == expected.points[0]
    slopes = [
        (y2 - y1) / (x2 - x1)
        for part in (whole, expected)
        for (x1, y1), (x2, y2) in pairwise(part.points)
    ]
    assert abs(slopes[0] - slopes[1]) < 1e-6
    assert whole.points[-1][0] == dots(made)[-1].x


def test_results_beyond_the_limits_stay_in_the_frame() -> None:
    results = tuple((day, value * -5) for day, value in RESULTS)

    made = drawn(results, (results[0], results[-1]))

    assert all(0 < dot.y < made.height and 0 < dot.x < made.width for dot in dots(made))


def test_the_title_names_the_picture_and_says_what_it_shows() -> None:
    drawing = ElementTree.fromstring(svg(drawn(RESULTS), "trend"))

    assert drawing.get("role") == "img"
    assert drawing[0].text == "Error at 37 °C. 3 results"
    assert not [part for part in drawing.iter() if part.get("id")]
