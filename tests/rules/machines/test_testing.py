"""Leak and spore tests: laws of any readings, and where a doubt begins and ends."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.machines.leak_and_spores import (
    Doubt,
    LeakLimits,
    Process,
    Spore,
    SporeLoad,
    leak_rate,
    scope_of_doubt,
    why_leaking,
)
from equip.rules.verdict import worst

LIMITS = LeakLimits(Decimal("0.13"), Decimal(300), Decimal(600))
KPA = st.integers(0, 20_000).map(lambda thousandths: Decimal(thousandths) / 1000)
TIMED = st.integers(600, 7200).map(Decimal)

SIGNS: dict[str, Spore | None] = {"-": "negative", "+": "positive", "i": "invalid", ".": None}
HISTORIES = st.text("-+i.", min_size=1, max_size=25)
REPEATS = st.text("-+i", max_size=6)
PROCESSES: st.SearchStrategy[Process] = st.sampled_from(["steam", "other"])


def leaking(start: str, end: str, timed: int = 600, settled: int | None = 300) -> list[str]:
    settle = None if settled is None else Decimal(settled)
    reasons = why_leaking(Decimal(start), Decimal(end), Decimal(timed), settle, LIMITS)
    return [reason.code for reason in reasons]


def doubt(process: Process, history: str, repeats: str = "", **told: Any) -> Doubt:
    """The doubt after loads 1, 2, 3 … with the signs of *history*."""
    return scope_of_doubt(
        process,
        [SporeLoad(number, SIGNS[sign]) for number, sign in enumerate(history, start=1)],
        defect=told.get("defect", False),
        wrong_settings=told.get("wrong_settings", ()),
        repeats=[sign for one in repeats if (sign := SIGNS[one])],
        negatives_needed=3,
    )


# --- leak ------------------------------------------------------------------------------------


@given(KPA, KPA, TIMED, st.integers(2, 50))
def test_the_rate_scales_with_the_rise_and_against_the_time(
    start: Decimal, rise: Decimal, timed: Decimal, times: int
) -> None:
    rate = leak_rate(start, start + rise, timed)

    assert leak_rate(start, start + rise * times, timed) == rate * times
    assert leak_rate(start, start + rise * times, timed * times) == rate
    assert leak_rate(start + 100, start + rise + 100, timed) == rate


@given(KPA, KPA, TIMED, KPA)
def test_a_greater_rise_never_passes_what_a_smaller_failed(
    start: Decimal, rise: Decimal, timed: Decimal, more: Decimal
) -> None:
    def verdict(end: Decimal) -> str:
        return worst(why_leaking(start, end, timed, Decimal(300), LIMITS))

    if verdict(start + rise) == "fail":
        assert verdict(start + rise + more) == "fail"


def test_a_rate_on_the_limit_passes_and_a_hair_over_it_fails() -> None:
    assert leaking("2.05", "3.35") == []
    assert leaking("2.05", "3.35000000001") == ["leaks"]
    assert leaking("0.1", "1.4") == []


@pytest.mark.parametrize(
    ("settled", "timed", "why"),
    [
        (300, 600, []),
        (299, 600, ["settled-too-briefly"]),
        (None, 600, ["settling-not-told"]),
        (300, 599, ["timed-too-briefly"]),
        (0, 1, ["settled-too-briefly", "timed-too-briefly"]),
    ],
)
def test_a_test_that_was_too_short_is_undecided(
    settled: int | None, timed: int, why: list[str]
) -> None:
    assert leaking("5", "5.1", timed, settled) == why


def test_a_test_that_was_too_short_is_undecided_however_high_the_rate() -> None:
    reasons = why_leaking(Decimal(5), Decimal(90), Decimal(600), Decimal(10), LIMITS)

    assert worst(reasons) == "undecided"


def test_a_pressure_that_falls_shows_no_leak_and_no_tightness() -> None:
    reasons = why_leaking(Decimal(5), Decimal("4.9"), Decimal(600), Decimal(300), LIMITS)

    assert [(one.code, one.spoils) for one in reasons] == [("pressure-fell", "undecided")]
    assert leaking("5", "5") == []


@pytest.mark.parametrize(
    ("end", "says"),
    [
        ("6.4", "by 0.140 kPa a minute; 0.13 is allowed"),
        ("6.30001", "by 0.130001 kPa a minute"),
        ("6.30000000000000001", "just over 0.13 kPa a minute"),
    ],
)
def test_the_sentence_never_rounds_a_failed_rate_to_the_limit(end: str, says: str) -> None:
    [reason] = why_leaking(Decimal(5), Decimal(end), Decimal(600), Decimal(300), LIMITS)

    assert says in reason.says


# --- spores ----------------------------------------------------------------------------------


@given(HISTORIES, REPEATS, st.booleans())
def test_for_other_processes_a_later_negative_never_widens_the_doubt(
    history: str, repeats: str, defect: bool
) -> None:
    before = doubt("other", history, repeats, defect=defect)
    after = doubt("other", history + "-", repeats, defect=defect)

    assert set(after.in_doubt) <= set(before.in_doubt)


@given(HISTORIES, HISTORIES)
def test_for_other_processes_a_doubt_never_reaches_past_the_next_negative(
    history: str, later: str
) -> None:
    alone = doubt("other", history + "-")
    followed = doubt("other", history + "-" + later)

    assert [load for load in followed.in_doubt if int(load) <= len(history)] == list(alone.in_doubt)


@given(PROCESSES, HISTORIES, REPEATS, st.booleans())
def test_an_invalid_test_counts_as_one_that_was_never_made(
    process: Process, history: str, repeats: str, defect: bool
) -> None:
    with_invalid = doubt(process, history, repeats, defect=defect)
    without = doubt(process, history.replace("i", "."), repeats, defect=defect)

    assert with_invalid.in_doubt == without.in_doubt


@given(HISTORIES, REPEATS, st.booleans())
def test_steam_never_doubts_a_load_before_the_last_negative_before_its_first_positive(
    history: str, repeats: str, defect: bool
) -> None:
    clean = history.split("+", 1)[0].rfind("-") + 1

    assert all(int(load) > clean for load in doubt("steam", history, repeats).in_doubt)


@given(PROCESSES, HISTORIES, REPEATS, st.booleans())
def test_whatever_is_in_doubt_is_held_and_so_is_the_stock_of_a_stopped_machine(
    process: Process, history: str, repeats: str, defect: bool
) -> None:
    found = doubt(process, history, repeats, defect=defect)

    assert found.unused_stock_held == (bool(found.in_doubt) or found.back_in_service is False)
    assert not (defect and found.back_in_service)


@given(HISTORIES, REPEATS)
def test_a_positive_load_of_another_process_is_always_in_doubt(history: str, repeats: str) -> None:
    positive = {number for number, sign in enumerate(history, start=1) if sign == "+"}

    assert positive <= set(doubt("other", history, repeats).in_doubt)


@pytest.mark.parametrize(
    ("process", "history", "repeats", "in_doubt"),
    [
        ("steam", "-.+.", "", ()),
        ("steam", "-.+.", "--+", (2, 3, 4)),
        ("steam", "-.+-.", "+", (2, 3, 4, 5)),
        ("steam", "-i+.", "+", (2, 3, 4)),
        ("steam", "-.-.", "+", (4,)),
        ("other", "-.+.", "---", (2, 3, 4)),
        ("other", "-.+.-.", "", (2, 3, 4)),
        ("other", "-i+i.-.", "", (2, 3, 4, 5)),
        ("other", "-.+.-.+", "", (2, 3, 4, 6, 7)),
        ("other", "-.+.-.", "+", (2, 3, 4, 6)),
        ("other", ".-.", "", ()),
    ],
)
def test_where_a_doubt_begins_and_ends(
    process: Process, history: str, repeats: str, in_doubt: tuple[int, ...]
) -> None:
    assert doubt(process, history, repeats).in_doubt == in_doubt


@pytest.mark.parametrize("process", ["steam", "other"])
def test_a_defect_is_as_good_as_a_positive_repeat(process: Process) -> None:
    assert doubt(process, "-.+.", defect=True).in_doubt == (2, 3, 4)
    assert doubt(process, "-.-..", defect=True).in_doubt == (4, 5)


def test_loads_with_wrong_settings_are_in_doubt_whatever_the_spores_show() -> None:
    found = doubt("steam", "----", wrong_settings=(2, 3))

    assert found.in_doubt == (2, 3)
    assert found.back_in_service is None
    assert found.unused_stock_held


@pytest.mark.parametrize(
    ("repeats", "back"),
    [
        ("---", True),
        ("--", False),
        ("-i-", False),
        ("--i-", False),
        ("--+-", False),
        ("--+---", True),
        ("---+", False),
        ("---i", True),
    ],
)
def test_a_machine_returns_after_three_negatives_in_a_row_and_no_positive_since(
    repeats: str, back: bool
) -> None:
    assert doubt("steam", "-+", repeats).back_in_service is back


def test_a_machine_that_was_never_stopped_is_not_asked_back() -> None:
    found = doubt("steam", "-.-.")

    assert (found.in_doubt, found.back_in_service, found.unused_stock_held) == ((), None, False)
    assert found.reasons == ()


def test_a_doubt_with_no_negative_before_it_says_that_it_may_reach_further_back() -> None:
    codes = {reason.code for reason in doubt("other", ".+.-").reasons}

    assert "no-negative-before" in codes
    assert "no-negative-before" not in {one.code for one in doubt("other", "-.+.-").reasons}
