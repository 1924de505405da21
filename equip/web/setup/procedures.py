"""Setup, Procedures: what each kind of procedure needs and how long it takes."""

from flask import Blueprint, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Refused, acting
from equip.desk.register import procedures
from equip.store.readings import clinic_rows
from equip.web.request.forms import text, whole
from equip.web.request.guard import anybody, manager

bp = Blueprint("procedures", __name__, url_prefix="/setup/procedures")


@bp.get("")
def procedures_page() -> ResponseReturnValue:
    anybody()
    return _page()


@bp.post("")
def define() -> ResponseReturnValue:
    """A procedure, or a change of the one of that name; refused, the form comes back as typed."""
    person = manager()
    try:
        with acting(g.clinic, person.tag, signed=person.tag) as act:
            procedures.define(
                act, text("name", 80), whole("minutes"), _needs(), offered=not text("ended")
            )
    except Refused as problem:
        return _page(str(problem))
    return redirect(url_for("procedures.procedures_page"), code=303)


def _needs() -> list[tuple[str, int]]:
    """The rows of the form that choose a type; one without a number means one."""
    return [
        (kind, whole(f"count_{row}", 1))
        for row in range(1, procedures.ROWS + 1)
        if (kind := text(f"type_{row}"))
    ]


def _page(says: str = "") -> str:
    kinds = [kind for kind in g.clinic.house.types.values() if procedures.needable(kind)]
    return render_template(
        "procedures.html",
        procedures=clinic_rows.procedures(g.clinic.store),
        kinds=sorted(kinds, key=lambda kind: kind.name),
        rows=procedures.ROWS,
        says=says,
        given=request.form,
    )
