"""What a soak bath is filled with, and filling it anew."""

from flask import Blueprint, abort, g, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import acting
from equip.desk.machines import baths
from equip.facts import Process
from equip.rules.fitness.bath import why_not_fill
from equip.store.readings import item_rows, lot_rows
from equip.web.loads.address import process_at
from equip.web.request.forms import needed, text
from equip.web.request.guard import anybody, writer

bp = Blueprint("bath", __name__, url_prefix="/machines")

_SHOWN = 20


@bp.get("/<tag>/bath")
def bath_page(tag: str) -> ResponseReturnValue:
    anybody()
    house, store = g.clinic.house, g.clinic.store
    agents = baths.agents_of(_process(tag))
    found = lot_rows.fillings_of(store, tag, g.now, house.zone, _SHOWN)
    name = found[0].lot.stated.agent if found else agents[0]
    lots = lot_rows.lots(store, house.zone)
    return render_template(
        "bath.html",
        tag=tag,
        machine=item_rows.item_row(store, tag),
        fillings=found,
        day=found[0].day_of_use(g.now, house.zone) if found else 0,
        days=baths.days_of(g.clinic, name, g.now),
        why_not=baths.why_not(g.clinic, tag, name, g.now),
        fits=[lot for lot in lots if not why_not_fill(lot, agents, house.today(g.now))],
    )


@bp.post("/<tag>/bath")
def fill(tag: str) -> ResponseReturnValue:
    person = writer()
    _process(tag)
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        baths.fill(act, act.standing(tag), needed("lot"), text("note"))
    return redirect(url_for("bath.bath_page", tag=tag), code=303)


def _process(tag: str) -> Process:
    process = process_at(tag)
    if not baths.agents_of(process):
        abort(404)
    return process
