"""The indicator in a pack had not turned when it was opened: what stops, what is only asked."""

from pathlib import Path

import pytest

from equip import facts
from equip.desk.act.answer import Answer
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.post import agenda
from equip.store.readings import case_rows, item_rows
from tests.support.playing import Play

FIRST, SECOND, THIRD = "12345601", "12345602", "12345603"


def says(answer: Answer) -> str:
    return " ".join(reason.says for reason in answer.reasons)


def held(play: Play) -> dict[str, list[str]]:
    standing = item_rows.standings_held(play.clinic.store)
    return {one.item: [kept.why.code for kept in one.quarantines] for one in standing}


@pytest.fixture
def hooks(play: Play) -> list[str]:
    return [play.add("hook") for _ in range(4)]


@pytest.fixture
def packs(play: Play, hooks: list[str]) -> list[str]:
    """Four packs of one hook each, sterilised and released in one load."""
    play.cleaned(*hooks)
    packs = [play.packed(hook) for hook in hooks]
    play.released(play.add("steriliser-vacuum"), *packs)
    play.clock.passes(hours=1)
    return packs


def load_of(play: Play, pack: str) -> str:
    found = [one.fact for one in told_about(play.clinic.store, pack)]
    return [one.load for one in found if isinstance(one, facts.LoadEnded)][-1]


def test_the_pack_stops_what_it_held_goes_round_and_unused_packs_are_kept_back_at_once(
    play: Play, hooks: list[str], packs: list[str], tmp_path: Path
) -> None:
    play.scan("start over", FIRST, packs[0], "finish", "start over")
    play.scan("store", play.places["shelf"], packs[2], "start over", packs[1])

    answer = play.scan("indicator not turned")

    assert (answer.tone, answer.word) == ("no", "Stop")
    assert set(held(play)) == {packs[2], packs[3], hooks[2], hooks[3]}
    assert {code for codes in held(play).values() for code in codes} == {"indicator-not-turned"}
    assert "2 other things are in quarantine now" in says(answer)
    assert "pack-spoilt" in play.codes(play.scan("start over", "lay up", packs[1]))
    assert play.codes(play.scan(packs[2])) == ["quarantined", "quarantined"]
    play.scan("start over", "clean", hooks[1])
    assert play.codes(play.scan("start over", hooks[1]))[0] == "soiled"
    assert differences(play.clinic.store, tmp_path) == []


def test_all_of_it_is_one_act_and_taking_it_back_lets_no_other_pack_out(
    play: Play, packs: list[str]
) -> None:
    play.scan("start over", packs[1])
    play.reply("indicator not turned", act="0001-the-indicator-act")
    acts = {
        one.fact.act
        for tag in (packs[1], packs[2], packs[3])
        for one in told_about(play.clinic.store, tag)
        if isinstance(one.fact, facts.Quarantined | facts.IndicatorNotTurned)
    }
    before = set(held(play))
    play.scan("undo", "undo")

    assert acts == {"0001-the-indicator-act"}
    assert set(held(play)) == before


def test_uses_of_the_day_out_of_the_same_load_are_named_and_no_case_is_opened(
    play: Play, hooks: list[str], packs: list[str]
) -> None:
    play.scan("start over", FIRST, packs[0], "finish", "start over")
    play.scan(SECOND, "start a use", packs[1])

    answer = play.scan("indicator not turned")

    first = str(play.clinic.vault.find(FIRST))
    assert f"on patient {first}" in says(answer)
    assert answer.doubt == load_of(play, packs[0])
    assert "would be on the list" in says(answer)
    assert case_rows.doubts(play.clinic.store) == []
    assert answer.options == ("opened, not used",)


def test_the_list_that_is_announced_is_the_list_of_a_look_back(play: Play) -> None:
    machine, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.scan(FIRST, hook, "finish", "start over")
    pack = play.sterile_pack(machine, hook)
    play.scan("start over", SECOND, pack, "finish")

    answer = play.scan("indicator not turned")

    assert "1 use on 1 patient would be on the list" in says(answer)


def test_an_instrument_out_of_the_pack_in_use_names_the_pack(
    play: Play, hooks: list[str], packs: list[str]
) -> None:
    play.scan("start over", FIRST, hooks[1])

    answer = play.scan("indicator not turned")

    assert answer.item == packs[1]


def test_word_goes_to_the_manager(play: Play, packs: list[str]) -> None:
    play.scan("start over", packs[1], "indicator not turned")

    jobs = agenda.events(play.clinic.store)
    assert any("did not turn when the pack was opened" in job.payload for job in jobs)


def test_without_a_pack_in_hand_nothing_is_written(play: Play) -> None:
    hook = play.add("hook")

    assert play.scan("indicator not turned").tone == "no"
    assert play.scan(hook, "indicator not turned").tone == "no"


def test_told_twice_it_is_written_once(play: Play, packs: list[str]) -> None:
    play.scan("start over", packs[1], "indicator not turned")

    assert play.scan("start over", packs[1], "indicator not turned").tone == "no"
    told = [one.fact for one in told_about(play.clinic.store, packs[1])]
    assert sum(isinstance(one, facts.IndicatorNotTurned) for one in told) == 1


def test_a_pack_without_a_load_stops_by_itself(play: Play) -> None:
    hook = play.add("hook")
    play.cleaned(hook)
    pack = play.packed(hook)

    answer = play.scan("start over", pack, "indicator not turned")

    assert "only this pack is stopped" in says(answer)
    assert answer.doubt == ""
    assert held(play) == {}


def test_it_stands_in_the_logbook_of_its_load(play: Play, packs: list[str]) -> None:
    play.scan("start over", packs[1], "indicator not turned")

    told = [one.fact for one in told_about(play.clinic.store, load_of(play, packs[1]))]

    assert any(isinstance(one, facts.IndicatorNotTurned) for one in told)
