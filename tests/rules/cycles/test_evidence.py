"""What typed values can support: judged for what they show, and no more is claimed."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.cycles.typed.judge import (
    NOT_SHOWN,
    Backing,
    Limits,
    NothingShown,
    Policy,
    SteamLimits,
    Typed,
    judge_typed,
)
from equip.rules.cycles.typed.water import BathLimits, WasherLimits
from equip.rules.verdict import Reason

STEAM = SteamLimits(low_c=134.0, high_c=137.0, hold_s=180.0)
WASHER = WasherLimits(
    target_s=600,
    pair_c=90.0,
    pair_s=60,
    pair_counts=False,
    flush_hottest_c=35.0,
    wash_coldest_c=60.0,
    wash_hottest_c=65.0,
)
BATH = BathLimits(shortest_s=180, longest_s=300, hottest_c=45.0, degas_daily=True)
ONE, TWO = Policy(), Policy(two_readers=True)
GOOD = {"lowest_c": "134.2", "highest_c": "135.8", "hold_min": "3.5", "completed": "yes"}
WASHED = {"completed": "yes", "a0_shown": "640", "flush_c": "32", "wash_c": "62"}
WASHED |= {"detergent": "yes", "lot": "L7"}
BATHED = {"completed": "yes", "run_min": "4", "bath_c": "40", "detergent": "yes", "lot": "L7"}
BATHED |= {"degassed": "yes"}


def without(typed: Typed, *names: str) -> Typed:
    return {name: text for name, text in typed.items() if name not in names}


def judged(
    typed: Typed, limits: Limits = STEAM, policy: Policy = ONE, backing: Backing | None = None
) -> tuple[str, list[str]]:
    """The verdict, and the codes of all that spoils it."""
    verdict, reasons = judge_typed(typed, limits, policy, backing or Backing())
    return verdict, [reason.code for reason in reasons if reason.spoils != "pass"]


def remarks(
    typed: Typed, limits: Limits = STEAM, policy: Policy = ONE, backing: Backing | None = None
) -> list[str]:
    _, reasons = judge_typed(typed, limits, policy, backing or Backing())
    return [reason.code for reason in reasons if reason.spoils == "pass"]


def remark(limits: Limits, typed: Typed) -> Reason:
    _, reasons = judge_typed(typed, limits, ONE, Backing())
    return next(reason for reason in reasons if reason.code == NOT_SHOWN)


# --- a steriliser ------------------------------------------------------------------------------


def test_good_values_pass_and_say_what_they_cannot_show() -> None:
    assert judged(GOOD) == ("pass", [])
    assert remarks(GOOD) == [NOT_SHOWN]


@pytest.mark.parametrize(
    ("changed", "verdict"),
    [
        ({"lowest_c": "134"}, "pass"),
        ({"lowest_c": "134.0"}, "pass"),
        ({"lowest_c": "133.9"}, "fail"),
        ({"highest_c": "137.0"}, "pass"),
        ({"highest_c": "137.1"}, "fail"),
        ({"hold_min": "3"}, "pass"),
        ({"hold_min": "3:00"}, "pass"),
        ({"hold_min": "2:59"}, "fail"),
        ({"hold_min": "2.99"}, "fail"),
    ],
)
def test_the_limit_itself_passes_and_what_is_beyond_it_fails(
    changed: dict[str, str], verdict: str
) -> None:
    assert judged({**GOOD, **changed})[0] == verdict


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        (without(GOOD, "lowest_c"), "temperature-missing"),
        (without(GOOD, "highest_c"), "temperature-missing"),
        (without(GOOD, "hold_min"), "time-missing"),
        (without(GOOD, "completed"), "completion-unknown"),
        ({**GOOD, "lowest_c": "136", "highest_c": "135"}, "temperatures-swapped"),
    ],
)
def test_what_is_missing_or_makes_no_sense_cannot_be_judged(typed: Typed, code: str) -> None:
    assert judged(typed) == ("undecided", [code])


def test_nothing_typed_is_no_pass() -> None:
    codes = ["completion-unknown", "temperature-missing", "time-missing"]

    assert judged({}) == ("undecided", codes)


@pytest.mark.parametrize(
    ("changed", "code"),
    [({"completed": "no"}, "not-completed"), ({"indicator": "fail"}, "indicator-failed")],
)
@pytest.mark.parametrize(
    ("typed", "limits"),
    [(GOOD, STEAM), (WASHED, WASHER), (BATHED, BATH), ({"completed": "yes"}, NothingShown())],
)
def test_what_the_machine_or_the_indicator_says_against_it_fails(
    changed: dict[str, str], code: str, typed: Typed, limits: Limits
) -> None:
    assert judged({**typed, **changed}, limits) == ("fail", [code])


def test_a_passed_indicator_alone_makes_no_pass() -> None:
    assert judged({"indicator": "pass", "completed": "yes"})[0] == "undecided"


@given(st.integers(0, 2000), st.integers(0, 2000), st.integers(0, 20_000))
def test_typed_values_pass_only_inside_every_limit(low: int, high: int, hold: int) -> None:
    typed = {"completed": "yes", "lowest_c": f"{low / 10:.1f}", "highest_c": f"{high / 10:.1f}"}

    verdict, _ = judged({**typed, "hold_min": f"{hold / 1000:.3f}"})

    assert (verdict == "pass") == (1340 <= low <= high <= 1370 and hold >= 3000)


def test_the_figures_that_were_read_and_needed_are_both_said_and_never_rounded_up() -> None:
    typed = {**GOOD, "lowest_c": "130.5", "hold_min": "2.999"}

    _, reasons = judge_typed(typed, STEAM, ONE, Backing())

    says = {reason.code: reason.says for reason in reasons}
    assert says["below-band"] == "It fell to 130.5 °C; it must not fall below 134 °C."
    assert says["hold-too-short"] == "It held for 2 min 59.94 s; it needs 3 min."


# --- what is not shown -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limits", "typed", "words"),
    [
        (STEAM, GOOD, ("saturated", "equilibration", "spread", "between two readings", "No F0")),
        (WASHER, WASHED, ("coldest place", "throughout", "lumen", "No A0 is worked out")),
        (BATH, BATHED, ("full force", "lumen", "disinfects nothing")),
        (NothingShown(), {"completed": "yes"}, ("only that the machine finished",)),
    ],
)
def test_each_kind_of_machine_names_what_it_does_not_show(
    limits: Limits, typed: Typed, words: tuple[str, ...]
) -> None:
    says = remark(limits, typed).says

    assert all(word in says for word in words)


def test_finishing_alone_never_stands_for_a_disinfection() -> None:
    done = {"completed": "yes"}

    assert judged(done, NothingShown()) == ("pass", [])
    assert judged(done, NothingShown(proves=True)) == ("undecided", ["finishing-proves-nothing"])


# --- a washer ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("a0", "verdict"), [("600", "pass"), ("599.9", "fail"), ("3000", "pass")])
def test_the_a0_that_the_machine_shows_is_compared_with_its_target(a0: str, verdict: str) -> None:
    assert judged({**WASHED, "a0_shown": a0}, WASHER)[0] == verdict


def test_the_machines_own_a0_is_said_to_be_its_own() -> None:
    assert remarks(WASHED, WASHER) == ["a0-machines-own", NOT_SHOWN]


@given(st.integers(0, 99), st.integers(0, 900))
def test_no_pair_of_temperature_and_time_ever_makes_an_a0(celsius: int, seconds: int) -> None:
    typed = without(WASHED, "a0_shown") | {
        "disinfect_c": str(celsius),
        "disinfect_min": f"{seconds // 60}:{seconds % 60:02d}",
    }

    verdict, codes = judged(typed, WASHER)

    assert (verdict, codes) == ("undecided", ["a0-not-shown"])


@pytest.mark.parametrize(
    ("celsius", "minutes", "verdict"),
    [
        ("90", "1", "pass"),
        ("90", "1:00", "pass"),
        ("89.9", "1", "undecided"),
        ("90", "0:59", "undecided"),
        ("85", "60", "undecided"),
    ],
)
def test_where_the_rule_book_takes_a_pair_both_its_parts_must_be_reached(
    celsius: str, minutes: str, verdict: str
) -> None:
    """85 °C for an hour has A0 enough; that is for a log to show."""
    pair = replace(WASHER, pair_counts=True)
    typed = without(WASHED, "a0_shown") | {"disinfect_c": celsius, "disinfect_min": minutes}

    assert judged(typed, pair)[0] == verdict
    assert "a0-not-shown" in remarks(typed, pair)


def test_a_washer_that_shows_nothing_of_its_disinfection_cannot_be_judged() -> None:
    assert judged(without(WASHED, "a0_shown"), WASHER) == ("undecided", ["disinfection-missing"])


@pytest.mark.parametrize(
    ("changed", "verdict", "codes"),
    [
        ({"flush_c": "35"}, "pass", []),
        ({"flush_c": "35.1"}, "fail", ["flush-too-hot"]),
        ({"detergent": "no"}, "fail", ["no-detergent"]),
        ({"detergent": "not-shown"}, "pass", []),
    ],
)
def test_flush_and_detergent_of_a_washer_are_judged(
    changed: dict[str, str], verdict: str, codes: list[str]
) -> None:
    assert judged({**WASHED, **changed}, WASHER) == (verdict, codes)


def test_whether_detergent_went_in_must_be_said() -> None:
    for typed, limits in ((WASHED, WASHER), (BATHED, BATH)):
        unsaid = without(typed, "detergent")

        assert judged(unsaid, limits) == ("undecided", ["detergent-unknown"])


@pytest.mark.parametrize(
    ("wash", "unusual"), [("59.9", True), ("60", False), ("65", False), ("65.1", True)]
)
def test_an_unusual_wash_is_remarked_on_and_no_more(wash: str, unusual: bool) -> None:
    typed = {**WASHED, "wash_c": wash}

    assert judged(typed, WASHER)[0] == "pass"
    assert ("wash-unusual" in remarks(typed, WASHER)) == unusual


@pytest.mark.parametrize(
    ("low", "high", "wash", "code", "needs"),
    [
        (50.0, 55.0, "49.9", "wash-cold", "50 to 55 °C"),
        (50.0, 55.0, "55.1", "wash-hot", "50 to 55 °C"),
        (70.0, None, "69.9", "wash-cold", "70 °C or more"),
        (None, 50.0, "50.1", "wash-hot", "50 °C or less"),
    ],
)
def test_a_wash_outside_the_machines_own_limits_fails_as_its_log_would(
    low: float | None, high: float | None, wash: str, code: str, needs: str
) -> None:
    own = replace(WASHER, wash_coldest_c=low, wash_hottest_c=high, own_wash=True)

    verdict, reasons = judge_typed({**WASHED, "wash_c": wash}, own, ONE, Backing())

    assert verdict == "fail"
    assert {reason.code: reason.says for reason in reasons}[code] == (
        f"The wash was {wash} °C; this machine washes at {needs}."
    )


@pytest.mark.parametrize(
    ("low", "high", "wash"),
    [(50.0, 55.0, "50"), (50.0, 55.0, "55"), (70.0, None, "90"), (None, 50.0, "30")],
)
def test_a_wash_at_the_machines_own_limits_passes_and_an_open_end_asks_nothing(
    low: float | None, high: float | None, wash: str
) -> None:
    own = replace(WASHER, wash_coldest_c=low, wash_hottest_c=high, own_wash=True)
    typed = {**WASHED, "wash_c": wash}

    assert judged(typed, own) == ("pass", [])
    assert "wash-unusual" not in remarks(typed, own)


def test_what_a_washer_did_not_show_is_said_to_be_not_judged() -> None:
    found = remarks(without(WASHED, "flush_c", "wash_c", "lot"), WASHER)

    assert {"flush-not-read", "wash-not-read", "lot-not-written"} <= set(found)


# --- an ultrasonic bath ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "verdict", "codes"),
    [
        ({}, "pass", []),
        ({"run_min": "3"}, "pass", []),
        ({"run_min": "2:59"}, "fail", ["run-too-short"]),
        ({"run_min": "5:01"}, "pass", []),
        ({"bath_c": "45"}, "pass", []),
        ({"bath_c": "45.1"}, "fail", ["bath-too-hot"]),
        ({"degassed": "no"}, "fail", ["not-degassed"]),
        ({"detergent": "no"}, "fail", ["no-detergent"]),
    ],
)
def test_a_bath_is_judged_by_time_warmth_gas_and_detergent(
    changed: dict[str, str], verdict: str, codes: list[str]
) -> None:
    assert judged({**BATHED, **changed}, BATH) == (verdict, codes)


@pytest.mark.parametrize(
    ("left_out", "code"),
    [
        ("run_min", "time-missing"),
        ("bath_c", "temperature-missing"),
        ("degassed", "degassing-unknown"),
    ],
)
def test_what_nobody_read_off_a_bath_leaves_it_undecided(left_out: str, code: str) -> None:
    assert judged(without(BATHED, left_out), BATH) == ("undecided", [code])


def test_a_bath_that_ran_long_is_remarked_on_from_the_first_second() -> None:
    assert "run-long" not in remarks({**BATHED, "run_min": "5"}, BATH)
    assert "run-long" in remarks({**BATHED, "run_min": "5:01"}, BATH)


def test_where_degassing_is_not_asked_for_nobody_need_say_it() -> None:
    free = replace(BATH, degas_daily=False)

    assert judged(without(BATHED, "degassed"), free) == ("pass", [])


# --- readers and photo ---------------------------------------------------------------------------


def test_a_book_that_lets_typed_values_support_nothing_is_obeyed() -> None:
    strict = Policy(supports_release=False)

    assert judged(GOOD, policy=strict) == ("undecided", ["typed-not-accepted"])
    assert judged(GOOD, policy=strict, backing=Backing(second=GOOD))[0] == "undecided"


def test_where_two_readers_are_asked_for_one_is_not_enough() -> None:
    assert judged(GOOD, policy=TWO) == ("undecided", ["one-reader"])
    assert judged(GOOD, policy=TWO, backing=Backing(second=GOOD)) == ("pass", [])


def test_nobody_is_asked_to_read_again_what_could_not_pass_anyhow() -> None:
    short, unread = {**GOOD, "hold_min": "2"}, without(GOOD, "hold_min")

    assert judged(short, policy=TWO) == ("fail", ["hold-too-short"])
    assert judged(unread, policy=TWO) == ("undecided", ["time-missing"])


def test_readings_that_differ_are_undecided_and_the_last_time_for_good() -> None:
    more = Backing(differs=("lowest_c",), tries_left=1)
    done = replace(more, tries_left=0)

    assert judged(GOOD, policy=TWO, backing=more) == ("undecided", ["readers-differ"])
    assert judged(GOOD, policy=TWO, backing=done) == ("undecided", ["readers-disagree"])


def test_what_differs_is_named_and_its_value_is_not() -> None:
    backing = Backing(differs=("lowest_c", "hold_min"), tries_left=1)

    _, reasons = judge_typed(GOOD, STEAM, TWO, backing)

    says = next(reason.says for reason in reasons if reason.code == "readers-differ")
    assert "Lowest temperature" in says
    assert "134.2" not in says
    assert "3.5" not in says


def test_a_reading_that_first_differed_stays_said_beside_the_one_that_agreed() -> None:
    backing = Backing(second=GOOD, differs=("lowest_c",))

    assert judged(GOOD, policy=TWO, backing=backing) == ("pass", [])
    assert "first-differed" in remarks(GOOD, policy=TWO, backing=backing)


@pytest.mark.parametrize(
    ("first", "second", "verdict"),
    [("134", "133.6", "fail"), ("133.6", "134", "fail"), ("134", "134.4", "pass")],
)
def test_rounding_never_decides_for_a_pass(first: str, second: str, verdict: str) -> None:
    backing = Backing(second={**GOOD, "lowest_c": second})

    assert judged({**GOOD, "lowest_c": first}, policy=TWO, backing=backing)[0] == verdict


def test_a_photo_is_asked_for_and_its_absence_said() -> None:
    asked, needed = Policy(photo="asked"), Policy(photo="needed")

    assert "no-photo" not in remarks(GOOD)
    assert judged(GOOD, policy=asked) == ("pass", [])
    assert "no-photo" in remarks(GOOD, policy=asked)
    assert "no-photo" not in remarks(GOOD, policy=asked, backing=Backing(photo=True))
    assert judged(GOOD, policy=needed) == ("undecided", ["no-photo"])
    assert judged(GOOD, policy=needed, backing=Backing(photo=True)) == ("pass", [])


def test_a_fail_outweighs_what_is_missing_and_all_is_listed() -> None:
    typed = {"lowest_c": "120", "highest_c": "140", "indicator": "fail", "completed": "no"}

    assert judged(typed, policy=TWO) == (
        "fail",
        [
            "not-completed",
            "indicator-failed",
            "below-band",
            "above-band",
            "time-missing",
        ],
    )
