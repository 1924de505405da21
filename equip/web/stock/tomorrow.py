"""“Enough for tomorrow?”: a list typed, the answer beside it. It writes nothing down."""

from datetime import timedelta

from flask import Blueprint, g, render_template, request
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Refused
from equip.desk.planning import tomorrow
from equip.store.readings import clinic_rows
from equip.typed import calendar_day
from equip.web.request.forms import day as day_of
from equip.web.request.guard import anybody, writer

bp = Blueprint("tomorrow", __name__, url_prefix="/stock/tomorrow")

_MOST_TYPED = 20_000


@bp.get("")
def tomorrow_page() -> ResponseReturnValue:
    anybody()
    hours = tomorrow.usual_hours(g.clinic, g.now)
    day = g.clinic.house.today(g.now) + timedelta(days=1)
    return _page("", day.isoformat(), hours)


@bp.post("")
def ask() -> ResponseReturnValue:
    """The answer under the list as it was typed: nothing of it is lost, nothing is kept."""
    writer()
    typed = request.form.get("list", "")
    day = request.form.get("day", "").strip()
    hours = tomorrow.Hours(
        *(request.form.get(name, "").strip() for name in ("begins", "ends", "people"))
    )
    try:
        if len(typed) > _MOST_TYPED:
            raise Refused(f"The list has {len(typed)} characters; {_MOST_TYPED} is the most.")
        found = tomorrow.plan(g.clinic, g.now, typed, day_of("day", day), hours)
    except Refused as problem:
        return _page(typed, day, hours, says=str(problem))
    return _page(typed, day, hours, found=found)


def _page(
    typed: str,
    day: str,
    hours: tomorrow.Hours,
    *,
    found: tomorrow.DayPlan | None = None,
    says: str = "",
) -> str:
    chosen = calendar_day(day)
    return render_template(
        "tomorrow.html",
        typed=typed,
        day=day,
        hours=hours,
        plan=found,
        says=says,
        when=f"{chosen:%A} {chosen.day} {chosen:%B}" if chosen else "",
        procedures=[one for one in clinic_rows.procedures(g.clinic.store) if one.offered],
        now=g.now,
    )
