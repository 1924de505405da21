"""Stock, and the page of one thing with what may be done about it."""

from flask import Blueprint, abort, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act import keep_back
from equip.desk.act.act import acting
from equip.desk.bench.session_today import checks_of
from equip.desk.fitness.not_known import says_not_known
from equip.desk.lookback.water_path import water_path
from equip.desk.machines import may_run
from equip.desk.people import competence
from equip.desk.register import item_fields, items, searches, set_counts, stock
from equip.desk.upkeep.duties import due_of, may_override
from equip.facts import Arrival
from equip.rules.fitness.counting import FOUND, MOMENTS, contents_of, counts_of
from equip.store.readings import item_rows
from equip.web.request.forms import chosen, text
from equip.web.request.forms import tag as tag_of
from equip.web.request.guard import anybody, writer

bp = Blueprint("stock", __name__)


@bp.get("/stock")
def stock_page() -> ResponseReturnValue:
    anybody()
    place = request.args.get("place", "")
    return render_template(
        "stock.html",
        page=may_run.stock_with(g.clinic, stock.stock(g.clinic, g.now, place)),
        missing=searches.all_open(g.clinic),
        uncounted=set_counts.waiting(g.clinic),
        rounds=stock.ROUNDS,
        places=list(g.clinic.house.places.values()),
        place=place,
    )


@bp.get("/stock/<code>")
def of_type(code: str) -> ResponseReturnValue:
    anybody()
    every = may_run.stock_with(g.clinic, stock.stock(g.clinic, g.now))
    found = [shelf for shelf in every.shelves if shelf.type == code]
    if not found:
        abort(404)
    shelf = found[0]
    return render_template("shelf.html", shelf=shelf, shown=stock.columns(shelf))


@bp.get("/things/<tag>")
def thing(tag: str) -> ResponseReturnValue:
    person = anybody()
    found = stock.thing(g.clinic, tag, g.now)
    stands = item_rows.standing_of(g.clinic.store, tag)
    if found is None or stands is None:
        abort(404)
    today = g.clinic.house.today(g.now)
    return render_template(
        "thing.html",
        thing=may_run.thing_with(g.clinic, found, g.now),
        stands=stands,
        now=g.now,
        not_known=says_not_known(g.clinic, stands, g.now),
        kind=g.clinic.house.kind(stands.type),
        row=item_rows.item_row(g.clinic.store, tag),
        shown=item_fields.shown_on("item"),
        aliases=item_rows.aliases_of(g.clinic.store, tag),
        duties=due_of(g.clinic, tag, today),
        may_override=may_override(g.clinic),
        arrivals=items.ARRIVALS,
        lifts=[
            (kept, items.name_of(kept), keep_back.lifted_elsewhere(g.clinic.store, tag, kept))
            for kept in stands.quarantines
        ],
        water=water_path(g.clinic, tag, g.now),
        missing=searches.lines(g.clinic, contents_of(stands).searches),
        found_where=FOUND,
        pieces=contents_of(stands).pieces,
        counts=counts_of(stands),
        moments=MOMENTS,
        checks=checks_of(g.clinic, tag, g.now),
        check_why=competence.asks_why(g.clinic, person.tag, "check", g.now),
    )


@bp.post("/things/<tag>/<what>")
def change(tag: str, what: str) -> ResponseReturnValue:
    """What the register may be told about one thing."""
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        match what:
            case "send-out":
                why = chosen("why", ("loan", "repair", "service"))
                items.send_out(act, tag, text("receiver"), why)  # type: ignore[arg-type]
            case "receive":
                arrival: Arrival = chosen("arrival", tuple(items.ARRIVALS))  # type: ignore[assignment]
                items.arrive(act, tag, arrival, text("sender"))
            case "retire":
                items.retire(act, tag, text("why"))
            case "quarantine":
                how = chosen("how", ("clean-it-now", "bag-it"))
                items.quarantine(act, tag, text("why"), how)  # type: ignore[arg-type]
            case "lift":
                items.lift(act, tag, text("reason"), text("which"), text("confirmed_by"))
            case "join":
                items.join(act, tag_of("set"), tag)
            case "leave":
                items.leave(act, tag, tag_of("item"))
            case "contents":
                set_counts.list_pieces(act, tag, text("pieces", 2000))
            case "found":
                searches.found(act, tag, text("search"), chosen("where", tuple(FOUND)))
            case "lost":
                searches.lost(act, tag, text("search"), text("reason"))
            case _:
                abort(404)
    return redirect(url_for("stock.thing", tag=tag), code=303)
