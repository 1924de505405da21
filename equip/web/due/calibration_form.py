"""The form of a calibration: begun from the last one or from a sort of instrument, and read."""

from collections.abc import Mapping
from decimal import Decimal
from typing import cast, get_args

from flask import request

from equip import typed
from equip.desk.act.act import Refused
from equip.desk.upkeep.certificates import Paper
from equip.desk.upkeep.measuring.calibrations import MOST_POINTS, Given
from equip.facts import Calibrated, PointMeasured
from equip.rulebook.measuring import Instrument
from equip.rules.upkeep.measuring.decision_rule import DecisionRule
from equip.web.request.forms import chosen, day, decimal, maybe_day, needed, text

_SPARE = 2
READ = {
    "nominal": "should read",
    "limit": "may be off by",
    "found": "as found",
    "left": "as left",
    "u": "uncertainty",
}
"""What is asked at each point, as the form names it."""


def asked(paper: Paper | None) -> Given:
    """The calibration out of the form. Lines that hold no number are left out."""
    k = decimal("k")
    points = [_point(line, Decimal(2) if k is None else k) for line in range(MOST_POINTS)]
    return Given(
        quantity=needed("quantity"),
        unit=needed("unit"),
        points=[point for point in points if point is not None],
        decides=cast(DecisionRule, chosen("decides", get_args(DecisionRule))),
        done=day("done"),
        person=text("person"),
        firm=text("firm", 200),
        paper=paper,
        issued=maybe_day("issued"),
        not_after=maybe_day("not_after"),
        note=text("note"),
        meets=bool(text("meets")),
    )


def _point(line: int, k: Decimal) -> PointMeasured | None:
    """One line; None where nothing was read at it."""
    nominal, limit, found, left, u = (_number(name, line) for name in READ)
    if found is None and left is None and u is None:
        return None
    if nominal is None or limit is None:
        raise Refused(
            f"Point {line + 1}: give what it should read and how far off it may be; both are "
            "needed to judge what was read."
        )
    return PointMeasured(nominal=nominal, limit=limit, found=found, left=left, expanded_u=u, k=k)


def _number(name: str, line: int) -> Decimal | None:
    field = f"{name}_{line}"
    try:
        return decimal(field)
    except Refused:
        says = f"Point {line + 1}, {READ[name]}: “{text(field)}” is no number; write it as 36.5."
        raise Refused(says) from None


# --- begun --------------------------------------------------------------------------------------


def begun(instrument: Instrument | None, last: Calibrated | None) -> dict[str, str]:
    """What stands in the fields at first."""
    if instrument is not None:
        fields = {"quantity": instrument.quantity, "unit": instrument.unit, "decides": "simple"}
        points = [(point.nominal, point.limit) for point in instrument.points]
    elif last is not None:
        fields = {"quantity": last.quantity, "unit": last.unit, "decides": last.decides}
        fields["firm"], fields["person"] = last.firm, last.person
        points = [(point.nominal, point.limit) for point in last.points]
    else:
        return {"decides": "simple"}
    for line, (nominal, limit) in enumerate(points[:MOST_POINTS]):
        fields |= {f"nominal_{line}": f"{nominal}", f"limit_{line}": f"{limit}"}
    return fields


def lines(fields: Mapping[str, str]) -> int:
    """How many lines are shown: those that are filled and two to spare, or as many as asked."""
    wanted = request.args.get("lines", "")
    if typed.is_digits(wanted, 2):
        return min(max(int(wanted), 1), MOST_POINTS)
    filled = [line for line in range(MOST_POINTS) if any(fields.get(f"{n}_{line}") for n in READ)]
    return min(max(filled, default=0) + 1 + _SPARE, MOST_POINTS)
