"""Logs as they came in: that of a load, and one that belonged to no load."""

from flask import Blueprint, Response, abort, g, redirect, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import acting
from equip.desk.cycles.logs import explain as explain_log
from equip.store.kept import files
from equip.store.readings import log_rows
from equip.web.loads.address import load_at
from equip.web.request.forms import text
from equip.web.request.guard import anybody, writer

bp = Blueprint("logs", __name__)


@bp.get("/loads/<tag>/log")
def load_log(tag: str) -> ResponseReturnValue:
    """The log exactly as it was handed in."""
    anybody()
    load = load_at(tag)
    data = files.fetch(g.clinic.store, load.log) if load.log else None
    if data is None:
        abort(404)
    name = f"load-{tag}-cycle-{load.cycle_no or 'unnumbered'}.log"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(data, mimetype="application/octet-stream", headers=headers)


@bp.get("/logs/<sha>")
def stray_log(sha: str) -> ResponseReturnValue:
    """A log that belonged to no load when it came in, exactly as it came."""
    anybody()
    found = log_rows.stray_log(g.clinic.store, sha)
    data = files.fetch(g.clinic.store, sha) if found else None
    if data is None:
        abort(404)
    headers = {"Content-Disposition": f'attachment; filename="log-{sha[:12]}.log"'}
    return Response(data, mimetype="application/octet-stream", headers=headers)


@bp.post("/logs/<sha>")
def explain(sha: str) -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        explain_log(act, sha, text("reason"))
    return redirect(url_for("loads.loads_page"), code=303)
