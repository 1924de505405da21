"""What is exposed now and ever, one exposure with its path, and the uses nobody can trace."""

from flask import Blueprint, abort, g, render_template, request
from flask.typing import ResponseReturnValue

from equip.desk.lookback import exposed_now
from equip.desk.lookback.path import path_page
from equip.web.request.guard import anybody

bp = Blueprint("exposed", __name__, url_prefix="/history")


@bp.get("/exposed")
def exposed_page() -> ResponseReturnValue:
    """Open exposures, and apart from them those that a look-back decided; the newest first."""
    anybody()
    onward, decided = request.args.get("onward", ""), request.args.get("decided", "")
    return render_template(
        "exposed.html",
        panel=exposed_now.panel(g.clinic),
        open=exposed_now.listed(g.clinic, is_open=True, onward=onward),
        closed=exposed_now.listed(g.clinic, is_open=False, onward=decided),
        further={"open": bool(onward), "closed": bool(decided)},
    )


@bp.get("/exposed/<item>/<path:use>")
def exposure_page(item: str, use: str) -> ResponseReturnValue:
    anybody()
    found = exposed_now.one(g.clinic, item, use)
    if found is None:
        abort(404)
    picture = path_page.shown(g.clinic, found.found)
    return render_template("exposure.html", one=found, picture=picture)


@bp.get("/gaps")
def gaps() -> ResponseReturnValue:
    anybody()
    onward = request.args.get("onward", "")
    found, more = exposed_now.gaps(g.clinic, onward)
    return render_template(
        "gaps.html",
        panel=exposed_now.panel(g.clinic),
        gaps=found,
        onward=more,
        further=bool(onward),
    )
