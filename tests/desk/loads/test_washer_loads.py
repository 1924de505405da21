"""A washer's load from its log to its judgement: by its A0, never as steam, nor the reverse."""

from pathlib import Path

import msgspec
import pytest

from equip.desk.act.act import Refused, acting
from equip.desk.cycles.picture.cycle import drawn_of
from equip.desk.loads.end import LogFile, end_load
from equip.facts import LoadJudged, Programme, TypeDefined
from equip.rules.loads.load import Load
from equip.store.ledger.about import told_about
from equip.store.readings import load_rows
from tests.support.playing import Play

WASHER = (Path(__file__).parents[2] / "published" / "cycles" / "washer-90.csv").read_bytes()


def running(play: Play, code: str, programme: str) -> str:
    """A load of one hook on a machine of that type, whose only programme is that one.

    Told as a ledger may hold it, whatever the desk would say to such a type today.
    """
    with acting(play.clinic, by=play.people["manager"]) as act:
        kind = act.house.types[code]
        process = msgspec.structs.replace(
            kind.process, programmes=(Programme(judged_by=programme, hollow=True),)
        )
        act.tell(TypeDefined, type=msgspec.structs.replace(kind, process=process))
    machine, hook = play.add(code), play.add("hook")
    play.scan("start over", machine, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None
    return load.load


def ended(play: Play, tag: str, log: bytes) -> Load:
    load = load_rows.load_of(play.clinic.store, tag)
    assert load is not None
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, LogFile(log), cycle_no="1")
    done = load_rows.load_of(play.clinic.store, tag)
    assert done is not None
    return done


@pytest.mark.parametrize(
    ("programme", "verdict", "why"),
    [
        ("thermal-a0-600", "pass", "drying-left-out"),
        ("thermal-a0-3000", "fail", "a0-short"),
    ],
)
def test_a_washers_log_is_judged_by_its_a0(
    play: Play, programme: str, verdict: str, why: str
) -> None:
    load = ended(play, running(play, "washer", programme), WASHER)

    assert load.verdict == verdict
    assert load.reasons[0].code == why
    assert load.figures["a0_s"] == "1938.649302"


def test_the_judgement_keeps_the_version_and_the_rules_of_its_family(play: Play) -> None:
    load = ended(play, running(play, "washer", "thermal-a0-600"), WASHER)

    told = [e.fact for e in told_about(play.clinic.store, load.load)]
    judged = next(fact for fact in told if isinstance(fact, LoadJudged))

    assert judged.judge == "thermal-3"
    assert {rule.id for rule in judged.rules} >= {"thermal-a0-600.target", "a0.floor"}


@pytest.mark.parametrize(
    ("code", "programme"),
    [("washer", "steam-134"), ("steriliser-vacuum", "thermal-a0-600")],
)
def test_no_machine_is_judged_by_a_programme_of_the_other_family(
    play: Play, code: str, programme: str
) -> None:
    load = running(play, code, programme)

    with pytest.raises(Refused, match="no programme by which a log of this machine can be judged"):
        ended(play, load, WASHER)


def test_a_bath_without_heat_has_no_log_to_judge(play: Play) -> None:
    load = running(play, "ultrasonic-bath", "ultrasonic")

    with pytest.raises(Refused, match="no heat to judge by a log"):
        ended(play, load, WASHER)


def test_a_washers_picture_shows_its_stages_its_floor_and_the_a0_as_it_grew(play: Play) -> None:
    load = ended(play, running(play, "washer", "thermal-a0-600"), WASHER)

    found = drawn_of(play.clinic, load)

    assert found is not None
    heat, grown = found.panels
    assert [span.says for span in heat.spans] == ["water: counts", "drying: does not count"]
    assert [level.at for level in heat.levels] == [65.0]
    assert [level.at for level in grown.levels] == [600.0]
    assert grown.curves[0].values[-1] == pytest.approx(float(load.figures["a0_s"]))
    assert "A0 has reached 600 s" in [event.says for event in found.events]
