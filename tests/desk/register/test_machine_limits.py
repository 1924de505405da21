"""A machine's own limits: set with its type, judged with its loads, kept with their judgements."""

from decimal import Decimal
from pathlib import Path

import msgspec
import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.cycles import rejudging
from equip.desk.loads.end import LogFile, ReadOff, end_load
from equip.desk.register import items
from equip.facts import Limits, Process, Programme
from equip.rules.cycles.behind import rules_behind
from equip.rules.loads.load import Load
from equip.store.readings import load_rows
from tests.desk.cycles.test_rejudging import TODAY
from tests.support.playing import Play

WASHER = (Path(__file__).parents[2] / "published" / "cycles" / "washer-90.csv").read_bytes()
# Invented, and such that the logs of `demo_cycles` lie within: pulses to 12, drying to 6 kPa.
STEAM = Limits(
    pulses=3,
    vacuum_kpa=Decimal(15),
    steam_kpa=Decimal(100),
    drying_kpa=Decimal(10),
    drying_s=120,
)


def define(play: Play, code: str, **changes: object) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        kind = act.house.types[code]
        assert kind.process is not None
        process = msgspec.structs.replace(kind.process, **changes)
        items.define_type(act, msgspec.structs.replace(kind, process=process))


def load_of(play: Play, tag: str) -> Load:
    load = load_rows.load_of(play.clinic.store, tag)
    assert load is not None
    return load


def codes(load: Load) -> list[str]:
    return [reason.code for reason in load.reasons]


def washed(play: Play, limits: Limits) -> Load:
    define(
        play,
        "washer",
        limits=limits,
        programmes=(Programme(judged_by="thermal-a0-600", hollow=True),),
    )
    machine, hook = play.add("washer"), play.add("hook")
    play.scan("start over", machine, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, LogFile(WASHER), cycle_no="1")
    return load_of(play, load.load)


# --- judged -----------------------------------------------------------------------------------


def test_a_sterilisers_log_is_judged_by_its_own_pulses_and_drying(play: Play) -> None:
    define(play, "steriliser-vacuum", limits=STEAM)
    load = load_of(play, play.run(play.add("steriliser-vacuum"), play.add("hook")))

    assert load.verdict == "pass"
    assert load.figures["pulses"] == "4"
    assert Decimal(load.figures["drying_s"]) >= 120
    kept = {rule.id: (rule.value, rule.unit, rule.basis, rule.source) for rule in load.rules}
    assert kept["machine.vacuum-kpa"] == (
        "15",
        "kPa",
        "maker",
        "the machine's type, as set in Setup",
    )
    assert "machine-limits-not-known" not in codes(load)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"pulses": 5}, "pulses-few"),
        ({"vacuum_kpa": Decimal(8)}, "pulses-few"),
        ({"drying_kpa": Decimal(3)}, "drying-shallow"),
        ({"drying_s": 600}, "drying-short"),
    ],
)
def test_a_limit_that_the_log_misses_fails_the_load(
    play: Play, change: dict[str, object], why: str
) -> None:
    define(play, "steriliser-vacuum", limits=msgspec.structs.replace(STEAM, **change))

    load = load_of(play, play.run(play.add("steriliser-vacuum"), play.add("hook")))

    assert load.verdict == "fail"
    assert codes(load)[0] == why


def test_what_is_not_known_of_a_steriliser_is_remarked_upon_and_nothing_else_changes(
    play: Play,
) -> None:
    load = load_of(play, play.run(play.add("steriliser-vacuum"), play.add("hook")))

    assert load.verdict == "pass"
    assert "machine-limits-not-known" in codes(load)
    assert not [rule for rule in load.rules if rule.id.startswith("machine.")]


def test_a_steriliser_without_vacuum_is_asked_for_no_pulses(play: Play) -> None:
    load = load_of(play, play.run(play.add("steriliser-plain"), play.add("hook")))

    assert "machine-limits-not-known" not in codes(load)


@pytest.mark.parametrize(
    ("limits", "verdict", "why"),
    [
        (Limits(wash_low_c=Decimal(55), wash_high_c=Decimal(65)), "pass", ""),
        (Limits(wash_low_c=Decimal(62)), "fail", "wash-cold"),
        (Limits(flush_high_c=Decimal(35)), "undecided", "flush-not-found"),
    ],
)
def test_a_washers_log_is_judged_by_its_own_flush_and_wash(
    play: Play, limits: Limits, verdict: str, why: str
) -> None:
    load = washed(play, limits)

    assert load.verdict == verdict
    assert not why or codes(load)[0] == why
    assert {rule.id for rule in load.rules} >= {"thermal.steady-s", "a0.floor"}


def test_a_bath_is_judged_by_what_was_typed_of_its_run(play: Play) -> None:
    define(play, "ultrasonic-bath", limits=Limits(run_s=300, bath_high_c=Decimal(40)))
    bath, hook = play.add("ultrasonic-bath"), play.add("hook")
    play.scan("start over", bath, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, bath)
    assert load is not None
    typed = {
        "completed": "yes",
        "run_min": "4",
        "bath_c": "38",
        "degassed": "yes",
        "detergent": "yes",
    }
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, ReadOff(typed), cycle_no="1")

    done = load_of(play, load.load)

    assert done.verdict == "fail"
    assert codes(done)[0] == "run-too-short"
    assert [rule.id for rule in done.rules if rule.basis == "maker"] == [
        "machine.run-s",
        "machine.bath-high-c",
    ]


def typed(play: Play, code: str, limits: Limits, values: dict[str, str]) -> Load:
    define(play, code, limits=limits)
    machine, hook = play.add(code), play.add("hook")
    play.scan("start over", machine, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, ReadOff(values), cycle_no="1")
    return load_of(play, load.load)


TYPED_WASH = {"completed": "yes", "a0_shown": "9000", "flush_c": "30", "detergent": "yes"}


@pytest.mark.parametrize(
    ("limits", "wash", "code", "behind"),
    [
        (Limits(wash_low_c=Decimal(70)), "67", "wash-cold", ["machine.wash-low-c"]),
        (Limits(wash_high_c=Decimal(50)), "52", "wash-hot", ["machine.wash-high-c"]),
        (Limits(wash_low_c=Decimal(70)), "72", "", []),
    ],
)
def test_a_typed_wash_is_judged_by_the_makers_end_alone_where_there_is_one(
    play: Play, limits: Limits, wash: str, code: str, behind: list[str]
) -> None:
    load = typed(play, "washer", limits, {**TYPED_WASH, "wash_c": wash})

    used = [rule.id for rule in load.rules]
    assert not {"washer.wash-coldest-celsius", "washer.wash-hottest-celsius"} & set(used)
    assert "wash-unusual" not in codes(load)
    assert (code in codes(load)) == bool(code)
    assert (load.verdict == "fail") == bool(code)
    assert rules_behind(code, load.programme, used) == behind


def test_a_bath_that_runs_longer_than_is_usual_by_its_maker_names_the_maker_alone(
    play: Play,
) -> None:
    values = {"completed": "yes", "bath_c": "38", "degassed": "yes", "detergent": "yes"}

    load = typed(play, "ultrasonic-bath", Limits(run_s=600), {**values, "run_min": "11"})

    used = [rule.id for rule in load.rules]
    assert load.verdict != "fail"
    assert rules_behind("run-long", load.programme, used) == ["machine.run-s"]
    assert not {"ultrasonic.shortest-minutes", "ultrasonic.longest-minutes"} & set(used)


def test_typed_values_of_a_steriliser_name_no_limit_that_only_its_log_can_show(play: Play) -> None:
    values = {"lowest_c": "134.4", "highest_c": "135.1", "hold_min": "3.5", "completed": "yes"}

    load = typed(play, "steriliser-vacuum", STEAM, values)

    assert not [rule.id for rule in load.rules if rule.id.startswith("machine.")]


def test_stored_cycles_judged_again_meet_the_limits_that_were_set_since(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    load = play.run(steriliser, play.add("hook"))
    define(play, "steriliser-vacuum", limits=msgspec.structs.replace(STEAM, pulses=5))

    with acting(play.clinic, by=play.people["manager"]) as act:
        result = rejudging.rejudge(act, steriliser, TODAY, TODAY, "limits from the validation")

    assert [(row.load.load, row.would_be) for row in result.flips] == [(load, "fail")]
    assert "evacuated" in result.flips[0].says[0]


# --- set --------------------------------------------------------------------------------------


def refused(play: Play, code: str, **changes: object) -> str:
    with pytest.raises(Refused) as refusal:
        define(play, code, **changes)
    return str(refusal.value)


@pytest.mark.parametrize(
    ("limits", "says"),
    [
        (Limits(pulses=3), "both their number and the pressure"),
        (Limits(vacuum_kpa=Decimal(15)), "both their number and the pressure"),
        (Limits(pulses=30, vacuum_kpa=Decimal(15)), "between 1 and 20 is possible"),
        (Limits(pulses=3, vacuum_kpa=Decimal(150)), "“Each pulse falls to”: 150 kPa was read"),
        (Limits(steam_kpa=Decimal(90)), "means nothing without"),
        (
            Limits(pulses=3, vacuum_kpa=Decimal(50), steam_kpa=Decimal(40)),
            "the second must be the higher",
        ),
        (Limits(drying_s=60), "means nothing without the pressure"),
        (Limits(drying_kpa=Decimal(107)), "“Drying falls to”"),
        (Limits(wash_low_c=Decimal(55)), "limit of a machine with hot water"),
        (Limits(run_s=60), "limit of a machine without heat"),
        (Limits(dosing=True), "“Takes detergent” is a limit of a machine with hot water"),
    ],
)
def test_limits_that_make_no_sense_for_a_steriliser_are_refused(
    play: Play, limits: Limits, says: str
) -> None:
    assert says in refused(play, "steriliser-vacuum", limits=limits)


def test_every_fault_is_said_at_once(play: Play) -> None:
    says = refused(
        play, "washer", steps=(), limits=Limits(wash_low_c=Decimal(70), wash_high_c=Decimal(60))
    )

    assert "which steps" in says
    assert "the first must be the lower" in says


@pytest.mark.parametrize(
    ("code", "changes", "says"),
    [
        ("washer", {"vacuum": True}, "Only a machine that steams has a vacuum"),
        ("washer", {"programmes": ()}, "needs a programme"),
        ("washer", {"programmes": (Programme(judged_by="steam-134"),)}, "there are thermal-a0-60"),
        ("steriliser-plain", {"limits": Limits(drying_kpa=Decimal(9))}, "without vacuum"),
        (
            "ultrasonic-bath",
            {"programmes": (Programme(judged_by="cold"), Programme(judged_by="cold"))},
            "Two programmes are judged by “cold”",
        ),
    ],
)
def test_a_process_that_makes_no_sense_is_refused(
    play: Play, code: str, changes: dict[str, object], says: str
) -> None:
    assert says in refused(play, code, **changes)


def test_a_programme_that_an_undecided_load_runs_by_is_not_taken_away(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    load = play.run(steriliser, hook)
    only = (Programme(judged_by="steam-121", wrapped=True, hollow=True),)

    assert "runs by steam-134" in refused(play, "steriliser-vacuum", programmes=only)

    play.scan(load, "release")
    define(play, "steriliser-vacuum", programmes=only)


def test_a_type_without_limits_is_spelled_as_it_always_was() -> None:
    process = Process(steps=("clean",), programmes=(Programme(judged_by="cold"),))

    assert b"limits" not in msgspec.json.encode(process)
    assert facts.Process(steps=("clean",)).limits is None
