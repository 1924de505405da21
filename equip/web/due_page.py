"""Due: what falls due, overdue first, and what was done about it."""

from flask import Blueprint, g, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from equip.desk import spores, upkeep
from equip.desk.acting import acting
from equip.web.forms import day, needed, tag, text, whole
from equip.web.guard import anybody, writer

bp = Blueprint("due", __name__)


@bp.get("/due")
def page() -> ResponseReturnValue:
    anybody()
    today = g.clinic.house.today(g.now)
    every = upkeep.due(g.clinic, today)
    soon = [d for d in every if d.standing == "ok" and (d.next_due - today).days <= 28]
    later = [d for d in every if d.standing == "ok" and (d.next_due - today).days > 28]
    return render_template(
        "due.html",
        today=today,
        overdue=[d for d in every if d.standing == "overdue"],
        due_today=[d for d in every if d.standing == "due"],
        soon=soon,
        later=later,
        growing=[one for one in spores.waiting(g.clinic, g.now) if one.late],
    )


@bp.post("/due/met")
def met() -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        upkeep.meet_duty(act, tag("item"), needed("duty"), day("done"), text("note"))
    return redirect(url_for("due.page"), code=303)


@bp.post("/due/set")
def set_duty() -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        upkeep.set_duty(
            act,
            tag("item"),
            needed("duty"),
            day("anchor"),
            every_months=whole("every_months"),
            every_days=whole("every_days"),
            grounds=bool(text("grounds")),
        )
    return redirect(url_for("stock.thing", tag=tag("item")), code=303)
