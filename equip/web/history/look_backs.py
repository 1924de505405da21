"""Look-backs: opened on evidence, taken step by step to their close; drills."""

from random import SystemRandom
from typing import cast, get_args

from flask import Blueprint, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip import typed
from equip.desk.act.act import Refused, acting
from equip.desk.lookback.cases import case_acts, case_evidence, drills
from equip.desk.lookback.cases.case_evidence import MAY_HAVE_PERIOD, NEEDS_PERIOD, EvidenceSeen
from equip.desk.lookback.history import title
from equip.facts import Note, Risk, Step
from equip.rules.lookback.doubt_scope import Gate, Proposal
from equip.rules.machines.sheet import kinds_for
from equip.store.readings import item_rows
from equip.web.request.forms import chosen, day, needed, tag, text
from equip.web.request.guard import anybody, manager, writer

bp = Blueprint("look_backs", __name__, url_prefix="/look-backs")


@bp.get("/new")
def ask() -> ResponseReturnValue:
    """What the evidence would put in doubt; nothing is written down yet."""
    anybody()
    asked = _asked(request.args.to_dict())
    proposal, problem = _proposed(asked)
    return render_template(
        "look_back_new.html",
        asked=asked,
        proposal=proposal,
        problem=problem,
        about=title(g.clinic, asked.about),
        needs_period=asked.evidence in NEEDS_PERIOD,
        may_have_period=asked.evidence in MAY_HAVE_PERIOD,
        steps=get_args(Step),
        test=_test_name(asked),
    )


@bp.post("")
def open_case() -> ResponseReturnValue:
    """Confirmed, or narrowed by what is not ticked. A load alone is the shortest way."""
    person = writer()
    why = needed("why")
    if text("load"):
        asked = EvidenceSeen("load", tag("load"))
        proposal = case_evidence.propose(g.clinic, asked, g.now)
        loads, gates = list(proposal.loads), list(proposal.gates)
    else:
        asked = _asked({name: text(name) for name in request.form})
        proposal = case_evidence.propose(g.clinic, asked, g.now)
        loads, gates = request.form.getlist("loads"), _gates()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        case = case_acts.open_case(act, proposal, asked.about, why, loads, gates)
    return _to(case)


@bp.post("/<case>/contain")
def contain(case: str) -> ResponseReturnValue:
    person = writer()
    bag_it = chosen("how", ("clean-it-now", "bag-it")) == "bag-it"
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        case_acts.contain(act, case, bag_it=bag_it)
    return _to(case)


@bp.post("/<case>/scope")
def scope(case: str) -> ResponseReturnValue:
    person = manager()
    loads = request.form.getlist("loads")
    loads += [typed.tag(load) for load in text("more").replace(",", "\n").splitlines() if load]
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        case_acts.rescope(act, case, loads, _gates(), needed("reason"))
    return _to(case)


@bp.post("/<case>/list")
def take_list(case: str) -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        case_acts.take_list(act, case)
    return _to(case, "list")


@bp.post("/<case>/risk")
def risk(case: str) -> ResponseReturnValue:
    person = manager()
    category = cast(Risk, chosen("category", get_args(Risk)))
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        case_acts.judge_risk(act, case, category, needed("reason"))
    return _to(case)


@bp.post("/<case>/decide")
def decide(case: str) -> ResponseReturnValue:
    person = manager()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        case_acts.decide(
            act,
            case,
            needed("decision"),
            needed("reason"),
            unfounded=text("unfounded") == "yes",
            already_open=text("already_open") == "yes",
        )
    return _to(case)


@bp.post("/<case>/note")
def note(case: str) -> ResponseReturnValue:
    """Telling is for the manager; what happened, how somebody fared, what was learnt is anybody's
    who writes."""
    step = cast(Note, chosen("step", get_args(Note)))
    person = manager() if step == "tell" else writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        case_acts.note(act, case, step, needed("says"), request.form.getlist("patients"))
    return _to(case)


@bp.post("/<case>/close")
def close(case: str) -> ResponseReturnValue:
    person = manager()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        case_acts.close(act, case, needed("reason"))
    return _to(case)


@bp.post("/<case>/let-out")
def let_out(case: str) -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        case_acts.let_out(act, case, needed("reason"), text("confirmed_by"))
    return _to(case)


@bp.post("/drill")
def drill() -> ResponseReturnValue:
    """Practise on a load that was chosen, or on one taken by chance."""
    person = writer()
    load = tag("load") if text("load") else ""
    ran = drills.run(g.clinic, load or drills.pick(g.clinic, SystemRandom()), at_random=not load)
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        drills.keep(act, ran)
    return render_template(
        "drill.html", drill=ran, patients={one.patient for one in ran.answer.exposures}
    )


def _to(case: str, anchor: str = "") -> ResponseReturnValue:
    return redirect(url_for("history.look_back", case=case, _anchor=anchor or None), code=303)


def _asked(given: dict[str, str]) -> EvidenceSeen:
    if not given.get("about"):
        raise Refused("What it is about was not read: open the look-back from its page.")
    return EvidenceSeen(
        evidence=case_evidence.evidence_named(given.get("evidence", "")),
        about=given["about"],
        since=day("since", given.get("since", "")) if given.get("since") else None,
        until=day("until", given.get("until", "")) if given.get("until") else None,
        more=given.get("more", ""),
        defect=given.get("defect") == "yes",
    )


def _proposed(asked: EvidenceSeen) -> tuple[Proposal | None, str]:
    """The proposal, or what has to be said first."""
    try:
        return case_evidence.propose(g.clinic, asked, g.now), ""
    except Refused as problem:
        return None, str(problem)


def _gates() -> list[Gate]:
    parted = (one.partition(" ") for one in request.form.getlist("gates"))
    return [(item, ref) for item, _, ref in parted]


def _test_name(asked: EvidenceSeen) -> str:
    """What the test that failed is called."""
    stands = item_rows.standing_of(g.clinic.store, asked.about)
    process = g.clinic.house.kind(stands.type).process if stands else None
    if asked.evidence != "machine-test" or process is None:
        return ""
    return next((one.name for one in kinds_for(process) if one.id == asked.more), "")
