"""Setup: its front page, how the house itself stands, and the register."""

from datetime import timedelta
from pathlib import Path

from flask import Blueprint, current_app, flash, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Refused, acting
from equip.desk.register import import_file, items
from equip.scan import read_tag
from equip.store.ledger import ledger, verifying
from equip.store.post import agenda
from equip.store.readings import item_rows
from equip.web.request.forms import chosen, needed, text
from equip.web.request.guard import anybody, manager

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


@bp.get("/register")
def register() -> ResponseReturnValue:
    anybody()
    return render_template(
        "register.html",
        rows=item_rows.items(g.clinic.store),
        arrivals=items.ARRIVALS,
        columns=import_file.COLUMNS,
        problems=(),
        says="",
    )


@bp.post("/register")
def add() -> ResponseReturnValue:
    person = manager()
    kind = g.clinic.house.types.get(needed("type"))
    if kind is None:
        raise Refused("Choose a type.")
    tag = text("tag")
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        made = items.add_item(
            act,
            kind,
            chosen("arrival", tuple(items.ARRIVALS)),  # type: ignore[arg-type]
            tag=read_tag(tag).text if tag else "",
            name=text("name"),
            serial=text("serial"),
            maker_code=text("maker_code"),
            place=text("place"),
            aliases=(text("old_name"),) if text("old_name") else (),
        )
    return redirect(url_for("stock.thing", tag=made), code=303)


@bp.post("/register/file")
def add_file() -> ResponseReturnValue:
    """A register from a CSV file: every fault by line; all of it, or the good lines by consent."""
    person = manager()
    upload = request.files.get("file")
    if upload is None or not upload.filename:
        raise Refused("Choose a file first.")
    try:
        found = import_file.read_register(upload.read(), g.clinic.house, g.clinic.store)
    except import_file.UnreadableFile as problem:
        raise Refused(str(problem)) from None
    partial = bool(text("partial"))
    taken = 0
    if found.rows and (partial or not found.problems):
        with acting(g.clinic, person.tag, signed=person.tag) as act:
            taken = len(import_file.take_in(act, found.rows))
    return render_template(
        "register.html",
        rows=item_rows.items(g.clinic.store),
        arrivals=items.ARRIVALS,
        columns=import_file.COLUMNS,
        problems=found.problems,
        says=f"{taken} things are on the register now; {len(found.problems)} faults.",
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
