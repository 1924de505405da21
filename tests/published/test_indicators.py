"""Chemical indicators against the stated values that ISO 11140-1 and its users print."""

from datetime import date

import pytest

from equip import rulebook
from equip.cli.check.kinds import check

STATES = rulebook.load("united-states").on(date(2026, 1, 15))


@pytest.mark.parametrize(
    ("type_", "celsius", "seconds", "programme", "suited"),
    [
        # Logic of the stated value: 3.5 min at 134 °C cannot turn in a holding time of 3 min.
        (6, 134, 210, "steam-134", False),
        (6, 134, 180, "steam-134", True),
        # ISO 11140-1 (2005 annex, GOST R text): at 121 °C a type 5 states 16.5 min or more, so it
        # needs more than the 15 min of the European cycle and less than the CDC's 30.
        (5, 121, 990, "steam-121", False),
        (5, 121, 990, "gravity-121-wrapped", True),
        # CDC 2008, Table 7: 132 °C for 4 min. A type 6 stands for the one cycle it names.
        (6, 132, 240, "prevac-132", True),
        (6, 134, 210, "prevac-132", False),
        (6, 121, 900, "steam-121", True),
        (6, 134, 180, "steam-121", False),
        # ISO 11140-1: type 1 tells processed from not; type 2 belongs to a test of its own.
        (1, 134, 60, "steam-134", False),
        (2, 134, 210, "steam-134", False),
    ],
)
def test_an_indicator_suits_the_programme_or_not(
    type_: int, celsius: float, seconds: float, programme: str, suited: bool
) -> None:
    given = {
        "type": type_,
        "stated_celsius": celsius,
        "stated_s": seconds,
        "programme": programme,
    }

    answer = check("indicator", given, STATES)

    assert answer["suited"] is suited
    assert answer["verdict"] == ("pass" if suited else "undecided")


# Source: CDC 2008: items are not used where a chemical indicator suggests inadequate processing.
def test_an_indicator_that_suits_and_did_not_turn_fails_the_load() -> None:
    given = {"type": 4, "stated_celsius": 134, "stated_s": 180, "programme": "steam-134"}

    assert check("indicator", {**given, "result": "fail"}, STATES)["verdict"] == "fail"
