"""The start-of-day sheet: what is missing or failed stops a load at its start and at release."""

from datetime import date

import pytest

from equip.desk.act.act import Refused, acting
from equip.desk.machines import sheets
from equip.desk.register import items
from equip.facts import MachineTested, Verdict
from equip.rules.machines.sheet import ahead_of, unrecorded
from equip.store.ledger.about import told_about
from equip.store.post import agenda
from equip.store.readings import item_rows, load_rows, machine_rows
from tests.support.playing import GOOD_LEAK, Play


@pytest.fixture
def play(play: Play) -> Play:
    play.keeps_sheets = False
    return play


def the_sheet(play: Play, machine: str) -> sheets.DaySheet:
    stands = item_rows.standing_of(play.clinic.store, machine)
    assert stands is not None
    process = play.clinic.house.kind(stands.type).process
    assert process is not None
    return sheets.sheet(play.clinic, machine, process, play.clock.now)


def test_of(play: Play, machine: str, test: str, **more: object) -> Verdict:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        return sheets.record(act, machine, test, **more)  # type: ignore[arg-type]


test_of.__test__ = False  # type: ignore[attr-defined]  # a helper, not a test


def states(play: Play, machine: str) -> dict[str, str]:
    return {line.kind.id: line.state for line in the_sheet(play, machine).lines}


def test_a_new_vacuum_steriliser_is_asked_for_every_test_in_order(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")

    assert list(states(play, steriliser).items()) == [
        ("door-seal", "missing"),
        ("automatic-control", "missing"),
        ("leak-rate", "missing"),
        ("steam-penetration", "missing"),
        ("hollow-load", "missing"),
    ]


@pytest.mark.parametrize(
    ("code", "tests"),
    [
        ("steriliser-plain", ["door-seal", "automatic-control"]),
        ("washer", ["spray-arms", "washer-control", "residual-protein", "conductivity"]),
        ("ultrasonic-bath", ["fluid", "bath-protein", "foil"]),
    ],
)
def test_each_sort_of_machine_has_its_own_tests(play: Play, code: str, tests: list[str]) -> None:
    assert list(states(play, play.add(code))) == tests


def test_a_load_does_not_start_while_a_test_is_missing_and_says_which(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.scan(steriliser, hook)

    answer = play.scan("start the load")

    assert answer.tone == "no"
    assert "The steam penetration test has not been done" in answer.what
    load = load_rows.load_on(play.clinic.store, steriliser)
    assert load is not None
    assert load.state == "filling"


def test_a_signed_sheet_lets_the_load_start(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.scan(steriliser, hook)
    play.tested(steriliser)

    assert play.scan("start the load").word == "Started"


def test_a_sheet_that_nobody_signed_stops_the_load(play: Play) -> None:
    plain, hook = play.add("steriliser-plain"), play.add("hook")
    for test in ("door-seal", "automatic-control"):
        test_of(play, plain, test, passed=True)
    play.scan(plain, hook)

    answer = play.scan("start the load")

    assert "sheet of the day is not signed" in answer.what


def test_where_no_signature_is_asked_for_none_is_needed(play: Play) -> None:
    plain, hook = play.add("steriliser-plain"), play.add("hook")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.set_rule(act, "sheet.signed", "false", "one nurse only", date(2026, 1, 1))
    for test in ("door-seal", "automatic-control"):
        test_of(play, plain, test, passed=True)

    assert play.scan(plain, hook, "start the load").word == "Started"


def test_a_sheet_is_not_signed_ahead_of_its_tests(play: Play) -> None:
    plain = play.add("steriliser-plain")

    with (
        pytest.raises(Refused, match="automatic control test"),
        acting(play.clinic, play.people["nurse"]) as act,
    ):
        sheets.sign(act, plain)


def test_the_hollow_load_challenge_is_asked_for_only_where_something_hollow_is_in(
    play: Play,
) -> None:
    steriliser = play.add("steriliser-vacuum")
    hook, tip = play.add("hook"), play.add("suction-tip")
    for test in ("door-seal", "automatic-control", "steam-penetration"):
        test_of(play, steriliser, test, passed=True)
    test_of(play, steriliser, "leak-rate", given=GOOD_LEAK)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        sheets.sign(act, steriliser)
    play.scan(steriliser, hook)

    hollow = play.scan(tip, "start the load")
    solid = play.scan("take out", tip, "start the load")

    assert "hollow-load challenge has not been done" in hollow.what
    assert solid.word == "Started"


def test_a_failed_test_after_the_start_stops_the_release(play: Play) -> None:
    plain, hook = play.add("steriliser-plain"), play.add("hook")
    play.keeps_sheets = True
    load = play.run(plain, hook)
    test_of(play, plain, "automatic-control", passed=False)

    answer = play.scan(load, "release")

    assert answer.tone == "no"
    assert "The automatic control test failed" in answer.what


def test_a_failed_penetration_test_holds_the_unused_stock_and_drags_in_no_patient(
    play: Play,
) -> None:
    steriliser = play.add("steriliser-vacuum")
    used, unused = play.add("hook"), play.add("hook")
    play.keeps_sheets = True
    opened, waiting = play.sterile_pack(steriliser, used), play.sterile_pack(steriliser, unused)
    play.scan("start over", "123456", "start a use", opened, "finish")

    verdict = test_of(play, steriliser, "steam-penetration", passed=False)

    held = {
        tag: bool(stands.quarantines)
        for tag in (used, unused, opened, waiting)
        if (stands := item_rows.standing_of(play.clinic.store, tag))
    }
    assert verdict == "fail"
    assert held == {used: False, unused: True, opened: False, waiting: True}
    assert [job.what for job in agenda.waiting(play.clinic.store)] == ["alert"]


def test_a_test_that_is_only_to_be_repeated_stops_no_load(play: Play) -> None:
    washer = play.add("washer")
    for test in ("spray-arms", "washer-control", "residual-protein"):
        test_of(play, washer, test, passed=True)

    verdict = test_of(play, washer, "conductivity", given={"us_cm": "31"})

    assert verdict == "fail"
    assert the_sheet(play, washer).ready


@pytest.mark.parametrize(("reading", "verdict"), [("30", "pass"), ("30.1", "fail")])
def test_conductivity_is_judged_by_its_limit(play: Play, reading: str, verdict: str) -> None:
    washer = play.add("washer")

    assert test_of(play, washer, "conductivity", given={"us_cm": reading}) == verdict


@pytest.mark.parametrize(
    ("end", "settle", "verdict"),
    [("6.3", "300", "pass"), ("6.31", "300", "fail"), ("6.3", "299", "undecided")],
)
def test_a_leak_rate_is_judged_exactly_at_its_limit(
    play: Play, end: str, settle: str, verdict: str
) -> None:
    steriliser = play.add("steriliser-vacuum")
    given = {"start_kpa": "5.0", "end_kpa": end, "settle_s": settle, "timed_s": "600"}

    got = test_of(play, steriliser, "leak-rate", given=given)

    told = [e.fact for e in told_about(play.clinic.store, steriliser)]
    tested = [fact for fact in told if isinstance(fact, MachineTested)]
    assert got == verdict
    assert tested[0].readings == given
    assert tested[0].rules


def test_a_weekly_test_holds_for_seven_days(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    test_of(play, steriliser, "leak-rate", given=GOOD_LEAK)

    play.clock.passes(days=6)
    on_the_sixth = states(play, steriliser)["leak-rate"]
    play.clock.passes(days=1)
    on_the_seventh = states(play, steriliser)["leak-rate"]

    assert (on_the_sixth, on_the_seventh) == ("passed", "missing")


def test_a_daily_test_is_asked_for_again_after_midnight(play: Play) -> None:
    plain = play.add("steriliser-plain")
    play.clock.now = play.clock.now.replace(hour=23, minute=50)
    test_of(play, plain, "door-seal", passed=True)

    play.clock.passes(minutes=20)

    assert states(play, plain)["door-seal"] == "missing"


@pytest.mark.parametrize(
    ("test", "more", "says"),
    [
        ("steam-penetration", {}, "Say whether"),
        ("leak-rate", {"given": {"start_kpa": "five"}}, "no number"),
        ("leak-rate", {"given": GOOD_LEAK | {"timed_s": "0"}}, "above 0 s"),
        ("leak-rate", {"given": GOOD_LEAK | {"settle_s": "-1"}}, "below 0 s"),
        ("foil", {"passed": True}, "no test of this machine"),
        ("door-seal", {}, "Say whether"),
    ],
)
def test_what_makes_no_sense_is_one_sentence(
    play: Play, test: str, more: dict[str, object], says: str
) -> None:
    steriliser = play.add("steriliser-vacuum")

    with pytest.raises(Refused, match=says):
        test_of(play, steriliser, test, **more)


def test_a_failed_test_is_passed_again_when_it_was_repeated(play: Play) -> None:
    plain = play.add("steriliser-plain")
    test_of(play, plain, "door-seal", passed=False)

    test_of(play, plain, "door-seal", passed=True, note="a new seal")

    assert states(play, plain)["door-seal"] == "passed"


def test_a_number_between_two_known_cycles_is_a_cycle_that_nobody_recorded(play: Play) -> None:
    plain, hook = play.add("steriliser-plain"), play.add("hook")
    play.keeps_sheets = True
    play.cycles = 410
    play.run(plain, hook)
    test_of(play, plain, "automatic-control", passed=True, cycle_no="00413")
    play.cycles = 417
    play.run(plain, play.add("ring-probe"))

    known = machine_rows.cycle_numbers(play.clinic.store, plain)

    assert sorted(known) == ["411", "413", "418"]
    assert unrecorded(known) == [(414, 417), (412, 412)]


def test_a_test_cycle_does_not_take_the_number_of_a_load(play: Play) -> None:
    plain, hook = play.add("steriliser-plain"), play.add("hook")
    play.keeps_sheets = True
    play.run(plain, hook)

    with pytest.raises(Refused, match="belongs to load"):
        test_of(play, plain, "automatic-control", passed=True, cycle_no="1")


@pytest.mark.parametrize(
    ("cycle_no", "before"),
    [
        ("413", (412, 412)),
        ("418", (414, 417)),
        ("411", None),
        ("410", None),
        ("", None),
        ("x", None),
    ],
)
def test_a_cycle_knows_which_unrecorded_ones_ran_right_ahead_of_it(
    cycle_no: str, before: tuple[int, int] | None
) -> None:
    assert ahead_of(["410", "411", "413", "418"], cycle_no) == before
