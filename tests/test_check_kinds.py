"""Every kind of `check` against the contract: its keys, its strictness, what is not given."""

import json
import math
from typing import Any

import pytest

from equip.cli.check.kinds import KINDS, check
from equip.cli.check.reading import Unreadable

STAMP = "2026-03-02T08:00:00+00:00"
LATER = "2026-03-02T08:20:00+00:00"
ASKED: dict[str, dict[str, Any]] = {
    "leak": {"start_kpa": "5.0", "end_kpa": "5.5", "settle_s": 300, "timed_s": 600},
    "soak": {
        "agent": "opa-0.55",
        "celsius": 20,
        "minutes": 12,
        "automated": False,
        "day_of_use": 1,
        "strip": "pass",
    },
    "dilution": {"stock_percent": 5, "stock_ml": 1, "water_ml": 99},
    "indicator": {
        "type": 4,
        "stated_celsius": 134,
        "stated_s": 120,
        "programme": "steam-134",
    },
    "chart": {"values": [1, 2, 3], "kind": "ewma"},
    "spore": {"process": "steam", "loads": [{"load": "C1", "spore": "negative"}, {"load": 2}]},
    "pack": {
        "made": "2026-03-01",
        "wrapped": True,
        "place": "store",
        "steriliser": "vacuum",
        "at": "2026-03-05",
    },
    "scope": {
        "optic": "flexible",
        "finished": STAMP,
        "used": LATER,
        "cabinet": False,
        "processed": "disinfected",
    },
    "wait": {"ended": STAMP, "cleaning_started": LATER},
    "conformity": {
        "reading": 13.6,
        "lower": 12.5,
        "upper": 16.3,
        "expanded_u": 3.6,
        "k": 2,
        "rule": "simple",
    },
    "interval": {
        "as_found_share": [0.4, 0.6],
        "months": 12,
        "floor_months": 6,
        "ceiling_months": 24,
    },
    "electrical": {
        "cord": "detachable",
        "earth_ohm": 0.1,
        "cord_ohm": 0.05,
        "class": "I",
        "leakage_ua": 600,
        "method": "alternative",
        "part": "BF",
    },
    "convert": {"value": 20.6375, "from": "mm", "to": "in"},
    "due": {"anchor": "2026-01-31", "every_months": 1, "last_met": None, "today": "2026-03-05"},
}
ANSWERED = {
    "leak": {"rate_kpa_min", "verdict"},
    "soak": {"verdict"},
    "dilution": {"ppm"},
    "indicator": {"suited", "verdict"},
    "chart": {"center", "ucl", "lcl", "points", "signals"},
    "spore": {"in_doubt", "back_in_service", "unused_stock_held"},
    "pack": {"use_by", "verdict"},
    "scope": {"verdict"},
    "wait": {"minutes", "verdict"},
    "conformity": {"outcome", "probability", "verdict"},
    "interval": {"advice", "next_months", "months_to_limit"},
    "electrical": {"kept", "verdict"},
    "convert": {"value", "sixteenths"},
    "due": {"next_due", "standing"},
}


def refusal(kind: str, /, **changed: Any) -> str:
    with pytest.raises(Unreadable) as caught:
        check(kind, {**ASKED[kind], **changed})
    return str(caught.value)


def verdict(kind: str, /, **changed: Any) -> str:
    found: str = check(kind, {**ASKED[kind], **changed})["verdict"]
    return found


def without(kind: str, *names: str) -> dict[str, Any]:
    return {name: value for name, value in ASKED[kind].items() if name not in names}


@pytest.mark.parametrize("kind", ASKED)
def test_each_kind_answers_with_the_keys_of_the_contract_in_json(kind: str) -> None:
    answer = json.loads(json.dumps(check(kind, ASKED[kind]), allow_nan=False))

    assert set(answer) == {"reasons", "rules"} | ANSWERED[kind]
    for rule in answer["rules"]:
        assert {"id", "value", "unit", "source", "basis"} <= set(rule)
    for reason in answer["reasons"]:
        assert set(reason) == {"code", "says"}


@pytest.mark.parametrize("kind", sorted(set(ASKED) - {"convert", "dilution", "due"}))
def test_each_kind_that_has_a_limit_names_its_rule(kind: str) -> None:
    assert check(kind, ASKED[kind])["rules"]


@pytest.mark.parametrize("kind", ASKED)
@pytest.mark.parametrize("bad", [True, math.nan, math.inf, [], {}, "", "x"], ids=repr)
def test_no_key_takes_a_value_of_the_wrong_sort_without_a_sentence(kind: str, bad: object) -> None:
    for name, good in ASKED[kind].items():
        if isinstance(good, bool) and isinstance(bad, bool):
            continue
        says = refusal(kind, **{name: bad})
        assert says.endswith(".")
        assert name.split("_")[0] in says


# An electrical test needs no key of its own: nothing given is nothing judged, undecided.
@pytest.mark.parametrize("kind", sorted(set(ASKED) - {"electrical"}))
def test_nothing_at_all_is_refused_with_what_is_needed(kind: str) -> None:
    with pytest.raises(Unreadable, match=r"(?i)give .*\.$"):
        check(kind, {})


def test_every_kind_of_this_table_is_registered() -> None:
    assert set(ASKED) < set(KINDS)


@pytest.mark.parametrize(
    ("kind", "changed", "part"),
    [
        ("leak", {"timed_s": 0}, "“timed_s” is not above 0"),
        ("leak", {"settle_s": -1}, "“settle_s” is below 0"),
        ("leak", {"end_kpa": "1e400"}, "more digits than any reading"),
        ("leak", {"end_kpa": "1e-999999999"}, "more digits than any reading"),
        ("leak", {"end_kpa": "nan"}, "“end_kpa” is a text that is no number"),
        ("leak", {"end_kpa": 10**400}, "“end_kpa” is not a finite number"),
        ("soak", {"agent": "OPA"}, "“agent” is not known here; give one of hydrogen-peroxide-7.5"),
        ("soak", {"minutes": "12"}, "“minutes” is a text"),
        ("soak", {"minutes": -1}, "“minutes” is below 0"),
        ("soak", {"day_of_use": 1.5}, "“day_of_use” is a number with a fraction"),
        ("soak", {"automated": 1}, "“automated” is a number; give true or false"),
        ("soak", {"basis": "maker"}, "give one of label, society"),
        ("dilution", {"target_ppm": 500, "total_ml": 10}, "one pair of the two"),
        ("dilution", {"water_ml": None}, "“water_ml” is missing"),
        ("dilution", {"water_ml": -1}, "“water_ml” is below 0"),
        ("dilution", {"stock_ml": 0}, "“stock_ml” is not above 0"),
        ("dilution", {"stock_percent": 101}, "“stock_percent” is above 100"),
        ("indicator", {"type": 0}, "“type” is below 1"),
        ("indicator", {"type": 7}, "a type of ISO 11140-1 from 1 to 6"),
        ("indicator", {"type": None}, "“type” is missing"),
        ("indicator", {"programme": "steam-1"}, "give one of steam-134, steam-126"),
        ("chart", {"values": []}, "“values” is empty"),
        ("chart", {"values": [1]}, "give sigma or more values"),
        ("chart", {"values": [1, "2"]}, "“values[1]” is a text"),
        ("chart", {"lambda": 0}, "“lambda” is not above 0"),
        ("chart", {"lambda": 1.1}, "“lambda” is above 1"),
        ("chart", {"sigma": 0}, "“sigma” is not above 0"),
        ("chart", {"k": -3}, "“k” is not above 0"),
        ("chart", {"exact_limits": []}, "“exact_limits” is a list"),
        ("spore", {"loads": None}, "“loads” is missing or empty"),
        ("spore", {"loads": [{"load": 1}, {"load": 1}]}, "names a load twice"),
        ("spore", {"loads": [{"spore": "negative"}]}, "“loads[0].load” is null"),
        ("spore", {"loads": [{"load": 1, "spore": "grew"}]}, "“loads[0].spore” is not known"),
        ("spore", {"loads": [7]}, "“loads[0]” is a number"),
        ("spore", {"wrong_settings": ["C9"]}, "a load that is not among “loads”"),
        ("spore", {"repeats": [None]}, "“repeats[0]” is null"),
        ("pack", {"made": "2026-02-30"}, "a text that is no day"),
        ("pack", {"made": "20260301"}, "a text that is no day"),
        ("pack", {"made": "2026-03-01T08:00:00"}, "a stamp with its offset"),
        ("pack", {"at": "2026-02-28"}, "“at” is a day before “made”"),
        ("pack", {"made": "9999-12-31", "at": None}, "the end of the calendar"),
        ("pack", {"wrapped": None}, "“wrapped” is missing"),
        ("pack", {"steriliser": None}, "“steriliser” is missing"),
        ("scope", {"used": "2026-03-02T07:59:59+00:00"}, "“used” is before “finished”"),
        ("scope", {"used": "2026-03-02T08:20:00"}, "“used” is a text that is no moment"),
        ("scope", {"used": "2026-03-02"}, "“used” is a text that is no moment"),
        ("scope", {"used": "2026-03-02T08:20:00+25:00"}, "no moment"),
        ("scope", {"used": None}, "“used” is missing"),
        (
            "scope",
            {
                "finished": "9999-12-31T00:00:00Z",
                "used": "9999-12-31T01:00:00Z",
                "processed": "sterilised-wrapped",
            },
            "the end of the calendar",
        ),
        ("wait", {"cleaning_started": "2026-03-02T07:00:00Z"}, "is before “ended”"),
        ("due", {"today": "yesterday"}, "today must be a day"),
        ("due", {"every_days": 3}, "in months or in days, not both"),
    ],
)
def test_what_cannot_be_read_is_named_in_one_sentence(
    kind: str, changed: dict[str, Any], part: str
) -> None:
    assert part in refusal(kind, **changed)


def test_a_text_is_never_repeated_in_a_refusal() -> None:
    assert "Mrs Example" not in refusal("soak", agent="Mrs Example")
    assert "Mrs Example" not in refusal("scope", used="Mrs Example")


# --- what is not given is not judged ---------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "left_out", "expected"),
    [
        ("leak", ["settle_s"], "undecided"),
        ("soak", ["automated"], "pass"),
        ("soak", ["day_of_use"], "undecided"),
        ("soak", ["strip"], "undecided"),
        ("soak", ["minutes"], "undecided"),
        ("soak", ["celsius", "minutes", "day_of_use", "strip", "automated"], "undecided"),
        ("indicator", ["stated_s"], "undecided"),
        ("pack", ["at"], "undecided"),
        ("pack", ["place"], "pass"),
        ("scope", ["cabinet"], "pass"),
    ],
)
def test_what_is_left_out_is_not_judged(kind: str, left_out: list[str], expected: str) -> None:
    assert check(kind, without(kind, *left_out))["verdict"] == expected


@pytest.mark.parametrize(
    ("changed", "expected"),
    [({"strip": "fail"}, "fail"), ({"day_of_use": 15}, "fail"), ({"minutes": 11}, "undecided")],
)
def test_what_is_told_of_a_soak_can_fail_it_alone(changed: dict[str, Any], expected: str) -> None:
    told = {"agent": "opa-0.55", **changed}

    # Eleven minutes could have been in a machine at 25 °C, so they settle nothing alone.
    assert check("soak", told)["verdict"] == expected


def test_a_pack_in_an_unknown_place_is_taken_to_lie_in_the_clinical_room() -> None:
    answer = check("pack", {"made": "2026-03-01", "wrapped": False, "at": "2026-03-02"})

    assert (answer["use_by"], answer["verdict"]) == ("2026-03-01", "fail")


def test_stamps_of_a_pack_count_by_the_day_as_written() -> None:
    told = {"made": "2026-03-01T23:30:00+00:00", "wrapped": False, "place": "clinical"}

    assert check("pack", {**told, "at": "2026-03-01T23:59:00+00:00"})["verdict"] == "pass"
    assert check("pack", {**told, "at": "2026-03-02T00:01:00+00:00"})["verdict"] == "fail"


def test_an_indicator_that_is_not_suited_is_not_a_failed_load() -> None:
    answer = check("indicator", {**ASKED["indicator"], "stated_s": 210, "result": "fail"})

    assert (answer["suited"], answer["verdict"]) == (False, "undecided")
    assert [reason["code"] for reason in answer["reasons"]] == [
        "needs-longer",
        "result-not-counted",
    ]


def test_exact_limits_are_lists_for_either_kind_of_chart() -> None:
    for kind in ("ewma", "individuals"):
        answer = check("chart", {"values": [1, 2, 4], "kind": kind, "exact_limits": True})
        assert len(answer["ucl"]) == len(answer["lcl"]) == len(answer["points"]) == 3


def test_a_chart_names_only_the_rules_that_stood_in_for_what_was_not_given() -> None:
    given = {**ASKED["chart"], "lambda": 0.2, "k": 3, "sigma": 1}

    assert check("chart", given)["rules"] == []
    assert [rule["id"] for rule in check("chart", ASKED["chart"])["rules"]] == [
        "chart.k",
        "chart.d2",
        "chart.lambda",
    ]


def test_loads_keep_the_names_they_came_under() -> None:
    loads = [{"load": 7, "spore": "positive"}, {"load": "8 b", "spore": None}]

    assert check("spore", {"process": "other", "loads": loads})["in_doubt"] == [7, "8 b"]


def test_a_wait_that_is_not_said_to_be_moist_has_the_shorter_limit() -> None:
    late = "2026-03-02T08:31:00+00:00"

    assert verdict("wait", cleaning_started=late) == "fail"
    assert verdict("wait", cleaning_started=late, kept_moist=True) == "pass"


def test_a_duty_due_on_its_day_is_due_and_from_the_month_end_it_does_not_drift() -> None:
    asked = {**ASKED["due"], "last_met": "2026-01-31", "today": "2026-02-28"}

    answer = check("due", asked)

    assert (answer["next_due"], answer["standing"]) == ("2026-02-28", "due")


@pytest.mark.parametrize("kind", ASKED)
def test_a_key_that_nobody_knows_is_refused_and_not_passed_over(kind: str) -> None:
    says = refusal(kind, strp="fail")

    assert "strp" in says
    assert all(name in says for name in ASKED[kind])


@pytest.mark.parametrize("kind", ["tag", "steam", "f0", "a0"])
def test_so_is_one_of_a_check_that_only_computes(kind: str) -> None:
    with pytest.raises(Unreadable, match="“tmeperature” is not known here"):
        check(kind, {"tmeperature": 121})


def test_a_misspelt_result_of_one_load_is_refused_with_its_place() -> None:
    says = refusal("spore", loads=[{"load": 1, "spore": "negative"}, {"load": 2, "spores": "x"}])

    assert says == "“spores” in “loads[1]” is not known here; the keys are load, spore."


@pytest.mark.parametrize(("celsius", "part"), [(-1, "below 0"), (100.5, "above 100")])
def test_no_bath_is_colder_than_ice_or_hotter_than_steam(celsius: float, part: str) -> None:
    assert part in refusal("soak", celsius=celsius)


def test_repeats_of_a_machine_whose_tests_were_all_negative_decide_as_any_others() -> None:
    three = {**ASKED["spore"], "repeats": ["negative"] * 3}

    assert check("spore", ASKED["spore"])["back_in_service"] is None
    assert check("spore", three)["back_in_service"] is True
    assert check("spore", {**three, "repeats": ["negative"] * 2})["back_in_service"] is False


def test_a_key_that_is_null_is_not_given() -> None:
    assert check("steam", {"kpa": None, "celsius": 134})["kpa"] == pytest.approx(304.199, abs=1e-3)
