"""Mix a solution: both ways, by volumes. It writes nothing down."""

from decimal import Decimal

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Refused
from equip.desk.machines import mixing
from equip.rules.cycles.typed.fields import BadValue, read_decimal
from equip.web.request.guard import anybody

bp = Blueprint("mixing", __name__, url_prefix="/stock/mix")

_TO_STRENGTH = ("stock_percent", "target_ppm", "total_ml")
_OF_VOLUMES = ("stock_percent", "stock_ml", "water_ml")
_NAMES = {
    "stock_percent": "Stock in per cent",
    "target_ppm": "Strength in ppm",
    "total_ml": "Whole in ml",
    "stock_ml": "Stock in ml",
    "water_ml": "Water in ml",
}


@bp.get("")
def mixing_page() -> ResponseReturnValue:
    anybody()
    mixed, says = None, ""
    try:
        mixed = _mixed()
    except Refused as problem:
        says = str(problem)
    return render_template(
        "mix.html", mixed=mixed, says=says, given=request.args, way=request.args.get("way", "")
    )


def _mixed() -> mixing.Mixed | None:
    match request.args.get("way"):
        case "strength":
            return mixing.to_strength(*map(_number, _TO_STRENGTH))
        case "volumes":
            return mixing.of_volumes(*map(_number, _OF_VOLUMES))
        case _:
            return None


def _number(name: str) -> Decimal:
    try:
        value = read_decimal(request.args.get(name, ""), _NAMES[name], most=10_000_000)
    except BadValue as problem:
        raise Refused(str(problem)) from None
    if value is None:
        raise Refused(f"{_NAMES[name]} is empty: fill it in.")
    return value
