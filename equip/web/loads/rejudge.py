"""Judging stored cycles again: the form, and the table of what flips."""

from decimal import Decimal

from flask import Blueprint, g, render_template, request
from flask.typing import ResponseReturnValue

from equip import facts, rulebook
from equip.desk.act.act import acting
from equip.desk.cycles import rejudging
from equip.store.readings import item_rows
from equip.web.request.forms import chosen, day, decimal, maybe_day, needed, tag
from equip.web.request.guard import anybody, manager

bp = Blueprint("rejudge", __name__, url_prefix="/setup/re-judge")

_FILLED = ("machine", "since", "until", "offset_k", "reason")
_LONGEST = 200

BOOKS = (rejudging.CLINICS_OWN, *rulebook.BOOKS)


@bp.get("")
def rejudge_page() -> ResponseReturnValue:
    """The form; a calibration that found a sensor wrong fills it in by its address."""
    anybody()
    return _shown(None)


@bp.post("")
def rejudge() -> ResponseReturnValue:
    """The table of what flips. It is shown at once; that it was asked stands in the ledger."""
    person = manager()
    sensor = rejudging.Sensor(
        offset_k=_decimal("offset_k", "0"),
        gain=_decimal("gain", "1"),
        uncertainty_k=_decimal("uncertainty_k", "0"),
    )
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        result = rejudging.rejudge(
            act,
            tag("machine"),
            day("since"),
            day("until"),
            needed("reason"),
            book=chosen("book", BOOKS),
            rules_of=maybe_day("rules_of"),
            sensor=sensor,
        )
    told = next(one for one in act.entries if isinstance(one.fact, facts.Rejudged))
    return _shown(result, told.path)


def _shown(result: rejudging.Result | None, entry: str = "") -> str:
    house = g.clinic.house
    machines = [
        row for row in item_rows.items(g.clinic.store) if house.kind(row.type).process is not None
    ]
    return render_template(
        "rejudge.html",
        result=result,
        entry=entry,
        books=BOOKS,
        machines=machines,
        today=house.today(g.now),
        filled={name: request.args.get(name, "")[:_LONGEST] for name in _FILLED},
    )


def _decimal(name: str, default: str) -> Decimal:
    found = decimal(name)
    return Decimal(default) if found is None else found
