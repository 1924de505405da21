"""The calibrations of one thing: written down from its certificate, judged, one after the other."""

from collections.abc import Mapping
from datetime import date

from flask import Blueprint, Response, abort, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from markupsafe import Markup

from equip.deliver.picture.svg import svg
from equip.deliver.picture.trend import Trend, picture
from equip.desk.act.act import Refused, acting
from equip.desk.upkeep import duties
from equip.desk.upkeep.measuring import calibration_history, calibrations, in_force
from equip.desk.upkeep.measuring.calibration_history import Quantity
from equip.rulebook.measuring import instruments
from equip.rules.upkeep.measuring.decision_rule import CONFORMS, IN_WORDS
from equip.store.readings import duty_rows, item_rows
from equip.web.due import calibration_form
from equip.web.due.certificate_file import given_back, uploaded
from equip.web.request.guard import anybody, manager

bp = Blueprint("calibration", __name__, url_prefix="/calibration/things")


@bp.get("/<tag>")
def calibration_page(tag: str) -> ResponseReturnValue:
    anybody()
    last = in_force.calibrations(g.clinic, tag)
    begins = instruments().get(request.args.get("sort", ""))
    return _shown(tag, calibration_form.begun(begins, last[-1] if last else None))


@bp.post("/<tag>")
def record(tag: str) -> ResponseReturnValue:
    """Written down, or shown again as it was typed with what is wrong."""
    person = manager()
    try:
        given = calibration_form.asked(uploaded())
        with acting(g.clinic, person.tag, signed=person.tag) as act:
            calibrations.record(act, tag, given)
    except Refused as problem:
        return _shown(tag, request.form, str(problem)), 400
    return redirect(url_for("calibration.calibration_page", tag=tag), code=303)


@bp.get("/<tag>/certificates/<digest>")
def certificate(tag: str, digest: str) -> Response:
    anybody()
    kept = [one for one in in_force.calibrations(g.clinic, tag) if one.certificate == digest]
    if not kept:
        abort(404)
    return given_back(digest, f"calibration-{kept[-1].done}")


def _shown(tag: str, fields: Mapping[str, str], problem: str = "") -> str:
    stands = item_rows.standing_of(g.clinic.store, tag)
    if stands is None or item_rows.item_row(g.clinic.store, tag) is None or stands.type == "pack":
        abort(404)
    today = g.clinic.house.today(g.now)
    found = calibration_history.quantities(g.clinic, tag, today)
    rows = duty_rows.duties_of(g.clinic.store, tag)
    return render_template(
        "calibration.html",
        tag=tag,
        label=duties.label_of(g.clinic, tag),
        stands=stands,
        quantities=found,
        pictures={one.name: _picture(one) for one in found},
        words=CONFORMS,
        rules=IN_WORDS,
        today=today,
        row=next((row for row in rows if row.duty == in_force.CALIBRATION), None),
        staff=[one for one in g.clinic.house.staff.values() if one.active],
        sorts=instruments(),
        sort=request.args.get("sort", ""),
        fields=fields,
        lines=calibration_form.lines(fields),
        problem=problem,
    )


def _picture(one: Quantity) -> Markup | None:
    """The as-found results at the point that drifts most; None where there is no line yet."""
    drift = one.drift
    if drift is None:
        return None
    first, last = drift.results[0].on, drift.results[-1].on
    ends = drift.day or last

    def at(day: date) -> tuple[date, float]:
        return day, float(drift.line.at(day.toordinal())) * 100

    trend = Trend(
        title=f"As-found error of {one.name} at {drift.nominal} {one.unit}",
        says=f"{len(drift.results)} results, % of the limit: "
        + ", ".join(f"{result.on} {result.share * 100:.0f}" for result in drift.results),
        results=[(result.on, float(result.share * 100)) for result in drift.results],
        limits=((100, "+100 %"), (0, "0"), (-100, "−100 %")),
        line=(at(first), at(max(ends, last))),
        solid_until=last,
    )
    return Markup(svg(picture(trend), "trend"))  # noqa: S704 — drawn by us, every word escaped
