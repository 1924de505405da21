"""`check KIND` and `judge LOG`: the contract's answers, and refusals in one sentence."""

import json
import math
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from equip import rulebook
from equip.cli.check.judging import judge_log
from equip.cli.check.kinds import KINDS, check
from equip.cli.check.reading import Unreadable
from equip.scan import make_tag, next_tag

CYCLES = Path(__file__).parent / "published" / "cycles"
ON = date(2026, 1, 15)
BOOK = rulebook.load("england")
HEAT = {"seconds": [0, 60], "celsius": [90, 90]}


def judged(name: str = "clean-134", programme: str = "steam-134", **options: Any) -> dict[str, Any]:
    return judge_log(CYCLES / f"{name}.csv", programme, BOOK, ON, **options)


def refusal(kind: str, given: object) -> str:
    with pytest.raises(Unreadable) as caught:
        check(kind, given)
    return str(caught.value)


# --- check -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("letter", "names"),
    [
        ("E", "instrument"),
        ("D", "machine"),
        ("P", "pack"),
        ("S", "set"),
        ("L", "load"),
        ("B", "badge"),
        ("R", "place"),
        ("C", "act card"),
        ("T", "lot"),
    ],
)
def test_a_tag_is_read_to_what_it_names(letter: str, names: str) -> None:
    tag = next_tag(letter, 12_344)

    answer = check("tag", {"text": f" {tag[0]} {tag[1:5]} {tag[5:].lower()} "})

    assert answer == {"tag": tag, "names": names, "remapped": False, "reasons": [], "rules": []}


def test_a_tag_with_one_wrong_digit_is_unreadable() -> None:
    tag = next_tag("E", 12_344)
    wrong = tag[:8] + str((int(tag[8]) + 1) % 10) + tag[9:]

    assert make_tag("E", int(wrong[1:9])) != wrong
    assert "misread" in refusal("tag", {"text": wrong})


def test_steam_goes_both_ways() -> None:
    assert check("steam", {"celsius": 134})["kpa"] == pytest.approx(304.199, abs=0.001)
    assert check("steam", {"kpa": 304.199})["celsius"] == pytest.approx(134, abs=0.001)
    assert check("steam", {"kpa": 304.199})["kpa"] == 304.199


def test_f0_in_minutes_by_the_reference_that_is_given() -> None:
    given = {"seconds": [0, 900], "celsius": [121, 121], "z_kelvin": 10}

    assert check("f0", {**given, "reference_celsius": 121.0})["f0_min"] == pytest.approx(15)
    assert check("f0", {**given, "reference_celsius": 121.1})["f0_min"] == pytest.approx(
        14.659, abs=0.001
    )


@pytest.mark.parametrize(
    ("target", "verdict", "why"),
    [(600, "pass", []), (600.1, "fail", ["a0-short"]), (None, "undecided", ["target-not-given"])],
)
def test_a0_is_held_against_its_target_and_without_one_not_judged(
    target: float | None, verdict: str, why: list[str]
) -> None:
    answer = check("a0", {**HEAT, "target_s": target})

    assert answer["a0_s"] == pytest.approx(600)
    assert answer["verdict"] == verdict
    assert [reason["code"] for reason in answer["reasons"]] == why
    assert {rule["id"]: rule["value"] for rule in answer["rules"]} == {
        "a0.reference": 80.0,
        "a0.z": 10.0,
        "a0.floor": 65.0,
    }


def test_a0_without_a_word_about_the_target_is_undecided() -> None:
    assert check("a0", HEAT)["verdict"] == "undecided"


def test_a0_of_many_small_steps_is_not_lost_to_rounding() -> None:
    seconds = [index / 10 for index in range(60_001)]

    answer = check("a0", {"seconds": seconds, "celsius": [70] * 60_001, "target_s": 600})

    assert answer["verdict"] == "pass"


def test_a0_follows_the_rules_it_is_given() -> None:
    rules = BOOK.overridden(
        [rulebook.Override("a0.floor", "91", "Colder does not count here", ON, "B000000017")]
    ).on(ON)

    assert check("a0", HEAT, rules)["a0_s"] == 0


@pytest.mark.parametrize(
    ("kind", "given", "parts"),
    [
        ("toast", {}, ["no check “toast”", "steam"]),
        ("steam", [1], ["A list was read", "one JSON object"]),
        ("steam", None, ["Null was read"]),
        ("steam", "134", ["A text was read"]),
        ("steam", {}, ["either “kpa” (absolute) or “celsius”"]),
        ("steam", {"kpa": 1, "celsius": 1}, ["one of the two"]),
        ("steam", {"kpa": "304"}, ["“kpa” is a text", "give a number"]),
        ("steam", {"kpa": True}, ["“kpa” is true or false"]),
        ("steam", {"kpa": None}, ["either “kpa” (absolute) or “celsius”"]),
        ("steam", {"kpa": {}}, ["“kpa” is an object"]),
        ("steam", {"kpa": math.nan}, ["“kpa” is not a finite number"]),
        ("steam", {"kpa": math.inf}, ["“kpa” is not a finite number"]),
        ("steam", {"kpa": 10**400}, ["“kpa” is not a finite number"]),
        ("steam", {"kpa": -5}, ["-5 kPa was read"]),
        ("steam", {"celsius": 400}, ["400 °C was read"]),
        ("f0", {}, ["“reference_celsius” is missing"]),
        ("f0", {"reference_celsius": 121.1}, ["“z_kelvin” is missing"]),
        ("f0", {**HEAT, "reference_celsius": 121, "z_kelvin": 0}, ["z above nought"]),
        ("a0", {"celsius": [1, 2]}, ["“seconds” is missing"]),
        ("a0", {"seconds": 5, "celsius": [1]}, ["“seconds” is a number", "a list of numbers"]),
        ("a0", {"seconds": [0, "1"], "celsius": [1, 2]}, ["“seconds[1]” is a text"]),
        ("a0", {"seconds": [0, 1], "celsius": [1, True]}, ["“celsius[1]” is true or false"]),
        ("a0", {"seconds": [0, 1], "celsius": [1]}, ["2 times and 1 temperatures"]),
        ("a0", {"seconds": [0], "celsius": [1]}, ["at least two"]),
        ("a0", {"seconds": [1, 0], "celsius": [1, 2]}, ["Reading 2"]),
        ("a0", {"seconds": [0, 1], "celsius": [80, 9999]}, ["too hot"]),
        ("a0", {**HEAT, "target_s": 0}, ["“target_s” is 0"]),
        ("a0", {**HEAT, "target_s": "600"}, ["“target_s” is a text"]),
        ("tag", {}, ["“text” is missing"]),
        ("tag", {"text": 5}, ["“text” is a number"]),
        ("tag", {"text": ""}, ["Nothing was read"]),
        ("tag", {"text": "hello"}, ["“hello” is no tag"]),
    ],
)
def test_unreadable_input_is_one_sentence_with_what_was_read(
    kind: str, given: object, parts: list[str]
) -> None:
    says = refusal(kind, given)

    for part in parts:
        assert part in says


def test_every_kind_answers_in_json() -> None:
    asked = {
        "tag": {"text": next_tag("E", 1)},
        "steam": {"kpa": 300},
        "f0": {**HEAT, "reference_celsius": 121.1, "z_kelvin": 10},
        "a0": HEAT,
    }

    for kind, given in asked.items():
        answer = json.loads(json.dumps(check(kind, given), allow_nan=False))
        assert {"reasons", "rules"} <= set(answer)
    assert set(asked) <= set(KINDS)


# --- judge -----------------------------------------------------------------------------------


def test_a_judgement_has_the_keys_of_the_contract_and_is_json() -> None:
    answer = json.loads(json.dumps(judged(), allow_nan=False))

    assert set(answer) == {"verdict", "reasons", "figures", "rules"}
    assert set(answer["figures"]) == {
        "hold_s",
        "hold_start_s",
        "equilibration_s",
        "hold_min_c",
        "hold_max_c",
        "spread_max_k",
        "theory_gap_min_k",
        "theory_gap_max_k",
        "f0_min",
        "f0_hold_min",
        "log_kill_hold",
        "heat_up_s",
        "drying_s",
        "samples",
        "largest_gap_s",
    }
    for reason in answer["reasons"]:
        assert set(reason) == {"code", "says", "at_s"}
    for rule in answer["rules"]:
        assert {"id", "value", "unit", "source", "basis"} <= set(rule)


def test_the_figures_of_a_clean_log_are_those_a_spreadsheet_gives() -> None:
    figures = judged()["figures"]

    assert figures["hold_s"] == 232
    assert figures["hold_start_s"] == 540
    assert (figures["hold_min_c"], figures["hold_max_c"]) == (134.023, 135.33)
    assert (figures["samples"], figures["largest_gap_s"]) == (1029, 1)


def test_a_washer_is_judged_by_its_a0_with_the_same_keys() -> None:
    passed = judged("washer-90", "thermal-a0-600", uncertainty="0.5", chamber_litres="24")
    failed = judged("washer-90", "thermal-a0-3000")

    assert (passed["verdict"], failed["verdict"]) == ("pass", "fail")
    assert set(judged()["figures"]) - set(passed["figures"]) == {"log_kill_hold"}
    assert set(passed["figures"]) - set(judged()["figures"]) == {"a0_s", "a0_left_out_s"}
    assert passed["figures"]["f0_min"] is None
    assert {rule["id"]: rule["value"] for rule in failed["rules"]}["thermal-a0-3000.target"] == 3000
    json.dumps(failed, allow_nan=False)


def test_the_rules_that_were_used_stand_in_the_answer() -> None:
    rules = {rule["id"]: rule["value"] for rule in judged()["rules"]}

    assert rules["steam-134.low"] == 134.0
    assert rules["steam-134.hold"] == 180
    assert rules["steam.equilibration-small"] == 15


def test_options_as_typed_change_what_is_judged() -> None:
    assert judged()["verdict"] == "pass"
    assert judged(uncertainty="1.4")["verdict"] == "undecided"
    assert judged(uncertainty="0")["verdict"] == "pass"
    assert judged(band_width="1")["verdict"] == "fail"
    assert "steam.equilibration-large" in {
        rule["id"] for rule in judged(chamber_litres=801)["rules"]
    }


def test_a_clinic_with_a_longer_hold_fails_what_the_book_would_pass() -> None:
    own = rulebook.Override("steam-134.hold", "1080", "Our prion policy", ON, "B000000017")

    answer = judge_log(CYCLES / "clean-134.csv", "steam-134", BOOK.overridden([own]), ON)

    assert answer["verdict"] == "fail"
    assert answer["reasons"][0]["says"] == "It stayed hot enough for 3 min 52 s; it needs 18 min."


@pytest.mark.parametrize(
    ("options", "part"),
    [
        ({"programme": "steam-1000"}, "it has steam-134, steam-126, steam-121, steam-115"),
        ({"name": "nowhere"}, "could not be opened"),
        ({"uncertainty": "-1"}, "The uncertainty was read as “-1”"),
        ({"uncertainty": "nan"}, "The uncertainty was read as “nan”"),
        ({"uncertainty": "much"}, "The uncertainty was read as “much”"),
        ({"band_width": "0"}, "The band width was read as “0”"),
        ({"band_width": math.inf}, "The band width was read as “inf”"),
        ({"chamber_litres": "0"}, "The chamber was read as “0”"),
    ],
)
def test_what_cannot_be_judged_at_all_is_one_sentence(options: dict[str, Any], part: str) -> None:
    with pytest.raises(Unreadable) as caught:
        judged(**options)

    assert part in str(caught.value)
