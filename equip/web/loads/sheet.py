"""A machine's sheet of the day, signed, and its figures over time."""

from flask import Blueprint, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import acting
from equip.desk.cycles import charts
from equip.desk.machines import may_run, sheets
from equip.desk.people import competence
from equip.rules.machines.sheet import unrecorded
from equip.store.readings import item_rows, machine_rows
from equip.web.loads.address import process_at
from equip.web.request.forms import chosen, needed, text
from equip.web.request.guard import anybody, writer

bp = Blueprint("sheet", __name__)

# What a reading is called beside its field.
READINGS = {
    "start_kpa": "Pressure at the start, kPa absolute",
    "end_kpa": "Pressure at the end, kPa absolute",
    "settle_s": "Settled for, seconds",
    "timed_s": "Timed for, seconds",
    "us_cm": "Conductivity, µS/cm",
}


@bp.get("/machines/<tag>/sheet")
def sheet_page(tag: str) -> ResponseReturnValue:
    person = anybody()
    process = process_at(tag)
    done = machine_rows.tests_of(g.clinic.store, tag)
    return render_template(
        "sheet.html",
        sheet=sheets.sheet(g.clinic, tag, process, g.now),
        against=[why.says for why in may_run.why_not_run(g.clinic, tag, g.now)],
        machine=item_rows.item_row(g.clinic.store, tag),
        why=competence.asks_why(g.clinic, person.tag, "sign", g.now),
        kind=g.clinic.house.kind(item_rows.standings(g.clinic.store, [tag])[0].type),
        names=READINGS,
        done=done[-40:][::-1],
        unrecorded=unrecorded(machine_rows.cycle_numbers(g.clinic.store, tag)),
    )


@bp.get("/machines/<tag>/charts")
def control_charts(tag: str) -> ResponseReturnValue:
    anybody()
    process_at(tag)
    found = charts.charts(g.clinic, tag, g.now)
    return render_template(
        "charts.html",
        charts=found,
        signals=charts.signals(found),
        machine=item_rows.item_row(g.clinic.store, tag),
        kind=g.clinic.house.kind(item_rows.standings(g.clinic.store, [tag])[0].type),
    )


@bp.post("/machines/<tag>/sheet/test")
def test(tag: str) -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        passed = None
        if "passed" in request.form:
            passed = chosen("passed", ("yes", "no")) == "yes"
        sheets.record(
            act,
            tag,
            needed("test"),
            passed=passed,
            given={name: text(name) for name in READINGS},
            cycle_no=text("cycle_no", 8),
            note=text("note"),
        )
    return redirect(url_for("sheet.sheet_page", tag=tag), code=303)


@bp.post("/machines/<tag>/sheet/sign")
def sign(tag: str) -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        sheets.sign(act, tag, text("all_the_same"))
    return redirect(url_for("sheet.sheet_page", tag=tag), code=303)
