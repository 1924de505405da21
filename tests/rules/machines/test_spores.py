"""Spore tests over time: what opens and closes an episode, what one reading comes to."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.facts import Stated
from equip.rules.fitness.lots import Lot
from equip.rules.machines.leak_and_spores import Spore, enough_negatives
from equip.rules.machines.spores import (
    Episode,
    Look,
    Outcome,
    episodes,
    last_negative,
    result_of,
    to_be_read,
    what_next,
)
from tests.support.stopped import NOON

SIGNS: dict[str, Spore] = {"-": "negative", "+": "positive", "i": "invalid"}
HISTORIES = st.text("-+i", max_size=20)
LOT = Lot("T00000001P", "spore-test", "Spores", "S-1", date(2026, 12, 31), Stated(incubate_h=24))
RAN = date(2026, 3, 4)
CLEAR = Look(grew=False, control_grew=True, incubated_h=Decimal(24))


def history(signs: str, read_after_h: int = 0) -> list[Outcome]:
    """One test a day, each read so many hours after it ran."""
    days = [NOON + timedelta(days=number) for number in range(len(signs))]
    late = timedelta(hours=read_after_h)
    return [Outcome(at, at + late, SIGNS[sign]) for at, sign in zip(days, signs, strict=True)]


@pytest.mark.parametrize(
    ("signs", "repeats", "is_open"),
    [
        ("--", None, None),
        ("-+", "", True),
        ("+--", "--", True),
        ("+---", "---", False),
        ("+--+---", "--+---", False),
        ("+-i--", "-i--", True),
        ("+-i---", "-i---", False),
        ("+--i-", "--i-", True),
    ],
)
def test_three_repeats_in_a_row_close_what_a_positive_opened(
    signs: str, repeats: str | None, is_open: bool | None
) -> None:
    found = episodes(history(signs), 3)

    if repeats is None:
        assert found == []
        return
    assert found[-1].repeats == tuple(SIGNS[sign] for sign in repeats)
    assert (found[-1].ended is None) is is_open


def test_a_test_that_ran_before_the_positive_was_known_is_no_repeat() -> None:
    found = episodes(history("+---", read_after_h=60), 3)

    # The tests of the next two days ran before the first was read, 60 h after it ran.
    assert found[0].repeats == ("negative",)
    assert found[0].ended is None


def test_a_positive_of_an_earlier_load_that_is_read_later_moves_the_beginning_back() -> None:
    later = Outcome(NOON, NOON + timedelta(hours=1), "positive")
    earlier = Outcome(NOON - timedelta(days=2), NOON + timedelta(hours=2), "positive")

    (found,) = episodes([later, earlier], 3)

    assert found == Episode(later, earlier.ran)


@given(HISTORIES, st.integers(1, 4))
def test_an_episode_is_closed_just_when_its_repeats_suffice(signs: str, needed: int) -> None:
    found = episodes(history(signs), needed)

    assert bool(found) == ("+" in signs)
    assert all(one.ended is not None for one in found[:-1])
    for one in found:
        assert (one.ended is not None) == enough_negatives(one.repeats, needed)
        assert (one.in_a_row >= needed) == (one.ended is not None)


@given(HISTORIES, st.integers(1, 4))
def test_the_order_in_which_tests_are_listed_changes_nothing(signs: str, needed: int) -> None:
    tests = history(signs)

    assert episodes(reversed(tests), needed) == episodes(tests, needed)


def test_the_last_negative_ahead_of_a_moment_is_found_by_when_it_ran() -> None:
    tests = history("-i-+-")

    assert last_negative(tests, tests[3].ran) == tests[2].ran
    assert last_negative(tests, tests[2].ran) == tests[0].ran
    assert last_negative(tests, None) == tests[4].ran
    assert last_negative(tests[3:4], None) is None


# --- one reading ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("look", "result", "codes"),
    [
        (Look(False, True, Decimal(24)), "negative", []),
        (Look(False, True, None), "negative", []),
        (Look(True, True, Decimal(10)), "positive", ["spores-grew"]),
        (Look(False, False, Decimal(24)), "invalid", ["control-did-not-grow"]),
        (Look(True, False, Decimal(24)), "invalid", ["control-did-not-grow", "grew-all-the-same"]),
        (Look(False, None, Decimal(24)), "invalid", ["no-control"]),
        (Look(True, None, Decimal(24)), "positive", ["spores-grew"]),
        (Look(False, True, Decimal("23.9")), "invalid", ["read-too-soon"]),
    ],
)
def test_what_one_reading_comes_to(look: Look, result: Spore, codes: list[str]) -> None:
    got, reasons = result_of(look, LOT, RAN, control_needed=True)

    assert (got, [reason.code for reason in reasons]) == (result, codes)


def test_where_no_control_is_asked_for_none_is_missed() -> None:
    look = Look(False, None, Decimal(24))

    assert result_of(look, LOT, RAN, control_needed=False) == ("negative", [])


def test_a_lot_past_its_day_when_the_load_ran_makes_the_test_invalid() -> None:
    on_the_day = result_of(CLEAR, LOT, date(2026, 12, 31), control_needed=True)
    a_day_later, reasons = result_of(CLEAR, LOT, date(2027, 1, 1), control_needed=True)

    assert on_the_day == ("negative", [])
    assert (a_day_later, [reason.code for reason in reasons]) == ("invalid", ["lot-expired"])


def test_a_lot_that_was_used_up_since_spoils_no_test_that_ran_before() -> None:
    used_up = Lot("T00000001P", "spore-test", "Spores", "S-1", finished="used up")

    assert result_of(CLEAR, used_up, RAN, control_needed=True) == ("negative", [])


def test_a_result_is_waited_for_as_the_packet_states_or_else_as_the_house_does() -> None:
    silent = Lot("T00000001P", "spore-test", "Spores", "S-1")

    assert to_be_read(NOON, LOT, 72) == NOON + timedelta(hours=24)
    assert to_be_read(NOON, silent, 72) == NOON + timedelta(hours=72)
    assert to_be_read(NOON, None, 72) == NOON + timedelta(hours=72)


# --- what to do next --------------------------------------------------------------------------


def next_after(signs: str, in_doubt: int = 0, *, steam: bool = True, defect: bool = False) -> str:
    found = episodes(history(signs), 3)
    now = found[-1] if found else None
    return " ".join(what_next("steam" if steam else "other", now, in_doubt, 3, defect=defect))


def test_after_one_positive_of_steam_the_machine_stops_and_nothing_is_recalled() -> None:
    says = next_after("+")

    assert "Take the machine out of use now" in says
    assert "again in 3 cycles" in says
    assert "Nothing is recalled yet" in says


def test_on_the_way_it_says_how_many_repeats_are_still_to_come() -> None:
    assert "1 of 3 repeats in a row so far was negative, 2 more to go" in next_after("+-")
    assert "2 of 3 repeats in a row so far were negative, 1 more to go" in next_after("+--")


def test_a_positive_repeat_asks_for_mending_and_a_look_back() -> None:
    says = next_after("+-+", in_doubt=2)

    assert "a repeat was positive" in says
    assert "2 loads count as not sterile. Open a look-back on them" in says
    assert "Nothing is recalled" not in says


def test_when_enough_were_negative_the_machine_may_run_again() -> None:
    assert next_after("+---") == "3 repeats in a row were negative: the machine may run again."


def test_another_process_recalls_by_one_positive_already() -> None:
    says = next_after("+", in_doubt=1, steam=False)

    assert "1 load counts as not sterile. Open a look-back on it" in says
    assert "Nothing is recalled" not in says


def test_a_defect_is_mended_first() -> None:
    assert next_after("", in_doubt=1, defect=True).startswith("Take the machine out of use now")


def test_where_nothing_was_positive_there_is_nothing_to_do() -> None:
    assert next_after("--") == ""
