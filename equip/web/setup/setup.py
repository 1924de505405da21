"""Setup: its front page, and how the book itself stands."""

from datetime import timedelta
from pathlib import Path

from flask import Blueprint, current_app, flash, g, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from equip.store.ledger import ledger, verifying
from equip.store.post import agenda
from equip.store.readings import item_rows
from equip.web.request.guard import anybody

bp = Blueprint("setup", __name__, url_prefix="/setup")


@bp.get("")
def setup_page() -> ResponseReturnValue:
    anybody()
    metronome = current_app.extensions["parts"].metronome
    store = g.clinic.store
    return render_template(
        "setup.html",
        items=len(item_rows.items(store)),
        metronome=metronome,
        waiting=len(agenda.waiting(store)),
        stuck=len(agenda.stuck(store)),
        heads=ledger.heads(store),
        late=metronome is not None
        and metronome.last_tick is not None
        and g.now - metronome.last_tick > timedelta(minutes=5),
    )


@bp.post("/verify")
def verify() -> ResponseReturnValue:
    """Recompute every seal now; the whole proof with the projections is on the command line."""
    anybody()
    data = Path(g.clinic.settings.data)
    fault = verifying.verify_chain(g.clinic.store, verifying.read_heads(data / "heads.txt"))
    if fault is None:
        flash("Every seal agrees, and nothing is missing.")
    else:
        flash(f"Broken at {fault.site}/{fault.position}: {fault.says}")
    return redirect(url_for("setup.setup_page"), code=303)
