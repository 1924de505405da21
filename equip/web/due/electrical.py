"""The electrical safety tests of one thing: written down from the report, judged, compared."""

from collections.abc import Mapping
from typing import cast, get_args

from flask import Blueprint, Response, abort, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Refused, acting
from equip.desk.upkeep import duties
from equip.desk.upkeep.certificates import Paper
from equip.desk.upkeep.measuring import electrical_tests, in_force
from equip.desk.upkeep.measuring.electrical_tests import Given
from equip.rules.upkeep.measuring.electrical import Class, Cord, Method, Part
from equip.store.readings import duty_rows, item_rows
from equip.web.due.certificate_file import given_back, uploaded
from equip.web.request.forms import chosen, day, decimal, text
from equip.web.request.guard import anybody, manager

bp = Blueprint("electrical", __name__, url_prefix="/electrical/things")


@bp.get("/<tag>")
def electrical_page(tag: str) -> ResponseReturnValue:
    anybody()
    return _shown(tag, {})


@bp.post("/<tag>")
def record(tag: str) -> ResponseReturnValue:
    """Written down, or shown again as it was typed with what is wrong."""
    person = manager()
    try:
        given = _asked(uploaded())
        with acting(g.clinic, person.tag, signed=person.tag) as act:
            electrical_tests.record(act, tag, given)
    except Refused as problem:
        return _shown(tag, request.form, str(problem)), 400
    return redirect(url_for("electrical.electrical_page", tag=tag), code=303)


@bp.get("/<tag>/certificates/<digest>")
def certificate(tag: str, digest: str) -> Response:
    anybody()
    kept = [one for one in in_force.electrical_tests(g.clinic, tag) if one.certificate == digest]
    if not kept:
        abort(404)
    return given_back(digest, f"electrical-{kept[-1].done}")


def _asked(paper: Paper | None) -> Given:
    earth = [decimal("earth_ohm"), decimal("earth_ohm_reversed")]
    return Given(
        protection=cast(Class, chosen("protection", get_args(Class))),
        done=day("done"),
        cord=cast(Cord, chosen("cord", get_args(Cord))) if text("cord") else None,
        method=cast(Method, chosen("method", get_args(Method))) if text("method") else None,
        part=cast(Part, chosen("part", get_args(Part))) if text("part") else None,
        earth=[one for one in earth if one is not None],
        cord_ohm=decimal("cord_ohm"),
        leakage_ua=decimal("leakage_ua"),
        applied_ua=decimal("applied_ua"),
        paper=paper,
        person=text("person"),
        firm=text("firm", 200),
        note=text("note"),
        meets=bool(text("meets")),
    )


def _shown(tag: str, fields: Mapping[str, str], problem: str = "") -> str:
    stands = item_rows.standing_of(g.clinic.store, tag)
    if stands is None or item_rows.item_row(g.clinic.store, tag) is None or stands.type == "pack":
        abort(404)
    told = in_force.electrical_tests(g.clinic, tag)
    rows = duty_rows.duties_of(g.clinic.store, tag)
    return render_template(
        "electrical.html",
        tag=tag,
        label=duties.label_of(g.clinic, tag),
        stands=stands,
        told=told,
        reference=electrical_tests.reference(told, told[-1]) if told else None,
        today=g.clinic.house.today(g.now),
        row=next((row for row in rows if row.duty == in_force.ELECTRICAL), None),
        staff=[one for one in g.clinic.house.staff.values() if one.active],
        fields=fields,
        problem=problem,
    )
