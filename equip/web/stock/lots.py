"""Lots: what is in use and until when; one comes in, is opened, is taken out of use."""

from flask import Blueprint, abort, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import acting
from equip.desk.machines import lots
from equip.facts import Stated
from equip.rules.fitness.lots import why_not_serve
from equip.store.readings import lot_rows
from equip.web.request.forms import chosen, day, decimal, needed, text, whole
from equip.web.request.guard import anybody, manager, writer

bp = Blueprint("lots", __name__, url_prefix="/stock/lots")


@bp.get("")
def lots_page() -> ResponseReturnValue:
    anybody()
    house = g.clinic.house
    today = house.today(g.now)
    every = lot_rows.lots(g.clinic.store, house.zone)
    return render_template(
        "lots.html",
        serving=[(lot, why_not_serve(lot, today)) for lot in every if not lot.finished],
        finished=[lot for lot in every if lot.finished],
        sorts=lots.SORTS,
        agents=lots.agents(house.rules(g.now)),
        stops={lot.tag: lots.stops_in_words(house.rules(g.now), lot) for lot in every},
    )


@bp.post("")
def add() -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        lots.add(
            act,
            chosen("sort", tuple(lots.SORTS)),  # type: ignore[arg-type]
            needed("name"),
            needed("number"),
            expires=day("expires") if text("expires") else None,
            stated=_stated(),
        )
    return redirect(url_for("lots.lots_page"), code=303)


@bp.post("/<tag>/<what>")
def change(tag: str, what: str) -> ResponseReturnValue:
    person = manager() if what == "describe" else writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        match what:
            case "describe":
                lots.describe(act, tag, text("agent"))
            case "open":
                lots.open_lot(act, tag)
            case "finish":
                lots.finish(act, tag, text("why"))
            case _:
                abort(404)
    return redirect(url_for("lots.lots_page"), code=303)


def _stated() -> Stated:
    return Stated(
        contact_s=whole("contact_s") or None,
        open_days=whole("open_days") or None,
        agent=request.form.get("agent", "").strip(),
        type=whole("type") or None,
        celsius=decimal("celsius"),
        seconds=decimal("seconds"),
        incubate_h=whole("incubate_h") or None,
        percent=decimal("percent"),
    )
