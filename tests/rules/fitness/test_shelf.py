"""How long a thing keeps: laws that hold for any limits, and the days at their edges."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from equip.rules.fitness.shelf import ShelfLimits, lapses_at, last_day, scope_hours

ZONES = st.sampled_from(
    [
        ZoneInfo(name)
        for name in (
            "Europe/London",
            "Australia/Lord_Howe",
            "America/Havana",
            "Asia/Beirut",
            "UTC",
        )
    ]
)
MOMENTS = st.datetimes(
    datetime(2009, 1, 1),  # noqa: DTZ001 — the zone is given beside it
    datetime(2060, 1, 1),  # noqa: DTZ001
    timezones=st.just(UTC),
)
DAYS = st.none() | st.integers(0, 4000)
HOURS = st.none() | st.integers(0, 24 * 40)
LIMITS = st.builds(ShelfLimits, DAYS, DAYS, DAYS, HOURS, HOURS)
PLACES = st.sampled_from(["clinical", "clean-room", "store", "bench", ""])
OPTICS = st.sampled_from(["", "rigid", "flexible"])
FOREVER = datetime(9999, 1, 1, tzinfo=UTC)

HTM = ShelfLimits(
    wrapped_days=365,
    unwrapped_clinical_days=0,
    unwrapped_clean_days=7,
    flexible_hours=3,
    rigid_hours=None,
)


def end(
    processed: datetime,
    limits: ShelfLimits,
    zone: ZoneInfo,
    *,
    wrapped: bool = False,
    sterilised: bool = True,
    optic: str = "",
    place: str = "clinical",
) -> datetime:
    """When it lapses, a time beyond all others where there is no limit."""
    lapses = lapses_at(
        processed,
        wrapped=wrapped,
        sterilised=sterilised,
        optic=optic,
        place=place,
        limits=limits,
        zone=zone,
    )
    return FOREVER if lapses is None else lapses.astimezone(UTC)


@given(MOMENTS, LIMITS, ZONES, st.booleans(), st.booleans(), OPTICS, PLACES, st.integers(0, 900))
def test_more_days_or_hours_never_shorten(
    processed: datetime,
    limits: ShelfLimits,
    zone: ZoneInfo,
    wrapped: bool,
    sterilised: bool,
    optic: str,
    place: str,
    more: int,
) -> None:
    wider = ShelfLimits(
        *(
            None if one is None else one + more
            for one in (
                limits.wrapped_days,
                limits.unwrapped_clinical_days,
                limits.unwrapped_clean_days,
                limits.flexible_hours,
                limits.rigid_hours,
            )
        )
    )
    kept = {"wrapped": wrapped, "sterilised": sterilised, "optic": optic, "place": place}

    assert end(processed, wider, zone, **kept) >= end(processed, limits, zone, **kept)  # type: ignore[arg-type]


@given(
    MOMENTS,
    st.timedeltas(timedelta(0), timedelta(days=400)),
    LIMITS,
    ZONES,
    st.booleans(),
    st.booleans(),
    OPTICS,
    PLACES,
)
def test_a_later_processing_never_lapses_earlier(
    processed: datetime,
    later: timedelta,
    limits: ShelfLimits,
    zone: ZoneInfo,
    wrapped: bool,
    sterilised: bool,
    optic: str,
    place: str,
) -> None:
    kept = {"wrapped": wrapped, "sterilised": sterilised, "optic": optic, "place": place}

    first = end(processed, limits, zone, **kept)  # type: ignore[arg-type]
    second = end(processed + later, limits, zone, **kept)  # type: ignore[arg-type]

    assert second >= first


@given(MOMENTS, LIMITS, ZONES, st.booleans(), st.booleans(), OPTICS, PLACES)
def test_nothing_has_lapsed_the_moment_it_is_done(
    processed: datetime,
    limits: ShelfLimits,
    zone: ZoneInfo,
    wrapped: bool,
    sterilised: bool,
    optic: str,
    place: str,
) -> None:
    kept = {"wrapped": wrapped, "sterilised": sterilised, "optic": optic, "place": place}

    assert end(processed, limits, zone, **kept) > processed  # type: ignore[arg-type]


@given(MOMENTS, LIMITS, ZONES, st.booleans(), PLACES)
def test_a_day_that_ends_ends_at_the_first_moment_of_the_next(
    processed: datetime, limits: ShelfLimits, zone: ZoneInfo, wrapped: bool, place: str
) -> None:
    lapses = end(processed, limits, zone, wrapped=wrapped, place=place)
    assume(lapses != FOREVER)
    made = processed.astimezone(zone).date()
    last = last_day(made, wrapped=wrapped, place=place, limits=limits)
    assert last is not None

    before = (lapses - timedelta(microseconds=1)).astimezone(zone).date()

    assert before == last
    assert lapses.astimezone(zone).date() > last


def test_a_year_from_processing_counts_after_the_day_itself() -> None:
    made = date(2026, 3, 4)

    assert last_day(made, wrapped=True, place="store", limits=HTM) == date(2027, 3, 4)


@pytest.mark.parametrize(
    ("place", "last"),
    [
        ("clinical", date(2026, 3, 4)),
        ("bench", date(2026, 3, 4)),
        ("", date(2026, 3, 4)),
        ("store", date(2026, 3, 11)),
        ("clean-room", date(2026, 3, 11)),
    ],
)
def test_unwrapped_it_keeps_as_long_as_its_place_allows_and_where_unknown_the_shorter(
    place: str, last: date
) -> None:
    assert last_day(date(2026, 3, 4), wrapped=False, place=place, limits=HTM) == last


def test_a_place_is_no_question_for_what_is_wrapped() -> None:
    days = {
        last_day(date(2026, 3, 4), wrapped=True, place=place, limits=HTM)
        for place in ("clinical", "store", "clean-room")
    }

    assert len(days) == 1


def test_hours_are_real_hours_and_the_limit_itself_still_passes() -> None:
    london = ZoneInfo("Europe/London")
    wiped = datetime(2026, 3, 29, 0, 30, tzinfo=UTC)

    lapses = end(wiped, HTM, london, optic="flexible", sterilised=False)

    assert lapses == wiped + timedelta(hours=3, microseconds=1)


def test_a_scope_that_was_sterilised_keeps_by_days_and_not_by_hours() -> None:
    london = ZoneInfo("Europe/London")
    done = datetime(2026, 3, 4, 10, 0, tzinfo=UTC)

    lapses = end(done, HTM, london, optic="flexible", wrapped=True)

    assert lapses == datetime(2027, 3, 5, tzinfo=london)


def test_rigid_and_flexible_scopes_have_each_their_own_limit() -> None:
    limits = replace(HTM, rigid_hours=8)

    assert scope_hours("flexible", limits) == 3
    assert scope_hours("rigid", limits) == 8
    assert scope_hours("rigid", HTM) is None


@pytest.mark.parametrize("wrapped", [True, False])
def test_no_limit_in_the_book_is_no_limit(wrapped: bool) -> None:
    boundless = ShelfLimits(None, None, None, None, None)
    done = datetime(2026, 3, 4, tzinfo=UTC)

    for optic in ("", "rigid"):
        lapses = end(
            done, boundless, ZoneInfo("UTC"), wrapped=wrapped, optic=optic, sterilised=False
        )
        assert lapses == FOREVER
