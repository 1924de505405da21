"""Whatever `check` and `judge` are asked: an answer in JSON or one sentence, never a crash."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from equip import rulebook
from equip.cli.check.judging import judge_log
from equip.cli.check.kinds import KINDS, check
from equip.cli.check.reading import Unreadable
from tests.test_check_kinds import ASKED

KEYS = {
    "tag": ["text"],
    "steam": ["kpa", "celsius"],
    "f0": ["seconds", "celsius", "reference_celsius", "z_kelvin"],
    "a0": ["seconds", "celsius", "target_s"],
    "leak": ["start_kpa", "end_kpa", "settle_s", "timed_s"],
    "soak": ["agent", "celsius", "minutes", "automated", "day_of_use", "strip", "basis"],
    "dilution": ["stock_percent", "stock_ml", "water_ml", "target_ppm", "total_ml"],
    "indicator": ["type", "stated_celsius", "stated_s", "programme", "result"],
    "chart": ["values", "kind", "lambda", "center", "sigma", "k", "exact_limits"],
    "spore": ["process", "loads", "defect", "wrong_settings", "repeats"],
    "pack": ["made", "wrapped", "place", "steriliser", "at"],
    "scope": ["optic", "finished", "used", "cabinet", "processed"],
    "wait": ["ended", "cleaning_started", "kept_moist"],
    "conformity": ["reading", "lower", "upper", "expanded_u", "k", "rule"],
    "interval": ["as_found_share", "months", "floor_months", "ceiling_months"],
    "electrical": [
        *("cord", "earth_ohm", "earth_ohm_dc", "cord_ohm"),
        *("class", "leakage_ua", "method", "part"),
    ],
    "convert": ["value", "from", "to"],
    "due": [
        *("anchor", "every_months", "every_days", "last_met"),
        *("today", "count", "every_count", "not_after"),
    ],
}
HEAT = {"seconds": [0, 60, 120], "celsius": [60, 90, 121]}
SOUND: dict[str, dict[str, Any]] = {
    **ASKED,
    "tag": {"text": "E000000019"},
    "steam": {"kpa": 300},
    "f0": {**HEAT, "reference_celsius": 121.1, "z_kelvin": 10},
    "a0": {**HEAT, "target_s": 600},
}
"""A question of each kind that is answered; the laws change some of its keys."""
WORDS = [
    *("opa-0.55", "glutaraldehyde-2.0", "pass", "fail", "none", "label", "society", "steam"),
    *("other", "negative", "positive", "invalid", "store", "clinical", "vacuum", "flexible"),
    *("rigid", "disinfected", "sterilised-wrapped", "individuals", "ewma", "steam-134", "5.0"),
    *("2026-03-01", "9999-12-31", "0001-01-01", "2024-02-29", "2026-03-01T08:00:00+00:00"),
    *("9999-12-31T23:59:59-18:00", "0001-01-01T00:00:00+18:00", "E000000019", "", "\ud800"),
]
NUMBERS = (
    st.floats()
    | st.integers()
    | st.sampled_from([0, 1, 3, 12, 20, 134, 600, -0.0, 1e-30, 1e14, 1e308, 10**400, 5.0])
)
SIMPLE = st.none() | st.booleans() | NUMBERS | st.sampled_from(WORDS)
LOADS = st.fixed_dictionaries({"load": SIMPLE, "spore": SIMPLE})
VALUES = SIMPLE | st.lists(NUMBERS, max_size=6) | st.lists(SIMPLE | LOADS, max_size=4)


@pytest.mark.parametrize("kind", KEYS)
@settings(max_examples=150)
@given(data=st.data())
def test_any_values_of_a_check_end_in_json_or_a_sentence(kind: str, data: st.DataObject) -> None:
    changes: dict[str, Any] = data.draw(
        st.fixed_dictionaries({}, optional=dict.fromkeys(KEYS[kind], VALUES))
    )
    asked = {**SOUND[kind], **changes} if data.draw(st.booleans()) else changes
    try:
        answer = check(kind, asked)
    except Unreadable as fault:
        assert str(fault).endswith(".")
        assert "\n" not in str(fault)
    else:
        json.dumps(answer, allow_nan=False)
        assert answer.get("verdict", "pass") in ("pass", "fail", "undecided")


def test_every_key_of_those_checks_is_one_that_they_know() -> None:
    for kind, keys in KEYS.items():
        with pytest.raises(Unreadable) as caught:
            check(kind, {"unheard-of": 1})
        assert all(key in str(caught.value) for key in keys)
    assert set(KEYS) <= set(KINDS)


RULES = rulebook.load("united-states").on(date(2026, 1, 15))
CELLS = st.sampled_from(
    [
        *(
            "20",
            "64.9",
            "65",
            "89.99",
            "90",
            "121",
            "133.99",
            "134",
            "134.6",
            "136",
            "137",
            "137.01",
        ),
        *("-30", "200", "199.99", "0", "0.61", "100", "309.6", "322.417", "1000", "-5", "-0", ""),
    ]
)
STEPS = st.sampled_from([1, 0.1, 10, 10.001, 30, 60.5, 90, 181, 5000, 1e-9])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("logs")


@settings(max_examples=400)
@given(
    rows=st.lists(st.tuples(STEPS, CELLS, CELLS, CELLS), max_size=14),
    columns=st.integers(1, 3),
    repeat=st.integers(1, 40),
    programme=st.sampled_from(RULES.programmes()),
    uncertainty=st.none() | st.sampled_from(["0", "0.5", "1.5", "50"]),
    band_width=st.none() | st.sampled_from(["0.001", "3", "4", "900000"]),
    chamber_litres=st.none() | st.sampled_from(["24", "801"]),
)
def test_any_log_ends_in_a_verdict_or_a_sentence(
    folder: Path,
    rows: list[tuple[float, str, str, str]],
    columns: int,
    repeat: int,
    programme: str,
    **options: str | None,
) -> None:
    at, lines = 0.0, [",".join(["seconds", "celsius", "celsius_2", "kpa"][: columns + 1])]
    if columns == 2:
        lines = ["seconds,celsius,kpa"]
    for step, *cells in rows:
        for _ in range(repeat):
            at += step
            lines.append(",".join([repr(at), *cells[:columns]]))
    path = folder / "log.csv"
    path.write_text("\n".join(lines))

    try:
        answer = judge_log(
            path, programme, rulebook.load("united-states"), date(2026, 1, 15), **options
        )
    except Unreadable as fault:
        assert str(fault).endswith(".")
        assert "\n" not in str(fault)
    else:
        json.dumps(answer, allow_nan=False)
        spoils = answer["verdict"]
        assert spoils in ("pass", "fail", "undecided")
        assert spoils == "pass" or answer["reasons"]
