"""Somebody was hurt: the sheet for occupational health, on the screen and on paper."""

from flask import Blueprint, Response, abort, g, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from equip.deliver.paper.injury import pdf
from equip.desk.act.act import acting
from equip.desk.lookback import injury_sheet
from equip.store.ledger.ledger import Entry
from equip.web.request.forms import chosen, needed
from equip.web.request.guard import anybody, manager

bp = Blueprint("hurt", __name__, url_prefix="/hurt")


@bp.get("/<tag>")
def newest(tag: str) -> ResponseReturnValue:
    """The sheet of the last time that this hurt somebody."""
    anybody()
    entry = injury_sheet.newest_injury(g.clinic, tag)
    if entry is None:
        abort(404)
    return redirect(url_for("hurt.hurt_page", site=entry.site, position=entry.position), code=303)


@bp.get("/<site>/<int:position>")
def hurt_page(site: str, position: int) -> ResponseReturnValue:
    anybody()
    entry = _entry(site, position)
    return render_template(
        "hurt.html",
        sheet=injury_sheet.sheet(g.clinic, entry, g.now),
        entry=entry,
        is_unmasked=False,
    )


@bp.get("/<site>/<int:position>/sheet.pdf")
def on_paper(site: str, position: int) -> ResponseReturnValue:
    """The sheet on paper, patients by their tokens."""
    anybody()
    entry = _entry(site, position)
    return _pdf(pdf(injury_sheet.sheet(g.clinic, entry, g.now)), entry)


@bp.post("/<site>/<int:position>/unmask")
def unmask(site: str, position: int) -> ResponseReturnValue:
    """A manager looks up who the patients are, with a reason that stays in the book."""
    person = manager()
    how = chosen("how", ("screen", "paper"))
    entry, reason = _entry(site, position), needed("reason")
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        references = injury_sheet.unmask(act, entry, reason)
    shown = injury_sheet.sheet(g.clinic, entry, g.now, references)
    if how == "paper":
        return _pdf(pdf(shown), entry)
    return render_template("hurt.html", sheet=shown, entry=entry, is_unmasked=True)


def _entry(site: str, position: int) -> Entry:
    entry = injury_sheet.injury_at(g.clinic, site, position)
    if entry is None:
        abort(404)
    return entry


def _pdf(data: bytes, entry: Entry) -> Response:
    name = f"injury-{entry.site}-{entry.position}.pdf"
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return Response(data, mimetype="application/pdf", headers=headers)
