"""What ran out is told at the next scan, and that scan is written down for nobody."""

from datetime import timedelta

import pytest

from equip import facts
from equip.store.ledger.about import told_about
from equip.store.readings import use_rows
from tests.support.playing import Play

ONE, TWO = "12345601", "12345602"


def met(play: Play, tag: str) -> list[str]:
    touched = use_rows.touches_of(play.clinic.store, tag)
    return [play.clinic.vault.reveal(one.patient) for one in touched]


def who_told(play: Play, tag: str, kind: type[facts.Fact]) -> list[str]:
    told = told_about(play.clinic.store, tag)
    names = {tag: role for role, tag in play.people.items()}
    return [names[one.fact.by] for one in told if isinstance(one.fact, kind)]


@pytest.mark.parametrize("start", [(), ("start a use",)])
def test_a_use_that_ran_out_says_so_and_writes_nothing(play: Play, start: tuple[str, ...]) -> None:
    hooks = [play.add("hook", "go-live") for _ in range(2)]
    play.scan(ONE, *start, hooks[0])
    ended = play.clock.now + timedelta(minutes=20)
    play.clock.passes(minutes=25)
    before = len(told_about(play.clinic.store, hooks[1]))

    answer = play.scan(hooks[1])

    clock = ended.astimezone(play.clinic.house.zone).strftime("%H:%M")
    assert (answer.tone, answer.word) == ("warn", "Ended")
    assert f"ended at {clock}, after 20 minutes without a scan" in answer.what
    assert play.clinic.vault.reveal(answer.patient) == ONE
    assert len(told_about(play.clinic.store, hooks[1])) == before
    assert play.scan(ONE, hooks[1]).word == "Used"
    assert met(play, hooks[1]) == [ONE]


def test_the_scan_after_that_asks_as_ever(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan(ONE, hook)
    play.clock.passes(minutes=25)

    assert play.scan(hook).word == "Ended"
    assert play.scan(hook).word == "No"
    assert met(play, hook) == [ONE]


def test_another_patient_is_taken_and_told_what_ran_out(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan(ONE, hook)
    play.clock.passes(minutes=25)

    answer = play.scan(TWO)

    assert answer.word == "Patient"
    assert "patient before ended at" in answer.reasons[0].says


def test_a_step_that_ran_out_is_not_taken_for_done(play: Play) -> None:
    hook = play.add("hook")
    play.scan("clean")
    play.clock.passes(minutes=25)

    answer = play.scan(hook)

    assert answer.word == "Ended"
    assert "step: clean" in answer.what
    assert play.scan("clean", hook).word == "Done"


def test_what_waited_for_its_patient_is_told_to_be_nobodys(play: Play) -> None:
    hooks = [play.add("hook", "go-live") for _ in range(2)]
    play.scan(ONE, hooks[0], "finish")
    assert play.scan(hooks[1]).word == "Whose?"
    play.clock.passes(minutes=25)

    answer = play.scan(TWO)

    assert any("no patient was scanned" in reason.says for reason in answer.reasons)
    assert met(play, hooks[1]) == []


def test_a_running_load_is_ended_as_ever_though_its_bench_forgot_it(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.cleaned(hook)
    play.scan("start over", steriliser, play.packed(hook), "start the load")
    play.clock.passes(minutes=50)

    assert play.scan(steriliser).word not in ("Ended", "No")


def test_the_work_of_a_badge_that_ran_out_is_nobodys_until_somebody_says(play: Play) -> None:
    """Nell is signed in, Tam's badge was in hand: what is scanned later is not Nell's."""
    hooks = [play.add("hook") for _ in range(3)]
    play.scan(play.people["trainee"], "clean", hooks[0])
    play.clock.passes(minutes=250)

    answer = play.scan("clean")

    assert (answer.tone, answer.word) == ("no", "Whose work?")
    assert "Tam Birch" in answer.what
    assert "Nell Ash" in answer.next
    assert play.scan(hooks[1]).word == "Whose work?"
    play.scan(play.people["trainee"], "clean", hooks[1])
    assert who_told(play, hooks[1], facts.Stepped) == ["trainee"]


def test_whoever_is_signed_in_may_say_that_they_work_on(play: Play) -> None:
    hook = play.add("hook")
    play.scan(play.people["trainee"], "lay up")
    play.clock.passes(minutes=250)

    play.scan("clean", "go on here", "clean", hook)

    assert who_told(play, hook, facts.Stepped) == ["nurse"]


def test_whoever_signed_in_since_need_not_say_it(play: Play) -> None:
    hook = play.add("hook")
    play.scan(play.people["trainee"], "lay up")
    play.clock.passes(minutes=250)

    play.scan("clean", hook, who="manager")

    assert who_told(play, hook, facts.Stepped) == ["manager"]


def test_a_patient_may_be_scanned_before_anybody_says_it(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan(play.people["trainee"], "lay up")
    play.clock.passes(minutes=250)

    assert play.scan(ONE).word == "Patient"
    assert play.scan(hook).word == "Whose work?"
    assert met(play, hook) == []
