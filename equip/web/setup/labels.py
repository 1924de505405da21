"""Labels: tags, cards and badges to print, as PDF or PNG; the symbol of one tag."""

import re

from flask import Blueprint, Response, abort, g, render_template, request
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Refused, acting
from equip.desk.register import labels
from equip.web.request.forms import chosen, whole
from equip.web.request.guard import anybody, writer
from labels.symbol import png

bp = Blueprint("labels", __name__)


@bp.get("/labels")
def labels_page() -> ResponseReturnValue:
    anybody()
    return render_template("labels.html", designs=labels.designs(), kinds=labels.BATCHES)


@bp.get("/labels/<tag>.png")
def symbol(tag: str) -> ResponseReturnValue:
    anybody()
    if not labels.is_tag(tag):
        abort(404)
    return Response(png(tag), mimetype="image/png")


@bp.post("/labels")
def sheet() -> ResponseReturnValue:
    """A sheet of labels. Fresh pack labels take their numbers here, once."""
    person = writer()
    batch = chosen("batch", tuple(labels.BATCHES))
    design = chosen("design", labels.designs())
    form = chosen("form", ("pdf", "png"))
    tags = [one for one in re.split(r"[\r\n,;]+", request.form.get("tags", "")) if one.strip()]
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        found = labels.batch(act, batch, whole("count", 1), tags)
    try:
        data = labels.sheet(found, design, form, first=whole("first", 1))
    except ValueError as problem:
        raise Refused(str(problem)) from None
    kind = "application/pdf" if form == "pdf" else "image/png"
    headers = {"Content-Disposition": f'inline; filename="labels-{batch}.{form}"'}
    return Response(data, mimetype=kind, headers=headers)
