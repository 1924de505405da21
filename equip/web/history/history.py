"""History: one search box, the logbook of anything, the evidence of every line, look-backs."""

from flask import Blueprint, abort, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.lookback import exposed_now, history
from equip.desk.lookback.cases import case_page
from equip.desk.lookback.cases.missing_answers import brings, weakest
from equip.rules.logbook.lookback import RISKS
from equip.store.ledger import ledger
from equip.store.readings import case_rows
from equip.web.request.forms import needed
from equip.web.request.guard import anybody, manager

bp = Blueprint("history", __name__)

_LINES = 120  # as many as a day or two of a busy clinic; the rest is one link away


@bp.get("/history")
def history_page() -> ResponseReturnValue:
    anybody()
    return _front("")


@bp.post("/history")
def find() -> ResponseReturnValue:
    """The search is posted, so that a patient reference stands in no address and no log."""
    anybody()
    try:
        subject = history.find(g.clinic, request.form.get("q", ""))
    except Refused as problem:
        return _front(str(problem))
    return redirect(url_for("history.of", subject=subject), code=303)


def _front(says: str) -> str:
    return render_template(
        "history.html",
        says=says,
        panel=exposed_now.panel(g.clinic),
        cases=case_rows.doubts(g.clinic.store),
        rehearsal=case_rows.last_rehearsal(g.clinic.store, g.clinic.house.site),
        brings=brings,
        drills=[entry.fact for entry in case_rows.drills(g.clinic.store)],
    )


@bp.get("/history/<subject>")
def of(subject: str) -> ResponseReturnValue:
    anybody()
    before = request.args.get("before", "")
    shown = history.page(g.clinic, subject, most=_LINES, before=before)
    if not shown.lines:
        abort(404)
    return render_template("logbook.html", page=shown, reference="")


@bp.post("/history/<subject>/unmask")
def unmask(subject: str) -> ResponseReturnValue:
    """A manager looks up who a patient is, with a reason that stays in the book."""
    person = manager()
    reason = needed("reason")
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        reference = g.clinic.vault.reveal(subject)
        act.tell(facts.Unmasked, patient=subject, reason=reason)
    return render_template(
        "logbook.html",
        page=history.page(g.clinic, subject, most=_LINES),
        reference=reference,
    )


@bp.get("/entries/<site>/<int:position>")
def entry(site: str, position: int) -> ResponseReturnValue:
    """One entry exactly as it is sealed."""
    anybody()
    found = ledger.entry(g.clinic.store, site, position)
    if found is None:
        abort(404)
    before = ledger.entry(g.clinic.store, site, position - 1) if position > 1 else None
    return render_template(
        "entry.html",
        entry=found,
        line=history.entry_lines(g.clinic, [found])[0],
        body=facts.canonical(found.fact).decode(),
        before=before.seal.hex() if before else facts.FIRST.hex(),
        recorded=facts.micros(found.recorded_at),
        subjects=facts.about(found.fact),
    )


@bp.get("/look-backs/<case>")
def look_back(case: str) -> ResponseReturnValue:
    """A look-back from alarm to close; its forms are posted to the page of look-backs."""
    anybody()
    found = case_page.shown(g.clinic, case, g.now)
    if found is None:
        abort(404)
    return render_template(
        "look_back.html",
        shown=found,
        risks=RISKS,
        weakest=None if found.case.closed else weakest(g.clinic, found.answer),
        brings=brings,
    )
