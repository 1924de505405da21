"""Every kind of fact as a line that an auditor reads: what, of what, and nothing that leaks."""

import re
from datetime import UTC, date, datetime

import msgspec
import pytest

from equip import facts
from equip.facts import Fact, Told
from equip.rules.logbook.lines import margin, tell
from equip.rules.logbook.names import Names
from tests.golden.test_golden_facts import bare, full, golden
from tests.support.lives import HOOK, LOAD, MACHINE, NURSE, ONE, PACK_TAG, SECOND, SHELF
from tests.support.stopped import NOON

NAMES = Names(kind=lambda code: f"Type {code}", place=lambda tag: f"place {tag}")
UNKNOWN = Names(kind=lambda code: code, place=lambda tag: "")
TOLD = (Told(code="soiled", says="It was used on a patient."),)

# What is no name that anybody reads (the id of a use), and what the lines around it name: what
# things hold, where something was asked or put on the register, the machine a load was on. A
# decision counts its patients: it may be about hundreds, and stands in the logbook of each.
_BESIDE = {"use", "covers"}
_AROUND = {
    ("item-added", "place"),
    ("asked", "place"),
    ("load-judged", "machine"),
    ("uses-decided", "items"),
    ("uses-decided", "patients"),
}


def line(kind: type[Fact], **fields: object) -> str:
    return tell(kind(at=NOON, by=NURSE, act="a", **fields), NAMES)


@pytest.mark.parametrize("name", sorted(facts.KINDS))
@pytest.mark.parametrize("make", [full, bare])
def test_every_kind_is_told_in_a_sentence_of_its_own(name: str, make: object) -> None:
    fact = make(facts.KINDS[name])  # type: ignore[operator]

    says = tell(fact, NAMES)

    assert len(says.split()) >= 3
    assert says.isprintable()
    assert says[0].isupper() or says[0] in "EDPSLBRC"
    assert not re.search(r"None|\(\)|\[|\{|  |: \.|, \.|with \.|b'", says)


@pytest.mark.parametrize("body", golden(), ids=lambda body: str(msgspec.json.decode(body)["kind"]))
def test_whatever_was_ever_written_can_be_told(body: bytes) -> None:
    assert tell(facts.read(body), NAMES)


@pytest.mark.parametrize("name", sorted(facts.KINDS))
def test_a_line_names_the_things_and_people_it_is_about(name: str) -> None:
    fact = full(facts.KINDS[name])

    says = tell(fact, NAMES)

    for field in fact.names:
        if field in _BESIDE or (name, field) in _AROUND:
            continue
        value = getattr(fact, field)
        for one in (value,) if isinstance(value, str) else value:
            assert one in says, field


@pytest.mark.parametrize("name", sorted(facts.KINDS))
def test_no_digest_of_a_file_is_told_in_full(name: str) -> None:
    assert not re.search(r"[0-9a-f]{32}", tell(full(facts.KINDS[name]), NAMES))


# --- the words --------------------------------------------------------------------------------


def test_an_unfit_use_says_that_it_was_unfit_and_why() -> None:
    says = line(facts.Used, use="u", item=HOOK, patient=ONE, reasons=TOLD)

    assert says == f"Used on patient {ONE}: {HOOK}. It was not fit: It was used on a patient."


def test_a_fit_use_says_no_more_than_that() -> None:
    says = line(facts.Used, use="u", item=PACK_TAG, patient=ONE, covers=(HOOK, SECOND))

    assert says == f"Used on patient {ONE}: {PACK_TAG}, with {HOOK} and {SECOND}."


def test_an_opening_is_not_called_a_use() -> None:
    assert line(facts.Used, use="u", item=HOOK, patient=ONE, opened_only=True).startswith("Opened")


def test_asking_tells_yes_from_no() -> None:
    yes = line(facts.Asked, item=HOOK, allowed=True)
    no = line(facts.Asked, item=HOOK, allowed=False, reasons=TOLD)

    assert yes == f"Asked: {HOOK} may be used."
    assert no == f"Asked: {HOOK} refused. It was used on a patient."


def test_an_undecided_load_is_never_called_passed_or_failed() -> None:
    says = line(
        facts.LoadJudged, load=LOAD, machine=MACHINE, programme="steam-134", verdict="undecided"
    )

    assert "cannot be judged" in says
    assert "pass" not in says
    assert "fail" not in says


@pytest.mark.parametrize(
    ("every", "says"),
    [
        ({"every_months": 6}, "every 6 months from 2026-01-31"),
        ({"every_months": 1}, "every month from 2026-01-31"),
        ({"every_days": 10}, "every 10 days from 2026-01-31"),
        ({"every_days": 1}, "every day from 2026-01-31"),
        ({}, "once, on 2026-01-31"),
    ],
)
def test_a_duty_says_how_often_it_comes_round(every: dict[str, int], says: str) -> None:
    told = line(facts.DutySet, item=MACHINE, duty="service", anchor=date(2026, 1, 31), **every)

    assert told == f"Service of {MACHINE}: {says}."


def test_a_duty_that_grounds_says_so() -> None:
    told = line(facts.DutySet, item=MACHINE, duty="service", anchor=date(2026, 1, 31), grounds=True)

    assert told.endswith("; overdue, it may not be used.")


@pytest.mark.parametrize(
    ("passed", "says"), [(True, "Inspection passed"), (False, "Inspection failed")]
)
def test_an_inspection_says_how_it_went(passed: bool, says: str) -> None:
    assert line(facts.Stepped, item=HOOK, step="inspect", passed=passed).startswith(says)


def test_a_place_goes_by_its_name_and_without_one_by_its_tag() -> None:
    placed = facts.Placed(at=NOON, by=NURSE, act="a", item=HOOK, place=SHELF)

    assert tell(placed, NAMES) == f"{HOOK} put in place {SHELF}."
    assert tell(placed, UNKNOWN) == f"{HOOK} put in {SHELF}."


def test_a_cycle_without_a_number_says_that_it_has_none() -> None:
    says = line(facts.LoadEnded, load=LOAD, machine=MACHINE, steps=("sterilise",))

    assert "no cycle number" in says


# --- the margin -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "fields", "mark"),
    [
        (facts.LoadReleased, {"load": LOAD, "released": (HOOK,)}, "gate"),
        (facts.LoadRejected, {"load": LOAD, "reason": "cold"}, "doubt"),
        (facts.LoadRefused, {"load": LOAD, "item": HOOK, "reasons": TOLD}, "no"),
        (facts.Asked, {"item": HOOK, "allowed": True}, ""),
        (facts.Asked, {"item": HOOK, "allowed": False}, "no"),
        (facts.Used, {"use": "u", "item": HOOK, "patient": ONE}, ""),
        (facts.Used, {"use": "u", "item": HOOK, "patient": ONE, "reasons": TOLD}, "doubt"),
        (facts.Quarantined, {"item": HOOK, "why": TOLD[0]}, "doubt"),
        (facts.Hurt, {"person": NURSE, "item": HOOK}, "doubt"),
        (facts.DoubtRaised, {"case": "c", "loads": (LOAD,), "why": "x"}, "doubt"),
        (facts.Retired, {"item": HOOK, "why": "worn"}, ""),
    ],
)
def test_the_margin_marks_a_gate_a_doubt_and_a_no(
    kind: type[Fact], fields: dict[str, object], mark: str
) -> None:
    fact = kind(at=datetime(2026, 3, 4, tzinfo=UTC), by=NURSE, act="a", **fields)

    assert margin(fact) == mark


@pytest.mark.parametrize(
    ("verdict", "mark"), [("pass", ""), ("fail", "doubt"), ("undecided", "doubt")]
)
def test_a_load_that_did_not_pass_is_a_doubt(verdict: str, mark: str) -> None:
    judged = msgspec.structs.replace(full(facts.LoadJudged), verdict=verdict)

    assert margin(judged) == mark
