"""What the bench says comes next, after a step and after a release."""

from equip.demo.cycles import washer_log
from equip.desk.act.act import acting
from equip.desk.loads.end import LogFile, end_load
from equip.store.readings import load_rows
from tests.support.playing import Play

ONE = "12345601"


def test_a_released_wash_is_not_put_away_but_goes_on(play: Play) -> None:
    washer, hook = play.add("washer"), play.add("hook", "go-live")
    play.scan("start over", ONE, hook, "finish")
    play.scan("start over", washer, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, washer)
    assert load is not None
    play.clock.passes(minutes=40)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, LogFile(washer_log(1, hold_s=900)), cycle_no="1")

    answer = play.scan("start over", load.load, "release")

    assert answer.word == "Released"
    assert "Put it away" not in answer.next
    assert "sterilise" in answer.next


def test_released_steam_is_put_away(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.cleaned(hook)
    pack = play.packed(hook)
    load = play.run(steriliser, pack)

    answer = play.scan("start over", load, "release")

    assert (answer.word, answer.next) == ("Released", "Put it away: say “store”.")


def test_each_step_names_what_is_left_and_nothing_that_was_done(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("start over", ONE, hook, "finish")

    first = play.scan("clean", hook).next
    second = play.scan("inspect pass", hook).next

    assert ("clean" in first, "sterilise" in first) == (False, True)
    assert second == "Now sterilise."
