"""A session belongs to a room: it ends there alone, not under a patient, and says what is left."""

from datetime import date, timedelta

import pytest

from equip import facts
from equip.desk.act.act import acting
from equip.desk.bench import session_acts
from equip.desk.bench.session_today import checks_of
from equip.desk.register import items
from equip.desk.upkeep import duty_acts
from equip.facts import ChecksOver
from equip.store.fold import rebuild
from equip.store.ledger.about import told_about
from tests.support.playing import Play

ONE, TWO = "bench 1", "bench 2"


@pytest.fixture
def rooms(play: Play) -> Play:
    """Two rooms, each with the bench that works in it; nobody checks anything by themselves."""
    play.keeps_checks = False
    with acting(play.clinic, by=play.people["manager"]) as act:
        play.places["room 2"] = items.add_place(act, "Room 2", "clinical")
    play.scan(play.places["room"], at=ONE)
    play.scan(play.places["room 2"], at=TWO)
    return play


def checked(play: Play, at: str, place: str = "") -> str:
    """A suction pump that was checked at a bench; its tag."""
    pump = play.add("suction-pump", place=place)
    play.scan("check", pump, "60", "start over", at=at)
    return pump


def in_force(play: Play, item: str) -> bool:
    found = checks_of(play.clinic, item, play.clock.now)
    assert found is not None
    return found.ready


def ended(play: Play, item: str) -> list[facts.Fact]:
    every = (entry.fact for entry in told_about(play.clinic.store, item))
    return [fact for fact in every if isinstance(fact, ChecksOver)]


def lines(play: Play, *texts: str, at: str = ONE) -> list[str]:
    return [why.says for why in play.scan(*texts, at=at).reasons]


# --- whose session ------------------------------------------------------------------------------


def test_one_bench_ends_its_session_and_the_checks_of_the_other_room_stand(rooms: Play) -> None:
    here = checked(rooms, ONE, rooms.places["room"])
    there = checked(rooms, TWO, rooms.places["room 2"])

    answer = rooms.scan("session over", at=ONE)

    assert answer.what == "The session in Room 1 has ended."
    assert (in_force(rooms, here), in_force(rooms, there)) == (False, True)
    assert rooms.scan("lay up", there, at=TWO).tone == "yes"
    assert rooms.codes(rooms.scan("lay up", here, at=TWO)) == ["check-missing"]
    assert rooms.scan("start over", "session over", at=TWO).what.startswith("The session in Room 2")
    assert not in_force(rooms, there)
    assert rebuild.differences(rooms.clinic.store, rooms.clinic.settings.data) == []


def test_what_nobody_placed_belongs_to_the_room_in_which_it_was_checked(rooms: Play) -> None:
    here, there = checked(rooms, ONE), checked(rooms, TWO)

    said = lines(rooms, "session over")

    assert (in_force(rooms, here), in_force(rooms, there)) == (False, True)
    assert any("Nobody said where it stands." in one for one in said)


def test_what_stands_in_another_room_is_that_rooms_wherever_it_was_checked(rooms: Play) -> None:
    pump = checked(rooms, ONE, rooms.places["room 2"])

    rooms.scan("session over", at=ONE)
    assert in_force(rooms, pump)
    rooms.scan("session over", at=TWO)
    assert not in_force(rooms, pump)


def test_what_was_checked_on_the_page_and_placed_nowhere_is_checked_again(rooms: Play) -> None:
    """Nobody can tell its room: less that is known never leaves a check in force."""
    pump = rooms.add("suction-pump")
    with acting(rooms.clinic, by=rooms.people["nurse"]) as act:
        session_acts.record(act, pump, "vacuum", good=True, read="60")

    rooms.scan("session over", at=TWO)

    assert not in_force(rooms, pump)


def test_a_bench_whose_room_nobody_knows_ends_every_session_and_says_so(rooms: Play) -> None:
    pumps = [checked(rooms, ONE, rooms.places["room"]), checked(rooms, TWO), checked(rooms, "x")]

    answer = rooms.scan("session over", at="bench 3")

    assert answer.what == (
        "The session has ended in every room: nobody scanned which room this bench is in."
    )
    assert [in_force(rooms, pump) for pump in pumps] == [False] * 3


def test_what_a_bench_without_a_room_checked_is_not_ended_by_a_room(rooms: Play) -> None:
    pump = checked(rooms, "bench 3")

    rooms.scan("session over", at=ONE)

    assert in_force(rooms, pump)


def test_a_shelf_that_was_scanned_to_put_things_away_is_no_room(rooms: Play) -> None:
    pump = checked(rooms, ONE, rooms.places["shelf"])

    answer = rooms.scan(rooms.places["shelf"], "session over", at=ONE)

    assert (answer.tone, answer.what) == ("no", "Shelf is no room with a session.")
    assert in_force(rooms, pump)


def test_the_end_of_a_session_taken_back_lets_the_checks_of_its_room_hold_again(
    rooms: Play,
) -> None:
    pump = checked(rooms, ONE, rooms.places["room"])

    rooms.scan("session over", "undo", "undo", at=ONE)

    assert in_force(rooms, pump)


# --- not under a patient ------------------------------------------------------------------------


def test_no_session_ends_while_a_patient_is_open(rooms: Play) -> None:
    pump = checked(rooms, ONE, rooms.places["room"])

    patient = rooms.reply("DEMO-77001", at=ONE).context.patient
    for before in ("DEMO-77001", "start a use", pump):
        rooms.scan(before, at=ONE)
        reply = rooms.reply("session over", at=ONE)
        assert (reply.answer.tone, reply.answer.word) == ("no", "Not yet")
        assert rooms.codes(reply.answer) == ["patient-open"]
        assert reply.context.patient == patient
    assert (in_force(rooms, pump), ended(rooms, pump)) == (True, [])

    assert rooms.scan("finish", "session over", at=ONE).what == "The session in Room 1 has ended."


def test_nor_while_one_is_open_at_another_bench_of_the_room(rooms: Play) -> None:
    pump = checked(rooms, ONE, rooms.places["room"])
    rooms.scan(rooms.places["room"], "DEMO-77001", at="trolley")

    refused = rooms.scan("session over", at=ONE)

    assert refused.word == "Not yet"
    assert refused.reasons[0].says == "A patient is in hand at trolley."
    assert in_force(rooms, pump)
    rooms.scan("start over", at="trolley")
    assert rooms.scan("session over", at=ONE).word == "Over"


def test_a_patient_in_another_room_is_no_reason_but_where_every_session_would_end(
    rooms: Play,
) -> None:
    pump = checked(rooms, ONE, rooms.places["room"])
    rooms.scan("DEMO-77001", at=TWO)

    assert rooms.scan("session over", at="bench 3").word == "Not yet"
    assert in_force(rooms, pump)
    assert rooms.scan("session over", at=ONE).word == "Over"


def test_a_patient_whom_nobody_finished_keeps_no_session_open_for_ever(rooms: Play) -> None:
    rooms.scan(rooms.places["room"], "DEMO-77001", at="trolley")
    checked(rooms, ONE, rooms.places["room"])
    assert rooms.scan("session over", at=ONE).word == "Not yet"

    rooms.clock.passes(minutes=21)

    assert rooms.scan("session over", at=ONE).word == "Over"


# --- what is left -------------------------------------------------------------------------------


def test_what_was_used_in_the_room_is_named_with_the_time_since_when(rooms: Play) -> None:
    mine, other = rooms.add("scope-wiped", "go-live"), rooms.add("scope-wiped", "go-live")
    rooms.checked(mine, other)
    rooms.scan("DEMO-77001", "start a use", mine, "finish", "start over", at=ONE)
    rooms.scan("DEMO-77002", "start a use", other, "finish", "start over", at=TWO)
    rooms.clock.passes(minutes=30)

    answer = rooms.scan("session over", at=ONE)

    (soiled,) = [why.says for why in answer.reasons if why.says.startswith("Soiled: ")]
    assert f"{mine[1:5]} {mine[5:9]}" in soiled
    assert f"{other[1:5]} {other[5:9]}" not in soiled
    assert soiled.endswith(" since 12:00.")
    assert (answer.tone, answer.next) == ("warn", "See to what is left, or hand it over.")


def test_what_is_half_way_round_is_in_process_and_what_is_done_is_named_no_more(
    rooms: Play,
) -> None:
    hook = rooms.add("hook", "go-live")
    rooms.scan("DEMO-77001", hook, "finish", "start over", "clean", hook, "start over", at=ONE)

    said = lines(rooms, "session over")
    assert [one.split(":")[0] for one in said] == ["In process"]

    rooms.sterile_pack(rooms.add("steriliser-vacuum"), hook)
    again = rooms.scan("start over", rooms.places["room"], "session over", at=ONE)
    assert (again.tone, again.next) == ("note", "Nothing is left unfinished.")
    assert again.what == "No check is in force in Room 1 that could end."


def test_a_pack_of_untagged_tips_that_was_opened_is_left_until_it_is_in_the_wash(
    rooms: Play,
) -> None:
    kind, pack = rooms.clinic.house.types["fine-tip"], rooms.fresh_pack()
    rooms.scan("start over", "pack", kind.card, "clean", pack)
    rooms.released(rooms.add("steriliser-vacuum"), pack)
    rooms.scan(rooms.places["room"], "DEMO-77001", pack, "finish", "start over", at=ONE)

    left = lines(rooms, "session over")
    rooms.scan("clean", pack, "start over", at=ONE)

    assert [one.split(":")[0] for one in left] == ["Soiled"]
    assert f"{pack[1:5]} {pack[5:9]}" in left[0]
    assert lines(rooms, "session over") == []


def test_loads_that_wait_are_named_with_what_they_wait_for(rooms: Play) -> None:
    machine, hook = rooms.add("steriliser-vacuum"), rooms.add("hook", "go-live")
    rooms.scan("DEMO-77001", hook, "finish", at=ONE)
    rooms.cleaned(hook)
    pack = rooms.packed(hook)
    rooms.scan("start over", machine, pack)
    filling = lines(rooms, rooms.places["room"], "session over", at=TWO)
    rooms.scan("start over")
    passed = rooms.run(machine, pack)

    judged = lines(rooms, "start over", rooms.places["room"], "session over")

    assert any(" is being filled since " in one for one in filling)
    assert [passed[1:5] in one for one in judged if " has passed and is to be released" in one] == [
        True
    ]
    assert len(judged) == 1
    rooms.scan(passed, "release")
    assert lines(rooms, "start over", rooms.places["room"], "session over") == []


def test_a_missing_piece_is_named_until_it_is_found(rooms: Play) -> None:
    with acting(rooms.clinic, by=rooms.people["manager"]) as act:
        tray = items.add_item(act, act.house.types["set"], "go-live")
        hook = items.add_item(act, act.house.types["hook"], "go-live")
    with acting(rooms.clinic, by=rooms.people["manager"]) as act:
        items.join(act, tray, hook)
    rooms.scan(tray, "missing", hook, at=TWO)

    said = lines(rooms, "start over", rooms.places["room"], "session over")

    assert any("is missing from set" in one and " since " in one for one in said)


# --- a machine that is out of use, or overdue ---------------------------------------------------


def test_a_check_of_a_machine_in_quarantine_says_so_in_the_same_breath(rooms: Play) -> None:
    pump = rooms.add("suction-pump", place=rooms.places["room"])
    with acting(rooms.clinic, by=rooms.people["manager"]) as act:
        act.tell(
            facts.Quarantined,
            item=pump,
            why=facts.Told(code="fault", says="it smells of smoke"),
        )

    question = rooms.scan("check", pump, at=ONE)
    done = rooms.scan("60", at=ONE)

    for answer in (question, done):
        assert (answer.tone, answer.reasons[0].code) == ("warn", "quarantined")
        assert "smells of smoke" in answer.reasons[0].says
    assert done.word == "Checked"
    assert done.next == "Its checks are good, and the reasons above stand: see to them first."
    found = checks_of(rooms.clinic, pump, rooms.clock.now)
    assert found is not None
    assert found.ready
    assert ["smells of smoke" in says for says in found.against] == [True]


@pytest.mark.parametrize("grounds", [True, False])
def test_a_check_of_a_machine_that_is_overdue_says_so_and_whether_it_may_be_used(
    rooms: Play, *, grounds: bool
) -> None:
    pump = rooms.add("suction-pump")
    due(rooms, pump, rooms.clock.now.date() - timedelta(days=40), grounds=grounds)

    question = rooms.scan("check", pump, at=ONE)
    failed = rooms.scan("not good", at=ONE)

    assert rooms.codes(failed) == ["check-failed", "service-overdue"]
    assert question.tone == "warn"
    says = question.reasons[0].says
    assert says.startswith("Service has been due since ")
    assert says.endswith("It may be used all the same.") is not grounds


def due(play: Play, item: str, first: date, *, grounds: bool) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, item, "service", first, every_months=12, grounds=grounds)
