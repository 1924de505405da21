"""“Enough for tomorrow?” asked of a small clinic: what counts, what is left out, what it says."""

from datetime import date, timedelta

import msgspec
import pytest

from equip.desk.act.act import Refused, acting
from equip.desk.planning import tomorrow
from equip.desk.register import items, procedures
from equip.store.fold import rebuild
from equip.store.readings import clinic_rows
from tests.support.playing import Play

HOURS = tomorrow.Hours("08:00", "18:00", "1")


def defined(play: Play, *needs: tuple[str, int], name: str = "One ear") -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        procedures.define(act, name, 15, needs or [("hook", 1)])


def asked(play: Play, typed: str, days: int = 1, hours: tomorrow.Hours = HOURS) -> tomorrow.DayPlan:
    now = play.clock.now
    day = play.clinic.house.today(now) + timedelta(days=days)
    return tomorrow.plan(play.clinic, now, typed, day, hours)


def steriliser(play: Play) -> str:
    """A vacuum steriliser whose loads take 40 min and hold two things."""
    kind = play.clinic.house.types["steriliser-vacuum"]
    assert kind.process is not None
    process = msgspec.structs.replace(kind.process, minutes=40, holds=2)
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.define_type(act, msgspec.structs.replace(kind, process=process))
    return play.add("steriliser-vacuum")


def test_one_ready_hook_is_enough_for_one_ear_and_not_for_two_at_once(play: Play) -> None:
    defined(play)
    play.add("hook", "go-live", sealed=True)

    assert asked(play, "09:00 one ear").enough
    short = asked(play, "09:00 one ear\n09:00 one ear")

    assert [(one.at, one.lacks, one.kind, one.line) for one in short.lacks] == [
        ("09:00", 1, "Hook", 2)
    ]
    assert short.extra == (("Hook", 1),)


def test_a_hook_goes_round_between_two_patients_if_the_steriliser_can(play: Play) -> None:
    # Used at 09:00, back 09:15, clean 5 min, inspect 1 min: 09:21. Not full, so it waits 15 min,
    # till 09:36; out at 10:16, in time for 10:30: it may start as late as 09:50. Without waiting
    # it starts at 09:21 and is out at 10:01.
    defined(play)
    play.add("hook", "go-live", sealed=True)
    machine = steriliser(play)

    found = asked(play, "09:00 one ear\n10:30 one ear")

    assert found.enough
    first = found.starts[0]
    assert (first.tag, first.at, first.by, first.out) == (machine, "09:36", "09:50", "10:16")
    assert not asked(play, "09:00 one ear\n10:00 one ear").enough
    assert asked(play, "09:00 one ear\n10:01 one ear").enough
    assert found.assumed == ()


def test_a_pack_counts_whole_with_its_contents_and_they_do_not_count_twice(play: Play) -> None:
    machine = steriliser(play)
    hook, probe = play.add("hook"), play.add("ring-probe")
    play.sterile_pack(machine, hook, probe)
    defined(play, ("hook", 1), ("ring-probe", 1))

    assert asked(play, "09:00 one ear").have == (("Hook", 1, 1, 0), ("Ring probe", 1, 1, 0))
    assert not asked(play, "09:00 one ear\n09:05 one ear").enough


def test_what_is_soiled_is_cleaned_and_keeps_its_day_only(play: Play) -> None:
    # Today's round ends at midnight, for unwrapped it keeps that day only. In the morning it is
    # clean and inspected at 08:06; waiting 15 min it would be out at 09:01, a minute late; with
    # 10 min it starts at 08:16 and is out at 08:56. It may start until 08:20.
    steriliser(play)
    hook = play.add("hook", "go-live", sealed=True)
    defined(play)
    play.scan("123456", "start a use", hook, "finish")

    found = asked(play, "09:00 one ear")

    assert found.enough
    assert found.have == (("Hook", 1, 0, 1),)
    evening, morning = found.starts
    assert evening.at.startswith("today")
    assert evening.by == morning.by == "08:20"
    assert (morning.units, morning.at, morning.by) == ((hook,), "08:16", "08:20")


def test_what_waits_for_its_release_needs_no_other_load(play: Play) -> None:
    machine = steriliser(play)
    hook = play.add("hook")
    defined(play)
    play.cleaned(hook)
    play.run(machine, play.packed(hook))

    found = asked(play, "09:00 one ear")

    assert found.enough
    assert found.starts == ()


def test_what_a_failed_load_held_goes_in_again(play: Play) -> None:
    machine = steriliser(play)
    hook = play.add("hook")
    defined(play)
    play.cleaned(hook)
    pack = play.packed(hook)
    play.run(machine, pack, hold_s=100)

    found = asked(play, "09:00 one ear")

    assert found.enough
    assert found.starts[0].units == (pack,)


def test_what_is_kept_back_is_left_out_and_named(play: Play) -> None:
    hook = play.add("hook", "go-live", sealed=True)
    defined(play)
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.quarantine(act, hook, "a burr at the tip", "clean-it-now")

    found = asked(play, "09:00 one ear")

    assert not found.enough
    assert "a burr at the tip" in found.left_out[0]


def test_without_a_steriliser_a_soiled_hook_never_comes_back_and_the_page_says_why(
    play: Play,
) -> None:
    hook = play.add("hook", "go-live", sealed=True)
    defined(play)
    play.scan("123456", "start a use", hook, "finish")

    found = asked(play, "09:00 one ear")

    assert found.lacks[0].next_at == ""
    assert "no machine here can sterilise it" in found.left_out[0]


def test_a_machine_nobody_timed_is_named_as_assumed(play: Play) -> None:
    play.add("steriliser-vacuum")
    play.add("hook", "go-live", sealed=True)
    defined(play)

    assert asked(play, "09:00 one ear").assumed == ("Bench steriliser with vacuum",)


def test_a_line_that_cannot_be_read_stops_the_answer_and_is_named(play: Play) -> None:
    defined(play)

    found = asked(play, "09:00 one ear\nsomething")

    assert [one.number for one in found.unread] == [2]
    assert found.lines == 1


@pytest.mark.parametrize(
    ("hours", "says"),
    [
        (tomorrow.Hours("18:00", "08:00", "1"), "must end later"),
        (tomorrow.Hours("soon", "18:00", "1"), "write a time of day"),
        (tomorrow.Hours("08:00", "18:00", "many"), "no number of people"),
        (tomorrow.Hours("08:00", "18:00", "99"), "20 is the most"),
    ],
)
def test_hours_that_cannot_be_are_refused_with_what_to_do(
    play: Play, hours: tomorrow.Hours, says: str
) -> None:
    with pytest.raises(Refused, match=says):
        asked(play, "09:00 one ear", hours=hours)


def test_an_empty_list_and_a_far_day_are_refused(play: Play) -> None:
    with pytest.raises(Refused, match="empty"):
        asked(play, " \n")
    with pytest.raises(Refused, match="14 days"):
        asked(play, "09:00 one ear", days=15)


def test_a_list_for_today_leaves_out_what_is_over(play: Play) -> None:
    defined(play)

    assert "is over" in asked(play, "00:01 one ear", days=0).unread[0].says


def test_a_procedure_is_changed_by_its_name_and_folded_the_same_again(play: Play) -> None:
    defined(play)
    defined(play, ("hook", 2), name="One  EAR")

    found = clinic_rows.procedures(play.clinic.store)

    assert [(one.code, one.name, one.needs[0].count) for one in found] == [
        ("one-ear", "One EAR", 2)
    ]
    rebuild.rebuild(play.clinic.store)
    assert clinic_rows.procedures(play.clinic.store) == found


@pytest.mark.parametrize(
    ("name", "minutes", "needs", "says"),
    [
        ("", 15, [("hook", 1)], "needs a name"),
        ("Nose", 0, [("hook", 1)], "from 1 to 600"),
        ("Nose", 15, [], "needs nothing"),
        ("Nose", 15, [("washer", 1)], "no type that a procedure can need"),
        ("Nose", 15, [("hook", 1), ("hook", 1)], "stands twice"),
        ("Nose", 15, [("hook", 51)], "from 1 to 50"),
    ],
)
def test_a_procedure_that_makes_no_sense_is_refused(
    play: Play, name: str, minutes: int, needs: list[tuple[str, int]], says: str
) -> None:
    with (
        pytest.raises(Refused, match=says),
        acting(play.clinic, by=play.people["manager"]) as act,
    ):
        procedures.define(act, name, minutes, needs)


def test_asking_writes_nothing(play: Play) -> None:
    defined(play)
    play.add("hook", "go-live", sealed=True)
    before = play.clinic.store.one("SELECT count(*) FROM ledger")

    asked(play, "09:00 one ear")

    assert play.clinic.store.one("SELECT count(*) FROM ledger") == before


def test_the_day_is_the_clinics_own(play: Play) -> None:
    defined(play)
    with pytest.raises(Refused, match="from today"):
        tomorrow.plan(play.clinic, play.clock.now, "09:00 one ear", date(2020, 1, 1), HOURS)
