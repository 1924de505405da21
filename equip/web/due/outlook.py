"""Due, looked at ahead: a month as a calendar and on paper, twelve months as a timeline."""

from flask import Blueprint, Response, abort, g, render_template, request
from flask.typing import ResponseReturnValue

from equip import typed
from equip.deliver.paper.month_plan import MonthPlan, PlannedLine, pdf
from equip.desk.act.act import Refused
from equip.desk.upkeep.outlook import Ahead, Outlook, by_day, outlook, weeks_of
from equip.rules import wording
from equip.typed import Mistyped
from equip.web.request.guard import anybody

bp = Blueprint("outlook", __name__, url_prefix="/due")

MOST = 100
CAUTION = (
    "Every duty is taken to be met on its day, and what is overdue to be done today. A day that "
    "goes by a count is an estimate from real use of late; the count itself decides."
)


@bp.get("/year")
def year() -> ResponseReturnValue:
    anybody()
    seen = _seen()
    rows = seen.rows()
    first = _first(request.args.get("from", "0"))
    return render_template(
        "due_year.html",
        seen=seen,
        rows=rows[first : first + MOST],
        first=first,
        onward=first + MOST if first + MOST < len(rows) else None,
        every=len(rows),
        most=MOST,
        caution=CAUTION,
    )


@bp.get("/month")
@bp.get("/month/<month>")
def month(month: str = "") -> ResponseReturnValue:
    anybody()
    seen = _seen()
    at = _month(seen, month)
    first = seen.months[at].first
    ahead = seen.of_month(first)
    return render_template(
        "due_month.html",
        seen=seen,
        month=seen.months[at],
        before=seen.months[at - 1].first if at else None,
        after=seen.months[at + 1].first if at + 1 < len(seen.months) else None,
        days=weeks_of(first),
        by_day=by_day(ahead),
        caution=CAUTION,
    )


@bp.get("/month/<month>.pdf")
def plan(month: str) -> ResponseReturnValue:
    """The month on paper, to be hung up and signed line by line."""
    anybody()
    seen = _seen()
    made = seen.months[_month(seen, month)]
    name = f"{made.first:%B %Y}"
    cost = f"; known cost {made.cost}" if made.cost else ""
    open_ = f"; {made.uncosted} without a cost" if made.uncosted else ""
    data = pdf(
        MonthPlan(
            month=name,
            clinic=g.clinic.house.name,
            made=f"{g.now.astimezone(g.clinic.house.zone):%Y-%m-%d %H:%M}",
            sums=f"{wording.counted(made.times, 'time').capitalize()}{cost}{open_}.",
            lines=[_line(one) for one in seen.of_month(made.first)],
            caution=CAUTION,
        )
    )
    disposition = f'inline; filename="due-{made.first:%Y-%m}.pdf"'
    return Response(data, mimetype="application/pdf", headers={"Content-Disposition": disposition})


def _line(one: Ahead) -> PlannedLine:
    return PlannedLine(
        day=f"{one.day:%a} {one.day.day}",
        what=f"{one.due.duty.capitalize()} of {one.due.label}",
        place=one.due.place,
        says=one.says,
        cost="" if one.cost is None else str(one.cost),
    )


def _first(asked: str) -> int:
    try:
        return typed.whole(asked)
    except Mistyped as problem:
        raise Refused(f"{problem} It counts lines: start at the first page.") from None


def _seen() -> Outlook:
    return outlook(g.clinic, g.clinic.house.today(g.now))


def _month(seen: Outlook, asked: str) -> int:
    """Which of the twelve months was asked for, this one without a word."""
    names = [f"{one.first:%Y-%m}" for one in seen.months]
    if asked and asked not in names:
        abort(404)
    return names.index(asked) if asked else 0
