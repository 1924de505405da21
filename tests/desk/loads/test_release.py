"""Every reason why a load may not be released comes from one place, and the act says the same."""

import re

import pytest

from equip.desk.act.act import Refused, acting
from equip.desk.loads.release import release_load, why_not_release
from equip.desk.machines import sheets
from equip.facts import Told
from equip.rules.loads.load import Load
from equip.store.readings import load_rows
from tests.support.playing import Play


def load_of(play: Play, tag: str) -> Load:
    load = load_rows.load_of(play.clinic.store, tag)
    assert load is not None
    return load


def against(play: Play, tag: str, who: str = "nurse") -> list[Told]:
    return why_not_release(play.clinic, load_of(play, tag), play.people[who], play.clock.now)


def test_nothing_stands_against_a_load_that_passed(play: Play) -> None:
    load = play.run(play.add("steriliser-vacuum"), play.packed(play.add("hook")))

    assert against(play, load) == []


def test_the_load_and_who_asks_are_named_together_and_the_act_says_the_same(play: Play) -> None:
    load = play.run(play.add("steriliser-vacuum"), play.packed(play.add("hook")), hold_s=60)

    found = against(play, load, "trainee")

    assert [told.code for told in found] == ["no-right", "load-fail"]
    says = re.escape(" ".join(told.says for told in found))
    trainee = play.people["trainee"]
    with pytest.raises(Refused, match=f"^{says}$"), acting(play.clinic, by=trainee) as act:
        release_load(act, load_of(play, load), trainee)


def test_a_machine_that_failed_a_test_on_the_day_stands_against_its_loads(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    load = play.run(steriliser, play.packed(play.add("hook")))
    with acting(play.clinic, by=play.people["nurse"]) as act:
        sheets.record(act, steriliser, "steam-penetration", passed=False)

    found = against(play, load)

    assert [told.code for told in found] == ["machine-not-to-run"]
    assert found[0].says.startswith("On the day it ran, Bench steriliser")
    nurse = play.people["nurse"]
    says = re.escape(found[0].says)
    with pytest.raises(Refused, match=f"^{says}$"), acting(play.clinic, by=nurse) as act:
        release_load(act, load_of(play, load), nurse)
