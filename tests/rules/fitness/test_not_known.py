"""What a Yes does not know is named, each once, and only while nobody knows it."""

from datetime import UTC, datetime

import pytest

from equip.facts import Told
from equip.rules.fitness.not_known import of_the_load, of_the_steps, said
from equip.rules.fitness.standing import Done
from equip.rules.loads.load import IndicatorReading, Load, SporeTest

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
TURNED = Told(code="turned", says="Has the indicator on every pack turned?")
GROWING = SporeTest(lot="T2", put=NOW, by="B1", with_control=True)
READ = IndicatorReading(lot="T1", where="in the chamber", result="pass", by="B1", at=NOW)


def words(load: Load, *, sterilises: bool = True) -> str:
    return said(of_the_load(load, sterilises=sterilises))


@pytest.mark.parametrize(
    ("load", "says"),
    [
        (Load("L1", log="ab"), "whether an indicator in its load turned (none was read)"),
        (Load("L1", log="ab", stated=(TURNED,)), "only those on the packs were seen"),
        (
            Load(
                "L1", log="ab", reasons=(Told(code="machine-limits-not-known", says="Not judged."),)
            ),
            "the machine’s own limits",
        ),
        (Load("L1", typed={"hold_s": "200"}), "values were read off the machine"),
        (Load("L1", past=True), "it ran before this book"),
        (Load("L1", log="ab", spores=(GROWING,)), "whether spores grew"),
    ],
)
def test_each_gap_of_a_load_is_named(load: Load, says: str) -> None:
    assert says in words(load)


@pytest.mark.parametrize(
    "load",
    [
        Load("L1", log="ab", indicators=(READ,)),
        Load("L1", log="ab", typed={"indicator": "pass"}),
    ],
)
def test_what_was_read_is_known(load: Load) -> None:
    assert words(load) == ""


def test_an_indicator_is_asked_for_of_what_sterilises_only() -> None:
    assert words(Load("L1", log="ab"), sterilises=False) == ""


def test_a_step_by_hand_without_a_lot_is_named_once() -> None:
    done = [
        Done(steps=("clean",), at=NOW, verdict="pass"),
        Done(steps=("clean",), at=NOW, verdict="pass"),
        Done(steps=("disinfect",), at=NOW, verdict="pass", lots=("T1",)),
        Done(steps=("inspect",), at=NOW, verdict="pass"),
        Done(steps=("clean", "disinfect"), at=NOW, verdict="pass", load="L1"),
    ]

    assert said(of_the_steps(done)) == (
        "Not known: what “clean” was done with (no lot was scanned)."
    )
