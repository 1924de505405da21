"""Setup, Places: rooms, stores and benches."""

from flask import Blueprint, g, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import acting
from equip.desk.register import items
from equip.web.request.forms import needed
from equip.web.request.guard import anybody, manager

bp = Blueprint("places", __name__, url_prefix="/setup")


@bp.get("/places")
def places_page() -> ResponseReturnValue:
    anybody()
    return render_template("places.html")


@bp.post("/places")
def add_place() -> ResponseReturnValue:
    person = manager()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        items.add_place(act, needed("name"), needed("sort"))
    return redirect(url_for("places.places_page"), code=303)
