"""What is in a bath serves its days and no more, and only what it is meant for."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.facts import LotSort, Process, Programme, Stated
from equip.rules.fitness.agents import agent_of
from equip.rules.fitness.bath import Filling, why_not_fill, why_not_soak
from equip.rules.fitness.lots import Lot
from equip.rules.machines.sheet import kinds_for, soaks
from tests.support.lives import LONDON, NURSE
from tests.support.stopped import NOON


def bottle(sort: LotSort = "agent", agent: str = "opa-0.55", **more: object) -> Lot:
    return Lot("T00000001P", sort, "Agent", "A-1", stated=Stated(agent=agent), **more)  # type: ignore[arg-type]


def codes(filling: Filling | None, *, days: int = 14, after: int = 0) -> list[str]:
    at = NOON + timedelta(days=after)
    return [why.code for why in why_not_soak(filling, "opa-0.55", days, at, LONDON)]


@given(st.integers(1, 60), st.integers(0, 80))
def test_a_filling_serves_exactly_its_days_the_first_being_day_one(days: int, after: int) -> None:
    found = codes(Filling(bottle(), NOON, NURSE), days=days, after=after)

    assert found == ([] if after + 1 <= days else ["too-old"])


@given(st.integers(0, 23))
def test_its_days_are_calendar_days_of_the_site(hour: int) -> None:
    filling = Filling(bottle(), NOON, NURSE)
    tomorrow = NOON.astimezone(LONDON).replace(hour=hour) + timedelta(days=1)

    assert filling.day_of_use(tomorrow, LONDON) == 2


def test_a_bath_that_nobody_filled_soaks_nothing() -> None:
    assert codes(None) == ["bath-empty"]


def test_a_filling_for_another_programme_or_past_its_day_soaks_nothing() -> None:
    other = Filling(bottle(agent="glutaraldehyde-2.0"), NOON, NURSE)
    expired = Filling(bottle(expires=date(2026, 3, 3)), NOON, NURSE)
    last_day = Filling(bottle(expires=date(2026, 3, 4)), NOON, NURSE)

    assert codes(other) == ["other-agent"]
    assert codes(expired) == ["lot-expired"]
    assert codes(last_day) == []


def test_an_empty_bottle_says_nothing_of_what_was_poured_out_of_it() -> None:
    assert codes(Filling(bottle(finished="used up"), NOON, NURSE)) == []


@pytest.mark.parametrize(
    ("lot", "found"),
    [
        (bottle(), []),
        (bottle(agent="peracetic-acid-0.2"), ["lot-unsuited"]),
        (bottle("detergent", ""), ["lot-unsuited"]),
        (bottle(finished="recalled"), ["lot-finished"]),
        (bottle(expires=date(2026, 3, 3)), ["lot-expired"]),
    ],
)
def test_a_bath_is_filled_only_with_its_agents_that_may_serve(lot: Lot, found: list[str]) -> None:
    reasons = why_not_fill(lot, ("opa-0.55", "glutaraldehyde-2.0"), date(2026, 3, 4))

    assert [why.code for why in reasons] == found


def test_a_bath_is_asked_for_a_strip_and_an_ultrasonic_one_for_its_foil() -> None:
    def process(programme: str) -> Process:
        return Process(steps=("disinfect",), programmes=(Programme(judged_by=programme),))

    assert [kind.id for kind in kinds_for(process("soak-opa-0.55"))] == ["strip"]
    assert [kind.id for kind in kinds_for(process("ultrasonic"))] == [
        "fluid",
        "bath-protein",
        "foil",
    ]
    assert not soaks(process("ultrasonic"))
    assert (agent_of("soak-opa-0.55"), agent_of("steam-134")) == ("opa-0.55", "")


@pytest.mark.parametrize(("soaked", "found"), [(0, []), (1, ["used-before"])])
def test_what_is_for_one_use_serves_one_load(soaked: int, found: list[str]) -> None:
    lot = bottle(agent="peracetic-acid-0.2")
    filled = Filling(lot, NOON, "B000000017")

    reasons = why_not_soak(
        filled, "peracetic-acid-0.2", 1, NOON, LONDON, reuse_loads=1, soaked=soaked
    )

    assert [why.code for why in reasons] == found
    assert why_not_soak(filled, "peracetic-acid-0.2", 1, NOON, LONDON, soaked=99) == []
