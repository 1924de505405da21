"""Setup, Benches: act cards, and keys for devices that post scans."""

from flask import Blueprint, g, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Refused
from equip.scan import CARDS
from equip.store.kept import devices, people
from equip.web.request.forms import needed
from equip.web.request.guard import anybody, manager

bp = Blueprint("benches", __name__, url_prefix="/setup")


@bp.get("/benches")
def benches_page() -> ResponseReturnValue:
    anybody()
    return _shown("")


@bp.post("/benches")
def add_bench() -> ResponseReturnValue:
    """A bench key for the JSON API; it is shown once and kept only as a hash."""
    person = manager()
    key = people.open_session(g.clinic.store, person.tag, "key", g.now, label=needed("label"))
    return _shown(key)


def _shown(key: str) -> str:
    store = g.clinic.store
    keys, named = people.keys(store), devices.devices(store)
    return render_template("benches.html", cards=CARDS, key=key, keys=keys, devices=named)


@bp.post("/benches/<key>/close")
def close_bench(key: str) -> ResponseReturnValue:
    """A bench key that was lost opens nothing any more."""
    manager()
    if not people.close_key(g.clinic.store, key):
        raise Refused("That bench key is closed already.")
    return redirect(url_for("benches.benches_page"), code=303)
