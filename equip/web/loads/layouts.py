"""How a machine writes its log: the form, its live preview, and what was said before."""

from dataclasses import dataclass

from flask import Blueprint, Response, abort, flash, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Refused, acting
from equip.desk.cycles import layouts, logs
from equip.desk.cycles.layouts import Trial
from equip.desk.loads import watched_folder
from equip.logs import layout as log_layout
from equip.logs.layout import BadLayout, Layout
from equip.store.kept import files
from equip.store.readings import log_rows
from equip.store.readings.item_rows import ItemRow
from equip.web.loads.layout_form import described, filled
from equip.web.request.forms import text
from equip.web.request.guard import anybody, manager

bp = Blueprint("layouts", __name__, url_prefix="/setup/logs")

_PLAIN = Layout(pressure="kpa")
"""The plain log as a layout: what a form begins with where nothing was described."""


@dataclass(frozen=True, slots=True)
class Tried:
    """What a form came to: the layout or why there is none, and what a log showed."""

    json: str = ""
    wrong: str = ""
    trial: Trial | None = None
    of: str = ""


@bp.get("")
def layouts_page() -> ResponseReturnValue:
    anybody()
    store = g.clinic.store
    machines = [(row, log_rows.layouts_of(store, row.tag)[:1]) for row in logs.machines(g.clinic)]
    root = g.clinic.settings.logs
    unread = watched_folder.unread(root) if root else []
    return render_template("log_layouts.html", machines=machines, root=root, unread=unread)


@bp.get("/<tag>")
def layout_page(tag: str) -> ResponseReturnValue:
    anybody()
    row = _machine(tag)
    now = log_rows.layout_of(g.clinic.store, tag)
    layout = log_layout.from_json(now) if now else _PLAIN
    sample = log_rows.newest_log(g.clinic.store, tag)
    form = {**filled(layout), "reason": "", "sample": sample}
    return _shown(row, form, _tried(row, form, None))


@bp.post("/<tag>")
def keep(tag: str) -> ResponseReturnValue:
    """The preview without a script, or the layout kept; a form that will not do comes back."""
    person = manager()
    row = _machine(tag)
    form = {**dict(request.form), "reason": text("reason"), "sample": _sample()}
    data = files.fetch(g.clinic.store, form["sample"])
    problem = ""
    if text("do") == "keep":
        try:
            with acting(g.clinic, person.tag, signed=person.tag) as act:
                if data is None:
                    raise Refused("Choose one of the machine’s own logs: it is tried first.")
                layouts.describe(act, tag, described(form), data, form["reason"])
        except (Refused, BadLayout) as refused:
            problem = str(refused)
        else:
            flash("The logs of this machine are read so from now on.")
            return redirect(url_for("layouts.layout_page", tag=tag), code=303)
    page = _shown(row, form, _tried(row, form, data), problem)
    return page, 400 if problem else 200


@bp.post("/<tag>/plain")
def plain(tag: str) -> ResponseReturnValue:
    person = manager()
    _machine(tag)
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        layouts.back_to_plain(act, tag, text("reason"))
    return redirect(url_for("layouts.layout_page", tag=tag), code=303)


@bp.post("/<tag>/preview")
def preview(tag: str) -> ResponseReturnValue:
    """The preview alone, for the script of the page; nothing is kept."""
    manager()
    row = _machine(tag)
    upload = request.files.get("log")
    data = upload.read() if upload is not None and upload.filename else None
    whole = not text("part")
    tried = _tried(row, dict(request.form), data, whole=whole)
    return render_template("_log_preview.html", tried=tried)


@bp.get("/<tag>/layout.json")
def download(tag: str) -> ResponseReturnValue:
    """The layout that holds, as `judge --layout` reads it."""
    anybody()
    _machine(tag)
    now = log_rows.layout_of(g.clinic.store, tag)
    if not now:
        abort(404)
    headers = {"Content-Disposition": f'attachment; filename="layout-{tag}.json"'}
    return Response(now, mimetype="application/json", headers=headers)


def _tried(row: ItemRow, form: dict[str, str], data: bytes | None, *, whole: bool = True) -> Tried:
    """What *form* describes, tried on *data*, or on the log it was tried on before."""
    try:
        layout = described(form)
    except BadLayout as problem:
        return Tried(wrong=str(problem))
    wrong = next(log_layout.faults(layout), "")
    json = "" if wrong else log_layout.to_json(layout).decode()
    sample = form.get("sample", "")
    if data is None and sample:
        data = files.fetch(g.clinic.store, sample)
    if data is None:
        return Tried(json, wrong)
    names = logs.names_of(g.clinic.store, row.tag)
    return Tried(json, wrong, layouts.try_on(layout, data, names, whole=whole))


def _sample() -> str:
    """The log of the form, kept so that the form can come back with it; its hash."""
    upload = request.files.get("log")
    if upload is None or not upload.filename:
        return text("sample", 64)
    data, name = upload.read(), upload.filename
    with g.clinic.store.writing():
        return files.keep(g.clinic.store, data, name)


def _shown(row: ItemRow, form: dict[str, str], tried: Tried, problem: str = "") -> str:
    return render_template(
        "log_layout.html",
        machine=row,
        kind=g.clinic.house.kind(row.type),
        form=form,
        tried=tried,
        problem=problem,
        told=log_rows.layouts_of(g.clinic.store, row.tag),
    )


def _machine(tag: str) -> ItemRow:
    found = next((row for row in logs.machines(g.clinic) if row.tag == tag), None)
    if found is None:
        abort(404)
    return found
