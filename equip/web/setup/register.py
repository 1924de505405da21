"""The register: one item added by form, many from a file; what is on it."""

from collections.abc import Sequence

from flask import Blueprint, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Refused, acting
from equip.desk.register import import_file, item_fields, items
from equip.desk.register.import_file import Problem
from equip.rules.wording import counted
from equip.store.readings import item_rows
from equip.web.request.forms import needed, text
from equip.web.request.guard import anybody, manager

bp = Blueprint("register", __name__, url_prefix="/setup/register")


@bp.get("")
def register_page() -> ResponseReturnValue:
    anybody()
    return _page()


def _page(problems: Sequence[Problem] = (), says: str = "") -> str:
    return render_template(
        "register.html",
        rows=item_rows.items(g.clinic.store),
        arrivals=items.ARRIVALS,
        fields=item_fields.FIELDS,
        shown=item_fields.shown_on("register"),
        columns=import_file.COLUMNS,
        problems=problems,
        says=says,
    )


@bp.post("")
def add_item() -> ResponseReturnValue:
    person = manager()
    asked = [field for field in item_fields.FIELDS if field.control]
    texts = {
        field.name: needed(field.name) if field.needed else text(field.name, field.most)
        for field in asked
    }
    new, problems = item_fields.read_item(texts, g.clinic.house, g.clinic.store)
    if new is None or problems:
        raise Refused(" ".join(problems))
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        tag = item_fields.put(act, new)
    return redirect(url_for("stock.thing", tag=tag), code=303)


@bp.post("/file")
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
    taken = 0
    if found.rows and (text("partial") or not found.problems):
        with acting(g.clinic, person.tag, signed=person.tag) as act:
            taken = len(import_file.take_in(act, found.rows))
    faults = counted(len(found.problems), "fault")
    return _page(found.problems, f"{counted(taken, 'item')} taken in; {faults} in the file.")
