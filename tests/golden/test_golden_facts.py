"""The bytes of every kind of fact that was ever written, and that they are read for ever.

`facts.jsonl` holds one fact a line as the ledger holds it. A line is never changed and never
taken out. A new kind, or a new field, needs a specimen here and a line more:
``python -m tests.golden.test_golden_facts`` adds what is missing and touches nothing else.
"""

from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import msgspec
import pytest

from equip import facts
from equip.facts import Fact, Told, canonical, read

GOLDEN = Path(__file__).with_name("facts.jsonl")

_AT = datetime(2026, 3, 4, 12, 0, 5, 250_000, tzinfo=UTC)
_LATER = datetime(2026, 3, 5, 12, 0, tzinfo=UTC)
_TOLD = Told(code="soiled", says="It was used on a patient (“10:04”).", at_s=Decimal("12.50"))
_RULE = facts.RuleUsed(
    id="shelf.wrapped-days", value="365", unit="days", basis="published", source="a source"
)
_E1, _E2, _D, _P, _S = "E000000019", "E000000027", "D00000001B", "P000000012", "S000000011"
_L, _B, _B2, _R, _CASE = "L000000013", "B000000015", "B000000023", "R000000010", "case-1"
_T = "T00000001P"
_ONE, _TWO, _USE = "p-1f3a", "p-77b0", "act-use"

_TYPE = facts.ItemType(
    code="scope-steamed",
    name="Rigid scope",
    sort="machine",
    contact="water-or-air",
    tagged=False,
    reuse="single-patient",
    hollow=True,
    heat_proof=False,
    optic="rigid",
    route=(
        facts.RouteStep(step="wipe", required=False),
        facts.RouteStep(step="sterilise", stops=("bacteria-viruses", "spores")),
    ),
    use_limit=30,
    cycle_limit=200,
    process=facts.Process(
        steps=("clean", "sterilise"),
        heat="steam",
        vacuum=True,
        litres=18,
        programmes=(
            facts.Programme(judged_by="steam-134", name="134 °C", wrapped=True, hollow=True),
        ),
        limits=facts.Limits(
            pulses=3,
            vacuum_kpa=Decimal("15.5"),
            steam_kpa=Decimal(100),
            drying_kpa=Decimal("9.0"),
            drying_s=240,
            wash_low_c=Decimal(55),
            wash_high_c=Decimal("65.5"),
            flush_high_c=Decimal(35),
            dosing=True,
            run_s=300,
            bath_high_c=Decimal(40),
        ),
        minutes=55,
        holds=12,
    ),
    instructions="Follow its maker's instructions.",
    card="C00001000K",
    checks=(
        facts.AskedCheck(check="vacuum", low=Decimal(20), high=Decimal("60.5"), unit="kPa"),
        facts.AskedCheck(check="picture"),
    ),
    served_by="suction-pump",
    holds="day",
)

_FULL = {"at": _AT, "by": _B, "act": "act-1", "bench": "bench 1", "claimed": _LATER}
_BARE = {"at": _LATER, "by": "", "act": "act-2"}

# Every field of every kind, none at its default.
_TERMS = facts.DutyTerms(
    every_count=500,
    counts="uses",
    already=20,
    tolerance_days=7,
    shift="after",
    certificate=True,
    not_after=date(2026, 12, 31),
    after_move_days=90,
    cost=Decimal("120.50"),
    source="the maker's manual, page 12",
)
FIELDS: dict[type[Fact], dict[str, object]] = {
    facts.SiteOpened: {
        "site": "HARB",
        "name": "Harbour “Ear” Care",
        "zone": "Europe/London",
        "book": "england",
    },
    facts.TypeDefined: {"type": _TYPE},
    facts.ProcedureDefined: {
        "procedure": facts.Procedure(
            code="both-ears",
            name="Both ears",
            minutes=20,
            needs=(facts.Loose(type="hook", count=2), facts.Loose(type="fine-tip", count=4)),
            offered=False,
        )
    },
    facts.ItemAdded: {
        "item": _E1,
        "type": "hook",
        "arrival": "go-live",
        "name": "Long hook",
        "serial": "SN/7",
        "maker_code": "01095\x1d21X",
        "place": _R,
        "aliases": ("old 1", "old 2"),
        "declared_by": _B,
        "decontaminated": date(2026, 2, 27),
        "sealed": True,
    },
    facts.Arrived: {"item": _E1, "arrival": "loaned", "sender": "Quay Clinic"},
    facts.SentOut: {"item": _E1, "receiver": "Fenwick", "why": "repair"},
    facts.Retired: {"item": _E1, "why": "worn"},
    facts.TagReplaced: {"item": _E1, "tag": _E2, "why": "unreadable"},
    facts.Joined: {"set": _S, "item": _E1},
    facts.Left: {"set": _S, "item": _E1},
    facts.PlaceAdded: {"place": _R, "name": "Room 1", "sort": "store"},
    facts.PersonAdded: {
        "person": _B,
        "name": "Nell Ash",
        "role": "nurse",
        "rights": ("release", "override"),
        "active": False,
        "old": "N1",
    },
    facts.CompetenceAssessed: {
        "person": _B,
        "task": "clean",
        "outcome": "competent",
        "since": date(2026, 3, 4),
        "until": date(2027, 3, 3),
        "assessor": _B2,
        "outside": "a trainer",
        "evidence": "watched ten times",
        "file": "34" * 32,
        "rules": (_RULE,),
    },
    facts.LapseAllowed: {
        "person": _B,
        "task": "release",
        "since": date(2026, 3, 4),
        "until": date(2026, 3, 6),
        "reason": "assessed on Friday",
    },
    facts.LapseExplained: {
        "person": _B,
        "task": "use",
        "reasons": (_TOLD,),
        "reason": "alone today",
    },
    facts.RuleSet: {
        "rule": "shelf.wrapped-days",
        "value": "180",
        "reason": "damp store",
        "since": date(2026, 4, 1),
    },
    facts.Asked: {"item": _E1, "allowed": False, "reasons": (_TOLD,), "patient": _ONE, "place": _R},
    facts.UseBegun: {"use": _USE, "patient": _ONE, "place": _R, "ear": "left"},
    facts.Used: {
        "use": _USE,
        "item": _E1,
        "patient": _ONE,
        "opened_only": True,
        "asked": True,
        "covers": (_P, _E2),
        "reasons": (_TOLD,),
        "lapses": (_TOLD,),
        "supervisor": _B2,
    },
    facts.UseNoted: {"use": _USE, "patient": _ONE, "ear": "both", "soil": "oily", "opened": (_E1,)},
    facts.UseFinished: {"use": _USE, "patient": _ONE, "covers": (_E1, _E2)},
    facts.Marked: {
        "item": _E1,
        "what": "tube-touched-scope",
        "effect": "inspect",
        "covers": (_E2,),
    },
    facts.Hurt: {
        "person": _B,
        "item": _E1,
        "sources": (_ONE, _TWO),
        "carried": (
            facts.MayCarry(
                use=_USE, at=_AT, item=_P, patient=_ONE, certainty="possible", share="1/3"
            ),
        ),
        "not_known": (_E2,),
    },
    facts.Stepped: {
        "item": _S,
        "step": "inspect",
        "passed": False,
        "covers": (_E1, _E2),
        "with_what": "loupe",
        "lots": (_T,),
        "contact_s": 60,
        "unreleased": True,
        "lapses": (_TOLD,),
        "supervisor": _B2,
        "agent": "alcohol-70",
        "stops": ("bacteria-viruses",),
        "rules": (_RULE,),
    },
    facts.StepRefused: {"item": _E1, "step": "rinse", "reasons": (_TOLD,), "lots": (_T,)},
    facts.Packed: {
        "pack": _P,
        "contents": (_E1, _E2),
        "loose": (facts.Loose(type="fine-tip", count=5),),
        "load": _L,
        "old": "Q5-009",
        "by_hand": ("clean", "rinse"),
        "unsaid": ("inspect",),
    },
    facts.Placed: {"item": _S, "place": _R, "covers": (_E1,)},
    facts.Quarantined: {"item": _E1, "why": _TOLD, "how": "bag-it"},
    facts.QuarantineLifted: {
        "item": _E1,
        "reason": "looked at",
        "why": _TOLD,
        "since": _AT,
        "confirmed_by": "Rowan Field",
    },
    facts.Overridden: {"item": _E1, "reasons": (_TOLD,), "reason": "none other", "patient": _ONE},
    facts.Checked: {
        "item": _D,
        "check": "water-temperature",
        "passed": False,
        "value": Decimal("33.5"),
        "unit": "°C",
        "reasons": (_TOLD,),
        "rules": (_RULE,),
        "note": "just filled",
        "lapses": (_TOLD,),
        "supervisor": _B,
    },
    facts.ChecksOver: {"covers": (_D, _E1), "why": "mark"},
    facts.ContentsListed: {
        "set": _S,
        "pieces": (facts.Piece(name="Fine tip, 1.2 mm", count=2, type="fine-tip"),),
    },
    facts.Counted: {
        "set": _S,
        "moment": "packing",
        "all_there": True,
        "seen": (_E1,),
        "pieces": (facts.Piece(name="Cotton carrier", count=2),),
    },
    facts.PieceMissing: {
        "set": _S,
        "search": "act-7",
        "item": _E2,
        "piece": "Fine tip, 1.2 mm",
        "count": 2,
        "moment": "after-use",
        "patient": _ONE,
        "use": _USE,
        "last_seen_by": _B,
        "last_seen": _AT,
        "last_seen_as": "counted at packing",
    },
    facts.PieceFound: {
        "set": _S,
        "search": "act-7",
        "where": "ear",
        "item": _E2,
        "piece": "Fine tip, 1.2 mm",
        "patient": _ONE,
        "covers": (_E1, _P),
    },
    facts.PieceLost: {
        "set": _S,
        "search": "act-7",
        "reason": "the bin had been emptied",
        "item": _E2,
        "piece": "Fine tip, 1.2 mm",
        "patient": _ONE,
    },
    facts.Withdrawn: {"withdrawn": "act-0", "covers": (_E1, _USE), "reason": "wrong hook"},
    facts.MovedToPatient: {"use": _USE, "was": _ONE, "patient": _TWO, "covers": (_E1,)},
    facts.LoadOpened: {"load": _L, "machine": _D, "programme": "steam-134"},
    facts.LoadAdded: {"load": _L, "item": _P, "wrapped": True, "covers": (_E1,)},
    facts.LoadRefused: {"load": _L, "item": _E1, "reasons": (_TOLD,)},
    facts.LoadTakenOut: {"load": _L, "item": _P, "covers": (_E1,)},
    facts.LotPut: {"load": _L, "lot": _T},
    facts.LoadStarted: {
        "load": _L,
        "machine": _D,
        "programme": "steam-134",
        "covers": (_P, _E1),
        "typed": {"celsius": "21.5", "strip": "pass"},
        "lapses": (_TOLD,),
        "supervisor": _B2,
    },
    facts.LoadEnded: {
        "load": _L,
        "machine": _D,
        "steps": ("sterilise",),
        "cycle_no": "4711",
        "log": "ab" * 32,
        "typed": {"lowest_c": "134.2", "hold_min": "3.5"},
        "second_reader": _B2,
        "covers": (_P, _E1),
        "photo": "12" * 32,
    },
    facts.EvidenceConfirmed: {
        "load": _L,
        "machine": _D,
        "typed": {"lowest_c": "134.2", "hold_min": "3.5"},
        "differs": ("hold_min",),
    },
    facts.LoadJudged: {
        "load": _L,
        "machine": _D,
        "programme": "steam-134",
        "verdict": "fail",
        "reasons": (_TOLD,),
        "figures": {"hold_s": "178", "f0_min": "21.5"},
        "rules": (_RULE,),
        "book": "cd" * 32,
        "judge": "steam-1",
        "log": "ab" * 32,
        "covers": (_P, _E1),
        "layout": '{"delimiter":"semicolon","probes":["Kammer °C"]}',
        "cycle_no": "4711",
        "log_started": _AT,
        "photo": "12" * 32,
        "readers": (_B, _B2),
        "stops": ("bacteria-viruses", "spores"),
    },
    facts.LoadTakenOver: {
        "load": _L,
        "machine": _D,
        "programme": "steam-134",
        "steps": ("clean", "sterilise"),
        "verdict": "pass",
        "covers": (_P, _E1),
        "hands": (_B, _B2),
        "old": "L5-1",
    },
    facts.PastBroughtIn: {"name": "past.csv", "line": 321, "digest": "ef" * 32, "rows": 320},
    facts.LoadReleased: {
        "load": _L,
        "released": (_P, _E1),
        "held": (_E2,),
        "note": "one damp",
        "asked": (_TOLD,),
        "answer": "it was a full load",
        "lapses": (_TOLD,),
        "alone": True,
        "stated": (_TOLD,),
    },
    facts.StagesCorrected: {
        "load": _L,
        "boundaries": {"air-removal-ends": "260", "drying-begins": "1402.5"},
        "reason": "as on the machine's own record",
    },
    facts.LoadRejected: {"load": _L, "reason": "cold", "covers": (_P, _E1)},
    facts.LotAdded: {
        "lot": _T,
        "sort": "chemical-indicator",
        "name": "Strip six",
        "number": "LN-7",
        "expires": date(2027, 5, 31),
        "stated": facts.Stated(
            contact_s=60,
            open_days=90,
            agent="opa-0.55",
            type=6,
            celsius=Decimal("134"),
            seconds=Decimal("210"),
            incubate_h=24,
        ),
    },
    facts.LotDescribed: {
        "lot": _T,
        "agent": "chlorine-dioxide",
        "stops": ("bacteria-viruses", "spores"),
        "rules": (_RULE,),
        "covers": (_E1,),
    },
    facts.LotOpened: {"lot": _T},
    facts.LotFinished: {"lot": _T, "why": "used up"},
    facts.IndicatorRead: {
        "load": _L,
        "lot": _T,
        "where": "in a pack",
        "result": "fail",
        "pack": _P,
        "again": True,
        "reasons": (_TOLD,),
        "rules": (_RULE,),
    },
    facts.IndicatorNotTurned: {"pack": _P, "load": _L, "covers": (_E1,)},
    facts.SporeTestPut: {"load": _L, "machine": _D, "lot": _T, "with_control": True},
    facts.SporeTestRead: {
        "load": _L,
        "machine": _D,
        "lot": _T,
        "result": "invalid",
        "control_grew": False,
        "incubated_h": Decimal("48"),
        "incubator_c": Decimal("56.5"),
        "reasons": (_TOLD,),
        "rules": (_RULE,),
    },
    facts.MachineTested: {
        "machine": _D,
        "test": "leak-rate",
        "verdict": "fail",
        "readings": {"start_kpa": "5.0", "end_kpa": "6.4"},
        "reasons": (_TOLD,),
        "rules": (_RULE,),
        "cycle_no": "4712",
        "note": "seal damp",
        "load": _L,
    },
    facts.ReferenceChosen: {
        "machine": _D,
        "programme": "steam-134",
        "load": _L,
        "reason": "as validated",
    },
    facts.Rejudged: {
        "machine": _D,
        "since": date(2026, 1, 1),
        "until": date(2026, 3, 4),
        "book": "england",
        "digest": "ef" * 32,
        "reason": "The sensor read high.",
        "judged": 41,
        "flipped": (_L,),
        "verdicts": ("fail",),
        "rules_of": date(2026, 2, 1),
        "offset_k": Decimal("-0.4"),
        "gain": Decimal("1.001"),
        "uncertainty_k": Decimal("0.5"),
    },
    facts.LayoutSet: {
        "machine": _D,
        "layout": '{"delimiter":"semicolon","probes":["Kammer °C"]}',
        "reason": "a new controller",
    },
    facts.LogUnclaimed: {
        "machine": _D,
        "log": "ab" * 32,
        "name": "CYC04713.LOG",
        "cycle_no": "4713",
        "why": "No load of this machine has cycle 4713.",
        "layout": '{"delimiter":"semicolon"}',
    },
    facts.LogExplained: {"machine": _D, "log": "ab" * 32, "reason": "the engineer's test"},
    facts.BathFilled: {"machine": _D, "lot": _T, "note": "4 litres"},
    facts.SheetSigned: {"machine": _D, "day": date(2026, 3, 4), "lapses": (_TOLD,)},
    facts.DoubtRaised: {"case": _CASE, "loads": (_L,), "why": "the strip faded"},
    facts.DoubtDecided: {
        "case": _CASE,
        "decision": "nobody exposed",
        "reason": "judged anew",
        "unfounded": True,
    },
    facts.DoubtScoped: {
        "case": _CASE,
        "says": "It failed.",
        "reason": "as proposed",
        "evidence": "load",
        "about": _L,
        "loads": (_L,),
        "gates": (f"{_E1} HARB/12",),
        "left_out": (f"{_E2} HARB/13",),
        "held": ("L000000021",),
        "patient": _ONE,
        "since": _AT,
        "until": _LATER,
        "hazard": "spores",
    },
    facts.DoubtContained: {"case": _CASE, "items": (_E1, _P)},
    facts.DoubtListed: {
        "case": _CASE,
        "heads": {"HARB": 321},
        "uses": 3,
        "patients": 2,
        "gaps": 1,
        "digest": "ab" * 32,
    },
    facts.RiskJudged: {"case": _CASE, "category": "B", "reason": "it was washed"},
    facts.UsesDecided: {
        "case": _CASE,
        "decision": "told",
        "reason": "by policy",
        "uses": (facts.UseInDoubt(item=_E1, use=_USE, patient=_ONE, sources=("act-0",)),),
    },
    facts.DoubtStep: {
        "case": _CASE,
        "step": "follow-up",
        "says": "seen, well",
        "patients": (_ONE,),
    },
    facts.DoubtClosed: {"case": _CASE, "reason": "all were told"},
    facts.RehearsalRun: {
        "load": _L,
        "day": date(2026, 3, 4),
        "seconds": Decimal("0.035"),
        "uses": 3,
        "patients": 2,
        "unproven": 2,
        "unprovable": 1,
        "gaps": 1,
        "looked_at": 8,
        "traceable": Decimal("0.875"),
        "links": (
            facts.WeakLink(
                sort="steps",
                about=_L,
                item=_E1,
                says="Was the step “clean” done?",
                settles=1,
                bears_on=1,
            ),
        ),
    },
    facts.DrillRun: {
        "load": _L,
        "seconds": Decimal("0.412"),
        "uses": 3,
        "patients": 2,
        "gaps": 1,
        "looked_at": 8,
        "traceable": Decimal("0.875"),
        "at_random": True,
    },
    facts.DutySet: {
        "item": _D,
        "duty": "service",
        "anchor": date(2026, 1, 31),
        "every_months": 6,
        "every_days": 10,
        "grounds": True,
        "terms": _TERMS,
    },
    facts.TypeDutySet: {
        "type": "suction-pump",
        "duty": "filter",
        "anchor": date(2026, 1, 31),
        "every_months": 6,
        "every_days": 10,
        "grounds": True,
        "terms": _TERMS,
    },
    facts.DutyDropped: {"duty": "filter", "why": "built in now", "item": _D, "type": "x"},
    facts.MeterRead: {
        "item": _D,
        "meter": "hours",
        "reading": Decimal("12.5"),
        "how": "replaced",
        "ended": Decimal("4711.3"),
        "began": Decimal("0.5"),
        "note": "by the engineer",
    },
    facts.RemindersSet: {
        "item": _D,
        "duty": "service",
        "lead_days": 30,
        "escalate_days": 3,
    },
    facts.DutyMet: {
        "item": _D,
        "duty": "service",
        "due": date(2026, 1, 31),
        "done": date(2026, 2, 2),
        "note": "filter changed",
        "not_after": date(2027, 2, 1),
        "counts_from": _AT,
        "counted": 512,
        "work": "work-7",
        "certificate": "ab" * 32,
    },
    facts.ProofGiven: {
        "question": "by load",
        "digest": "cd" * 32,
        "trees": (facts.TreeHead(site="HARB", size=41, root="ab" * 32),),
        "case": _CASE,
        "loads": (_L,),
        "patient": _ONE,
        "unmasked": True,
        "reason": "the patients are to be told",
    },
    facts.Calibrated: {
        "item": _D,
        "quantity": "chamber temperature",
        "unit": "°C",
        "points": (
            facts.PointMeasured(
                nominal=Decimal(134),
                limit=Decimal("0.5"),
                found=Decimal("134.7"),
                left=Decimal("134.1"),
                expanded_u=Decimal("0.2"),
                k=Decimal("2.05"),
                found_is="conditional-fail",
                left_is="pass",
            ),
            facts.PointMeasured(nominal=Decimal(121), limit=Decimal("0.5")),
        ),
        "decides": "guard-u",
        "done": date(2026, 3, 4),
        "person": _B,
        "firm": "Bench and Sons",
        "found_is": "conditional-fail",
        "left_is": "pass",
        "reasons": (_TOLD,),
        "rules": (_RULE,),
        "certificate": "ab" * 32,
        "certificate_name": "report.pdf",
        "issued": date(2026, 3, 4),
        "not_after": date(2027, 3, 3),
        "duty": "calibration",
        "note": "a new probe",
        "lapses": (_TOLD,),
    },
    facts.ElectricallyTested: {
        "item": _D,
        "protection": "I",
        "done": date(2026, 3, 4),
        "verdict": "pass",
        "cord": "detachable",
        "method": "direct",
        "part": "BF",
        "earth_readings": (Decimal("0.11"), Decimal("0.12")),
        "earth_ohm": Decimal("0.12"),
        "cord_ohm": Decimal("0.08"),
        "leakage_ua": Decimal(210),
        "applied_ua": Decimal(35),
        "person": _B,
        "firm": "Bench and Sons",
        "reasons": (_TOLD,),
        "rules": (_RULE,),
        "certificate": "ab" * 32,
        "certificate_name": "report.pdf",
        "duty": "electrical safety test",
        "note": "a new cord",
        "lapses": (_TOLD,),
    },
    facts.WorkRaised: {
        "work": "work-7",
        "item": _D,
        "what": "it whistles",
        "duty": "service",
        "out_of_use": True,
    },
    facts.WorkAssigned: {"work": "work-7", "item": _D, "person": _B, "firm": "Bench and Sons"},
    facts.WorkSent: {
        "work": "work-7",
        "item": _D,
        "receiver": "Bench and Sons",
        "shown": True,
        "recorded": ("Wiped on 2026-03-03.",),
        "declared": "wiped outside",
    },
    facts.WorkReceived: {"work": "work-7", "item": _D, "sender": "Bench and Sons"},
    facts.WorkDone: {
        "work": "work-7",
        "item": _D,
        "done": date(2026, 3, 4),
        "found": "a worn seal",
        "left": "quiet",
        "parts": "seal",
        "cost": Decimal("85.5"),
        "certificate": "ab" * 32,
        "certificate_name": "report.pdf",
        "issued": date(2026, 3, 4),
        "not_after": date(2027, 3, 3),
    },
    facts.WorkSignedOff: {
        "work": "work-7",
        "item": _D,
        "decision": "service",
        "reason": "tried",
        "meets": True,
    },
    facts.Unmasked: {"patient": _ONE, "reason": "look-back"},
}


def full(kind: type[Fact]) -> Fact:
    """A fact of *kind* in which every field says something."""
    return kind(**_FULL, **FIELDS[kind])


def bare(kind: type[Fact]) -> Fact:
    """A fact of *kind* that says no more than it must."""
    needed = {one.name for one in msgspec.structs.fields(kind) if one.required}
    return kind(**_BARE, **{name: told for name, told in FIELDS[kind].items() if name in needed})


def golden() -> list[bytes]:
    """The lines that are kept."""
    return GOLDEN.read_bytes().splitlines()


KIND_NAMES = sorted(facts.KINDS)


def test_every_kind_of_fact_has_its_specimen() -> None:
    assert {str(kind.__struct_config__.tag) for kind in FIELDS} == set(facts.KINDS)


@pytest.mark.parametrize("name", KIND_NAMES)
def test_a_full_specimen_leaves_no_field_at_its_default(name: str) -> None:
    kind = facts.KINDS[name]

    specimen = full(kind)

    quiet = [
        one.name
        for one in msgspec.structs.fields(kind)
        if not one.required and getattr(specimen, one.name) in (one.default, (), {})
    ]
    assert quiet == []


@pytest.mark.parametrize("name", KIND_NAMES)
def test_the_bytes_of_every_kind_are_the_golden_ones(name: str) -> None:
    kind = facts.KINDS[name]

    spelled = {canonical(full(kind)), canonical(bare(kind))}

    assert spelled <= set(golden())


def test_every_kind_has_golden_bytes_and_none_of_them_is_unknown() -> None:
    assert {_kind_of(line) for line in golden()} == set(facts.KINDS)


@pytest.mark.parametrize("line", golden(), ids=lambda line: _kind_of(line))
def test_golden_bytes_are_read_and_spelled_the_same_again(line: bytes) -> None:
    assert canonical(read(line)) == line


def test_no_golden_line_stands_twice() -> None:
    assert len(golden()) == len(set(golden())) >= 2 * len(facts.KINDS) - 1


def _kind_of(line: bytes) -> str:
    return str(msgspec.json.decode(line)["kind"])


def add_missing() -> int:
    """Add a line for each specimen that has none; how many were added."""
    kept = golden() if GOLDEN.exists() else []
    spelled = [canonical(make(kind)) for kind in FIELDS for make in (full, bare)]
    new = [line for line in dict.fromkeys(spelled) if line not in kept]
    GOLDEN.write_bytes(b"".join(line + b"\n" for line in [*kept, *new]))
    return len(new)


if __name__ == "__main__":
    print(f"{add_missing()} lines added.")
