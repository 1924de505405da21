"""Long logs made short: whatever the readings, no peak and no dip is lost, and holes stay holes."""

from itertools import accumulate, pairwise

from hypothesis import given
from hypothesis import strategies as st

from equip.deliver.picture.thinning import Box, clipped, thinned, unbroken

STEPS = st.lists(st.floats(0.1, 30), min_size=1, max_size=300)
VALUES = st.floats(-20, 160)


@st.composite
def traces(draw: st.DrawFn) -> tuple[list[float], list[float]]:
    seconds = list(accumulate(draw(STEPS)))
    values = draw(st.lists(VALUES, min_size=len(seconds), max_size=len(seconds)))
    return seconds, values


@given(traces(), st.integers(1, 40))
def test_every_column_keeps_its_extremes_and_its_ends(
    trace: tuple[list[float], list[float]], columns: int
) -> None:
    seconds, values = trace
    left, right = seconds[0], seconds[-1] + 1
    kept = dict(thinned(seconds, values, left, right, columns))

    width = (right - left) / columns
    for column in range(columns):
        start, end = left + column * width, left + (column + 1) * width
        inside = {s: v for s, v in zip(seconds, values, strict=True) if start <= s < end}
        shown = [kept[s] for s in inside if s in kept]
        if inside:
            assert (min(shown), max(shown)) == (min(inside.values()), max(inside.values()))
            assert {min(inside), max(inside)} <= set(kept)


@given(traces(), st.integers(1, 40))
def test_nothing_is_invented_and_the_order_stays(
    trace: tuple[list[float], list[float]], columns: int
) -> None:
    seconds, values = trace
    points = thinned(seconds, values, seconds[0], seconds[-1] + 1, columns)

    assert set(points) <= set(zip(seconds, values, strict=True))
    assert all(a[0] < b[0] for a, b in pairwise(points))
    assert len(points) <= 4 * columns


@given(traces(), st.floats(0, 500), st.floats(1, 500))
def test_a_window_keeps_the_lowest_and_highest_within_it(
    trace: tuple[list[float], list[float]], left: float, wide: float
) -> None:
    seconds, values = trace
    right = left + wide
    kept = dict(thinned(seconds, values, left, right, 20))

    inside = [v for s, v in zip(seconds, values, strict=True) if left <= s <= right]
    shown = [v for s, v in kept.items() if left <= s <= right]
    if inside:
        assert (min(shown), max(shown)) == (min(inside), max(inside))


@given(traces(), st.floats(1, 30))
def test_parts_cover_the_log_and_are_parted_at_its_holes_only(
    trace: tuple[list[float], list[float]], longest: float
) -> None:
    seconds, _ = trace
    parts = unbroken(seconds, longest)

    assert [index for start, end in parts for index in range(start, end)] == list(
        range(len(seconds))
    )
    for start, end in parts:
        assert all(b - a <= longest for a, b in pairwise(seconds[start:end]))
    for (_, end), (start, _) in pairwise(parts):
        assert end == start and seconds[start] - seconds[end - 1] > longest


@given(traces(), st.floats(0, 60), st.floats(1, 60))
def test_what_is_clipped_lies_in_the_box_and_what_lies_in_it_stays(
    trace: tuple[list[float], list[float]], low: float, high: float
) -> None:
    seconds, values = trace
    box = Box(seconds[0], seconds[-1], low, low + high)
    points = list(zip(seconds, values, strict=True))
    parts = clipped(points, box)

    shown = [point for part in parts for point in part]
    assert all(
        box.left - 1e-6 <= x <= box.right + 1e-6 and box.low - 1e-6 <= y <= box.high + 1e-6
        for x, y in shown
    )
    assert {p for p in points if box.low < p[1] < box.high} <= set(shown)


def test_a_line_that_leaves_the_box_and_comes_back_is_in_two_parts() -> None:
    parts = clipped([(0.0, 1.0), (1.0, 9.0), (2.0, 1.0)], Box(0, 2, 0, 5))

    assert parts == [[(0.0, 1.0), (0.5, 5.0)], [(1.5, 5.0), (2.0, 1.0)]]
