"""A scan away from the Bench: what it names and where that belongs. Nothing is written down."""

from flask import Blueprint, g, jsonify, url_for
from flask.typing import ResponseReturnValue

from equip.scan import Reading, UnreadableScan, read, show_tag
from equip.store.fold.items import is_item
from equip.store.readings import item_rows
from equip.web.request.forms import text
from equip.web.request.guard import anybody

bp = Blueprint("elsewhere", __name__)

_FOR_THE_BENCH = "Nothing is written down: scan it at the Bench."


@bp.post("/scanned")
def scanned() -> ResponseReturnValue:
    """What was scanned on another page: its *kind*, a sentence and, where it has one, its page.

    A patient stands in no address and in no answer; what means nothing here is "text".
    """
    anybody()
    try:
        reading = read(text("text"), g.clinic.patients)
    except UnreadableScan as problem:
        return jsonify(kind="unread", says=str(problem), url="")
    return jsonify(_of(reading))


def _of(reading: Reading) -> dict[str, str]:
    match reading.kind:
        case "tag":
            return _tag(reading.value)
        case "word":
            says = f"“{reading.value}” was scanned. {_FOR_THE_BENCH}"
            return {"kind": "act", "says": says, "url": url_for("bench.bench_page")}
        case "patient":
            says = f"A patient was scanned. {_FOR_THE_BENCH}"
            return {"kind": "patient", "says": says, "url": url_for("bench.bench_page")}
        case _:
            return {"kind": "text", "says": "", "url": ""}


def _tag(tag: str) -> dict[str, str]:
    shown = show_tag(tag)
    if is_item(tag):
        row = item_rows.item_row(g.clinic.store, tag)
        if row is None and item_rows.standing_of(g.clinic.store, tag) is None:
            return {"kind": "item", "says": f"{shown} is not on the register.", "url": ""}
        name = shown if row is None else g.clinic.house.label(row)
        return {"kind": "item", "says": f"{name} was scanned.", "url": _page(tag)}
    if tag[0] == "C":
        says = f"A card of the Bench was scanned. {_FOR_THE_BENCH}"
        return {"kind": "act", "says": says, "url": url_for("bench.bench_page")}
    return {"kind": "other", "says": f"{shown} was scanned.", "url": _page(tag)}


def _page(tag: str) -> str:
    match tag[0]:
        case "L":
            return url_for("load.load_page", tag=tag)
        case "T":
            return url_for("lots.lots_page")
        case "B":
            return url_for("people.people_page")
        case "R":
            return url_for("places.places_page")
        case "P":
            return url_for("history.of", subject=tag)
        case _:
            return url_for("stock.thing", tag=tag)
