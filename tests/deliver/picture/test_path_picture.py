"""The picture of a path: well-formed, bounded, nothing that matters left out."""

from typing import get_args
from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from equip.deliver.picture.ink import Block, Stroke, Words
from equip.deliver.picture.layout import NARROW, SCREEN, Size
from equip.deliver.picture.path import (
    MOST_LANES,
    MOST_MOMENTS,
    LeftOut,
    PathDrawn,
    PathMoment,
    Sign,
    picture,
    rows_of,
)
from equip.deliver.picture.svg import svg

SIGNS: tuple[Sign, ...] = get_args(Sign)


def drawn(*moments: PathMoment) -> PathDrawn:
    return PathDrawn(moments, "How it came about", "As a list beside it.")


@st.composite
def lives(draw: st.DrawFn) -> PathDrawn:
    signs = draw(st.lists(st.sampled_from(SIGNS), min_size=1, max_size=120))
    moments = []
    for at, sign in enumerate(signs):
        lane = draw(st.integers(0, MOST_LANES - 1))
        joins = (1, 2) if sign == "mixed" and not lane else ()
        rank = 0 if sign in ("source", "exposed") else draw(st.integers(1, 9))
        says = f"moment {at} <of> & “{sign}”"
        on_path = not lane and sign in ("source", "exposed", "unproven")
        moments.append(PathMoment(at, f"{at} Nov", says, sign, lane, rank, on_path, joins))
    return drawn(*moments)


@given(lives(), st.sampled_from([SCREEN, NARROW]))
def test_whatever_happened_the_picture_is_well_formed_and_in_its_frame(
    life: PathDrawn, size: Size
) -> None:
    made = picture(life, size)

    ElementTree.fromstring(svg(made, "path"))
    for mark in made.marks:
        if isinstance(mark, Stroke):
            points = mark.points
        elif isinstance(mark, Block):
            points = ((mark.x, mark.y), (mark.x + mark.width, mark.y + mark.height))
        else:
            points = ((mark.x, mark.y),)
        assert all(0 <= x <= size.width and 0 <= y <= made.height for x, y in points)


@given(lives())
def test_rows_are_bounded_and_every_moment_is_shown_or_counted(life: PathDrawn) -> None:
    rows = rows_of(life)
    kept = [row for row in rows if isinstance(row, PathMoment)]
    counted = sum(
        int(part.split()[0].replace(",", ""))
        for row in rows
        if isinstance(row, LeftOut)
        for part in row.says.split(", ")
    )

    assert len(kept) == min(MOST_MOMENTS, len(life.moments))
    assert len(rows) <= 2 * MOST_MOMENTS
    assert len(kept) + counted == len(life.moments)
    assert kept == [moment for moment in life.moments if moment in kept]


@given(lives())
def test_the_first_the_last_and_what_matters_most_are_never_left_out(life: PathDrawn) -> None:
    kept = [row for row in rows_of(life) if isinstance(row, PathMoment)]
    foremost = [moment for moment in life.moments if moment.rank == 0]

    assert (kept[0], kept[-1]) == (life.moments[0], life.moments[-1])
    if len(foremost) <= MOST_MOMENTS - 2:
        assert all(moment in kept for moment in foremost)


def test_a_long_life_is_no_higher_than_a_page_or_two() -> None:
    uses = [
        PathMoment(at, "1 Nov 09:00", "Hook used on patient t·aaaa", "patient")
        for at in range(5000)
    ]

    made = picture(drawn(*uses), NARROW)

    words = [mark.text for mark in made.marks if isinstance(mark, Words)]
    assert made.height < 2600
    assert "4,976 more uses" in words


def test_the_carried_part_is_the_heaviest_line_and_spans_source_to_exposed() -> None:
    made = picture(
        drawn(
            PathMoment(1, "1 Nov", "cleared", "clears"),
            PathMoment(2, "2 Nov", "source", "source", on_path=True),
            PathMoment(3, "3 Nov", "another", "patient"),
            PathMoment(4, "4 Nov", "exposed", "exposed", on_path=True),
            PathMoment(5, "5 Nov", "cleared", "clears"),
        ),
        SCREEN,
    )

    upright = [
        mark
        for mark in made.marks
        if isinstance(mark, Stroke) and len({x for x, _ in mark.points}) == 1
    ]
    heavy = max(upright, key=lambda mark: mark.weight)
    own = [mark for mark in upright if mark.points[0][0] == heavy.points[0][0] and mark != heavy]
    assert own[0].points[0][1] < heavy.points[0][1]
    assert heavy.points[1][1] < own[0].points[1][1]


def test_lines_beside_run_into_the_things_own_where_contents_mix() -> None:
    made = picture(
        drawn(
            PathMoment(1, "1 Nov", "one", "source", on_path=True),
            PathMoment(2, "2 Nov", "two", "patient", lane=1),
            PathMoment(3, "3 Nov", "mixed", "mixed", on_path=True, joins=(1,)),
            PathMoment(4, "4 Nov", "exposed", "exposed", on_path=True),
        ),
        SCREEN,
    )

    bent = [mark for mark in made.marks if isinstance(mark, Stroke) and len(mark.points) == 3]
    diamonds = [mark for mark in made.marks if isinstance(mark, Stroke) and len(mark.points) == 5]
    assert len(bent) == len(diamonds) == 1
    assert bent[0].points[-1][0] == diamonds[0].points[0][0]
