"""The manager hears at once of what is exposed and what cannot be traced: once, and naming what."""

from datetime import timedelta

import pytest

from equip.desk.bench import scanning
from equip.desk.past.bring_in import bring_in
from equip.desk.past.file import read_past
from equip.store.fold import exposures
from equip.store.post import agenda
from tests.support.playing import Play
from tests.support.stopped import NOON

HEAD = "when,what,item,patient,load,machine,programme,result,who,ear,note\n"


def alerts(play: Play, start: str) -> list[agenda.Letter]:
    return [one for one in agenda.waiting(play.clinic.store, 500) if one.key.startswith(start)]


def called_off(play: Play, start: str) -> list[agenda.Letter]:
    return [one for one in agenda.withdrawn(play.clinic.store) if one.key.startswith(start)]


def exposed(play: Play) -> int:
    return exposures.tallies(play.clinic.store).get("open", 0)


@pytest.fixture
def hooks(play: Play) -> list[str]:
    """Three hooks that went through everything, in packs of their own."""
    steriliser = play.add("steriliser-vacuum")
    tags = [play.add("hook") for _ in range(3)]
    for tag in tags:
        play.sterile_pack(steriliser, tag)
    return tags


def reuse(play: Play, hook: str, first: str, then: str) -> None:
    """The same hook on two patients, with nothing done in between."""
    play.scan("start over", first, hook, "finish", "start over", then, hook)


def test_exposed_now_leaving_nought_is_told_once_and_names_the_thing_only(
    play: Play, hooks: list[str]
) -> None:
    reuse(play, hooks[0], "123456", "654321")
    reuse(play, hooks[1], "111111", "222222")

    told = alerts(play, "exposed-now:")
    assert exposed(play) == 2
    assert len(told) == 1
    row = play.clinic.store.one("SELECT payload FROM agenda WHERE key = ?", told[0].key)
    assert row is not None
    payload = str(row[0])
    assert "1 use is exposed now" in payload
    assert f"{hooks[0][:1]} {hooks[0][1:5]}" in payload
    tokens = [play.clinic.vault.find(one) for one in ("123456", "654321")]
    assert not any(str(secret) in payload for secret in ("123456", "654321", *tokens))
    assert "\n" not in payload


def test_once_it_was_nought_again_the_next_exposure_is_told_anew(
    play: Play, hooks: list[str]
) -> None:
    reuse(play, hooks[0], "123456", "654321")
    play.scan("undo", "undo")
    assert exposed(play) == 0

    reuse(play, hooks[1], "111111", "222222")

    assert exposed(play) == 1
    assert len(alerts(play, "exposed-now:")) == 1
    assert len(called_off(play, "exposed-now:")) == 1


def test_an_act_that_is_sent_again_alarms_no_second_time(play: Play, hooks: list[str]) -> None:
    play.scan("start over", "123456", hooks[0], "finish", "start over", "654321")
    play.reply(hooks[0], act="scan-again-1")
    play.reply(hooks[0], act="scan-again-1")

    assert len(alerts(play, "exposed-now:")) == 1


def test_a_clinic_that_works_well_hears_nothing(play: Play, hooks: list[str]) -> None:
    for number, hook in enumerate(hooks):
        play.scan("start over", f"12345{number}", hook, "finish")

    assert exposed(play) == 0
    assert alerts(play, "exposed-now:") == []
    assert alerts(play, "traceable:") == []


def test_a_falling_share_is_told_once_a_day_while_it_has_not_come_back(
    play: Play, hooks: list[str]
) -> None:
    play.scan("start over", "123456", hooks[0], "finish")
    untraced = [play.add("hook", "go-live") for _ in range(3)]

    play.scan("start over", "654321", untraced[0], "finish")
    play.scan("start over", "111111", untraced[1], "finish")
    assert len(alerts(play, "traceable:")) == 1

    play.clock.passes(days=1)
    play.scan("start over", "222222", untraced[2], "finish")
    assert len(alerts(play, "traceable:")) == 2


def test_a_share_that_came_back_is_told_anew_on_the_same_day(play: Play, hooks: list[str]) -> None:
    play.scan("start over", "123456", hooks[0], "finish")
    first, second = play.add("hook", "go-live"), play.add("hook", "go-live")
    play.scan("start over", "654321", first, "undo", "undo")
    assert exposures.tallies(play.clinic.store).get("gaps", 0) == 0

    play.scan("start over", "111111", second, "finish")

    assert len(alerts(play, "traceable:")) == 1
    assert len(called_off(play, "traceable:")) == 1


def test_the_past_brought_in_alarms_nobody_and_what_comes_after_does(play: Play) -> None:
    at = (NOON - timedelta(days=9)).isoformat()
    data = (
        HEAD + f"{at},use,hook old,900001,,,,,,,hook\n"
        f"{(NOON - timedelta(days=8)).isoformat()},use,hook old,900002,,,,,,,hook\n"
    ).encode()
    found = read_past(data)
    assert not found.problems
    bring_in(play.clinic, found.rows, data, "old.csv")

    assert exposed(play) == 1
    assert alerts(play, "") == []


def test_the_nurse_is_told_of_an_exposure_in_the_answer_to_the_scan_that_makes_it(
    play: Play, hooks: list[str]
) -> None:
    play.scan("start over", "123456", hooks[0], "finish", "start over", "654321")

    answer = play.scan(hooks[0])

    assert answer.tone == "no"
    assert answer.reasons[0].code == "exposed"
    assert "may have been exposed to an earlier patient" in answer.reasons[0].says
    assert "practice manager" in answer.next
    assert "123456" not in str(answer)


def test_the_same_patient_again_is_no_exposure_and_the_answer_says_none(
    play: Play, hooks: list[str]
) -> None:
    play.scan("start over", "123456", hooks[0], "finish", "start over", "123456")

    assert "exposed" not in play.codes(play.scan(hooks[0]))


def test_a_use_told_late_that_was_an_exposure_turns_the_whole_answer(
    play: Play, hooks: list[str]
) -> None:
    play.scan("start over", "123456", hooks[0], "finish")
    between = play.clock.now + timedelta(minutes=5)
    steriliser = play.add("steriliser-vacuum")
    play.clock.passes(minutes=30)
    play.sterile_pack(steriliser, hooks[0])
    late = [("late-scan-1", "654321", between), ("late-scan-2", hooks[0], between)]

    for act, text, at in late:
        order = scanning.Scan(act, "bench 2", text, at=at)
        answer = scanning.scan(play.clinic, order, play.people["nurse"]).answer

    assert (answer.tone, play.codes(answer)[0]) == ("no", "exposed")
    assert exposed(play) == 1
    assert len(alerts(play, "exposed-now:")) == 1
