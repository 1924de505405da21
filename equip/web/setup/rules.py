"""Setup, Rules: every limit with its source, and what this clinic decided instead."""

from flask import Blueprint, g, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import acting
from equip.desk.register import items
from equip.rules.fitness.why_not import AUTHORITY
from equip.store.readings import clinic_rows
from equip.web.request.forms import day, needed
from equip.web.request.guard import anybody, manager

bp = Blueprint("rules", __name__, url_prefix="/setup")


@bp.get("/rules")
def rules_page() -> ResponseReturnValue:
    anybody()
    today = g.clinic.house.today(g.now)
    return render_template(
        "rules.html",
        rules=sorted(g.clinic.house.rules(g.now).values(), key=lambda rule: rule.id),
        book=g.clinic.house.book,
        today=today,
        authority=AUTHORITY,
        overrides=clinic_rows.overrides(g.clinic.store),
    )


@bp.post("/rules")
def set_rule() -> ResponseReturnValue:
    person = manager()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        items.set_rule(act, needed("rule"), needed("value"), needed("reason"), day("since"))
    return redirect(url_for("rules.rules_page"), code=303)
