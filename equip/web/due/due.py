"""Due: what falls due, overdue first; the duties of one thing or type; what was done about them."""

from flask import Blueprint, abort, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import acting
from equip.desk.fitness.due_days import calendar
from equip.desk.machines import spores
from equip.desk.upkeep import duties, duty_acts, late_use, meter_acts
from equip.desk.upkeep.due_list import due_list
from equip.desk.upkeep.pace import paces
from equip.rules.upkeep import words
from equip.rules.upkeep.work import STATES
from equip.store.readings import duty_rows, item_rows, work_rows
from equip.web.due import duty_form
from equip.web.due.duty_form import number_needed
from equip.web.request.forms import chosen, day, decimal, maybe_day, needed, tag, text
from equip.web.request.guard import anybody, manager, writer

bp = Blueprint("due", __name__)


@bp.get("/due")
def due_page() -> ResponseReturnValue:
    anybody()
    today = g.clinic.house.today(g.now)
    found = due_list(g.clinic, today, request.args.get("onward", ""))
    overdue = [one for one in found.lines if one.standing == "overdue"]
    return render_template(
        "due.html",
        today=today,
        seen=found,
        late={(one.item, one.duty): late_use.late_use(g.clinic, one, g.now) for one in overdue},
        growing=[one for one in spores.waiting(g.clinic, g.now) if one.late],
        may_override=duties.may_override(g.clinic),
    )


@bp.get("/due/things/<tag>")
def thing(tag: str) -> ResponseReturnValue:
    """The duties of one thing: how each stands, its meters, what was used while overdue."""
    anybody()
    stands = item_rows.standing_of(g.clinic.store, tag)
    row = item_rows.item_row(g.clinic.store, tag)
    if stands is None or row is None or stands.type == "pack":
        abort(404)
    today = g.clinic.house.today(g.now)
    found = duties.due_of(g.clinic, tag, today)
    return render_template(
        "due_thing.html",
        tag=tag,
        kind=g.clinic.house.kind(stands.type),
        name=row.name,
        stands=stands,
        today=today,
        duties=found,
        late={(one.item, one.duty): late_use.late_use(g.clinic, one, g.now) for one in found},
        been_late=late_use.been_late(g.clinic, tag, g.now),
        meters=duty_rows.meter_readings(g.clinic.store, tag)[-8:],
        work=[
            *work_rows.open_work(g.clinic.store, tag),
            *work_rows.closed_work(g.clinic.store, tag, 8),
        ],
        states=STATES,
        met=duty_rows.duties_met(g.clinic.store, tag)[-12:],
        may_override=duties.may_override(g.clinic),
        paces=paces(g.clinic, today) if any(one.counted_says for one in found) else None,
        closed=calendar(g.clinic, today).moves,
        words=words,
        form=duty_form,
    )


@bp.get("/due/types/<code>")
def of_type(code: str) -> ResponseReturnValue:
    anybody()
    kind = g.clinic.house.types.get(code)
    if kind is None or not kind.tagged:
        abort(404)
    return render_template(
        "due_type.html",
        kind=kind,
        today=g.clinic.house.today(g.now),
        duties=duty_rows.type_duties(g.clinic.store, code),
        words=words,
        form=duty_form,
    )


@bp.post("/due/met")
def met() -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        duty_acts.meet_duty(
            act,
            tag("item"),
            needed("duty"),
            day("done"),
            text("note"),
            not_after=maybe_day("not_after"),
        )
    return redirect(url_for("due.due_page"), code=303)


@bp.post("/due/set")
def set_duty() -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        duty, anchor, goes_by = duty_form.duty_asked(act.house.today(act.now))
        duty_acts.set_duty(act, tag("item"), duty, anchor, **goes_by)
    return redirect(url_for("due.thing", tag=tag("item")), code=303)


@bp.post("/due/types/<code>")
def set_type_duty(code: str) -> ResponseReturnValue:
    person = manager()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        duty, anchor, goes_by = duty_form.duty_asked(act.house.today(act.now), of_type=True)
        duty_acts.set_type_duty(act, code, duty, anchor, **goes_by)
    return redirect(url_for("due.of_type", code=code), code=303)


@bp.post("/due/drop")
def drop() -> ResponseReturnValue:
    person = manager()
    code = text("type")
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        if code:
            duty_acts.drop_duty(act, needed("duty"), text("why"), code=code)
        else:
            duty_acts.drop_duty(act, needed("duty"), text("why"), tag=tag("item"))
    back = url_for("due.of_type", code=code) if code else url_for("due.thing", tag=tag("item"))
    return redirect(back, code=303)


@bp.post("/due/meter")
def meter() -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        meter_acts.read_meter(
            act,
            tag("item"),
            chosen("meter", tuple(words.METERS)),  # type: ignore[arg-type]
            number_needed("reading"),
            how=chosen("how", ("read", "replaced", "rolled-over", "corrects")),  # type: ignore[arg-type]
            ended=decimal("ended"),
            began=decimal("began"),
            note=text("note"),
        )
    return redirect(url_for("due.thing", tag=tag("item")), code=303)
