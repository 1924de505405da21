"""What an act caused goes with it: quarantine, exposure, mail not yet sent. Opened stays opened."""

from datetime import date

import pytest

from equip import facts
from equip.desk.act.act import acting
from equip.desk.act.answer import Answer
from equip.desk.bench import session_scans
from equip.desk.register import items
from equip.store.fold import exposures
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.post import agenda, letters
from equip.store.post.agenda import Job
from equip.store.readings import item_rows, use_rows
from tests.support.playing import Play

ONE, TWO, THREE = "12345601", "12345602", "12345603"


def says(answer: Answer) -> str:
    return " ".join(one.says for one in answer.reasons)


def held(play: Play, item: str) -> list[str]:
    stands = item_rows.standing_of(play.clinic.store, item)
    assert stands is not None
    return [kept.why.code for kept in stands.quarantines]


def waiting(play: Play, start: str = "") -> list[str]:
    return [
        one.payload
        for one in agenda.waiting(play.clinic.store, 500)
        if one.key.startswith(start) and not one.key.startswith("traceable:")
    ]


def written(play: Play, key: str) -> Job:
    """The event has become a letter to the manager, as the tick writes one."""
    store, now = play.clinic.store, play.clock.now
    with store.writing():
        assert agenda.written_about(store, key, now)
        letter = Job(f"{key}:mo", "alert", "as it was", 0, "mo", "mo@clinic.example", "Alert")
        assert agenda.put_letter(store, letter, now)
    return letter


def alert(play: Play) -> str:
    """The key of the one alert that waits."""
    [key] = [one.key for one in agenda.waiting(play.clinic.store) if one.key.startswith("alert:")]
    return key


@pytest.fixture
def used_unfit(play: Play) -> str:
    hook = play.add("hook")
    assert play.scan("start over", ONE, hook).word == "Used, not fit"
    return hook


# --- quarantine -------------------------------------------------------------------------------


def test_the_quarantine_of_an_unfit_use_is_lifted_with_it_and_the_item_still_goes_round(
    play: Play, used_unfit: str
) -> None:
    assert held(play, used_unfit) == ["used-unfit"]

    answer = play.scan("undo", "undo")

    stands = item_rows.standing_of(play.clinic.store, used_unfit)
    assert stands is not None and stands.uses == 0
    assert held(play, used_unfit) == []
    assert "the quarantine of that act is lifted with it" in says(answer)
    assert "stays used: send it round again" in says(answer)
    assert "soiled" in play.codes(play.scan("start over", "lay up", used_unfit))
    told = [entry.fact for entry in told_about(play.clinic.store, used_unfit)]
    [lifted] = [fact for fact in told if isinstance(fact, facts.QuarantineLifted)]
    assert lifted.reason == "the act that caused it was taken back"
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_what_somebody_else_kept_back_stays_kept_back(play: Play, used_unfit: str) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.quarantine(act, used_unfit, "a burr", "clean-it-now")
    before = set(held(play, used_unfit))

    play.scan("undo", "undo")

    assert set(held(play, used_unfit)) == before - {"used-unfit"}
    assert held(play, used_unfit)


def test_what_was_lifted_already_is_not_lifted_again(play: Play, used_unfit: str) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.lift(act, used_unfit, "looked at")

    play.scan("undo", "undo")

    told = [entry.fact for entry in told_about(play.clinic.store, used_unfit)]
    assert sum(isinstance(fact, facts.QuarantineLifted) for fact in told) == 1


def test_a_mark_that_is_taken_back_leaves_no_quarantine_and_no_mail(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("start over", "lay up", hook, "bent")
    assert held(play, hook) == ["bent"]
    assert len(waiting(play)) == 1

    play.scan("undo", "undo")

    assert held(play, hook) == []
    assert waiting(play) == []
    assert play.scan("start over", "lay up", hook).tone == "yes"


def test_whoever_was_hurt_is_not_unhurt(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("start over", ONE, hook, "I was hurt")

    answer = play.scan("undo", "undo")

    assert held(play, hook) == ["hurt"]
    assert "Its quarantine stands: somebody was hurt by it" in says(answer)
    assert len(waiting(play, "alert:")) == 1


def test_a_pack_whose_indicator_was_told_stays_opened_and_the_load_stays_kept_back(
    play: Play,
) -> None:
    steriliser, hooks = play.add("steriliser-vacuum"), [play.add("hook") for _ in range(2)]
    play.cleaned(*hooks)
    packs = [play.packed(hook) for hook in hooks]
    play.released(steriliser, *packs)
    play.scan("start over", "lay up", packs[0], "indicator not turned")

    answer = play.scan("undo", "undo")

    assert "stays opened: pack its contents anew" in says(answer)
    assert "pack-spoilt" in play.codes(play.scan("start over", "lay up", packs[0]))
    assert held(play, packs[1]) == ["indicator-not-turned"]
    assert waiting(play, "alert:")


def test_a_failed_check_leaves_no_quarantine_unless_another_failed_since(play: Play) -> None:
    play.keeps_checks = False
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.set_rule(act, "check.vacuum.failed", "quarantine", "policy", date(2026, 3, 4))
    pump = play.add("suction-pump")
    play.scan("check", pump, session_scans.NOT_GOOD)
    assert held(play, pump) == ["check-failed"]
    play.scan("start over", "check", pump, session_scans.NOT_GOOD, at="bench 2")

    stands = play.scan("undo", "undo")

    assert "Its quarantine stands" in says(stands)
    assert held(play, pump) == ["check-failed"]


# --- word to the manager ----------------------------------------------------------------------


def test_of_an_unfit_use_the_manager_hears_once_and_that_it_was_taken_back(
    play: Play, used_unfit: str
) -> None:
    play.scan("undo", "undo")

    [told] = waiting(play)
    assert "was used although it was not fit" in told
    assert told.endswith("Nell Ash took back what was told of this.")


def test_a_letter_that_waits_is_called_off_and_the_outbox_says_why(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("start over", "lay up", hook, "bent")
    letter = written(play, alert(play))

    play.scan("undo", "undo")

    assert waiting(play) == []
    kept = agenda.letter_of(play.clinic.store, letter.key)
    assert kept is not None and kept.withdrawn == play.clock.now
    assert kept.error == "Called off: Nell Ash took back what was told of this."


@pytest.mark.parametrize("so_far", ["has left", "is being sent", "may have arrived"])
def test_of_a_letter_that_left_or_may_have_it_is_told_that_it_was_taken_back(
    play: Play, so_far: str
) -> None:
    hook = play.add("hook", "go-live")
    play.scan("start over", "lay up", hook, "bent")
    letter = written(play, alert(play))
    store = play.clinic.store
    with store.writing():
        match so_far:
            case "has left":
                store.run("UPDATE agenda SET sent = 1 WHERE key = ?", letter.key)
            case "is being sent":
                until = facts.micros(play.clock.now) + 10**9
                store.run("UPDATE agenda SET claimed_until = ? WHERE key = ?", until, letter.key)
            case _:
                store.run("UPDATE agenda SET unsure = 1 WHERE key = ?", letter.key)

    play.scan("undo", "undo")

    told = [text for text in waiting(play) if "took back" in text]
    assert len(told) == 1 and "was marked “bent”" in told[0]
    kept = agenda.letter_of(store, letter.key)
    assert kept is not None and (kept.withdrawn is not None) == (so_far == "may have arrived")


def test_calling_off_one_act_leaves_the_letters_of_one_whose_name_begins_alike(play: Play) -> None:
    store, now = play.clinic.store, play.clock.now
    with store.writing():
        for key in ("alert:a:1", "alert:a:10", "alert:a_:1"):
            agenda.put(store, key, now, "alert", key)
        assert not letters.call_off(store, "alert:a:1", now, "Called off.")

    assert [one.key for one in agenda.waiting(store)] == ["alert:a:10", "alert:a_:1"]


def test_an_event_that_was_called_off_becomes_no_letter(play: Play) -> None:
    store, now = play.clinic.store, play.clock.now
    with store.writing():
        agenda.put(store, "alert:a:0", now, "alert", "bent")
        letters.call_off(store, "alert:a:0", now, "Called off.")

        assert agenda.events(store) == []
        assert not agenda.written_about(store, "alert:a:0", now)


# --- exposure ---------------------------------------------------------------------------------


def _open(play: Play) -> int:
    return exposures.tallies(play.clinic.store).get("open", 0)


def _reused(play: Play, *patients: str) -> str:
    hook = play.add("hook", "go-live")
    for patient in patients:
        play.scan("start over", patient, hook)
    return hook


def test_an_exposure_goes_with_the_use_and_nobody_is_told_of_it(play: Play) -> None:
    hook = _reused(play, ONE, TWO)
    assert _open(play) == 1
    assert len(waiting(play, "exposed-now:")) == 1

    play.scan("undo", "undo")

    assert _open(play) == 0
    assert waiting(play, "exposed-now:") == []
    assert len(use_rows.touches_of(play.clinic.store, hook)) == 1
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_one_that_others_count_beside_is_told_anew_with_what_is_left(play: Play) -> None:
    first = play.add("hook", "go-live")
    second = _reused(play, ONE)
    play.scan("start over", ONE, first, "start over", TWO, first)
    play.scan("start over", THREE, second, at="bench 2")
    assert _open(play) == 2

    play.scan("undo", "undo")

    assert _open(play) == 1
    [told] = waiting(play, "exposed-now:")
    assert told.startswith("1 use is exposed now")
    assert second[1:5] in told and f"{first[1:5]} {first[5:9]}" not in told


def test_where_the_letter_had_left_it_is_told_that_nothing_is_exposed_any_more(play: Play) -> None:
    _reused(play, ONE, TWO)
    [key] = [
        one.key for one in agenda.waiting(play.clinic.store) if one.key.startswith("exposed-now:")
    ]
    letter = written(play, key)
    with play.clinic.store.writing():
        play.clinic.store.run("UPDATE agenda SET sent = 1 WHERE key = ?", letter.key)

    play.scan("undo", "undo")

    assert waiting(play, "exposed-now:") == [
        "What was told to be exposed was taken back: no use is exposed now."
    ]


def test_a_machine_that_patients_share_is_no_less_fit_than_its_use_had_left_it(play: Play) -> None:
    irrigator = play.add("irrigator")
    play.checked(irrigator)
    play.scan("start over", ONE, irrigator, "undo", "undo")

    assert use_rows.touches_of(play.clinic.store, irrigator) == []
    assert play.scan("start over", "lay up", irrigator).tone == "yes"


# --- opened stays opened ----------------------------------------------------------------------


def test_a_lot_that_was_opened_for_it_stays_opened(play: Play) -> None:
    scope = play.add("scope-wiped", "go-live")
    play.scan("start over", "disinfect", play.wipes(), scope)

    answer = play.scan("undo", "undo")

    assert "stays opened" in says(answer)
