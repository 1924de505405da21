"""The plan of one month on paper: what falls due on which day, and a place to sign that it was."""

from collections.abc import Sequence
from dataclasses import dataclass

from equip.deliver.paper.page import BODY, SMALL, STRONG, TITLE, Sheet, pages

NAME = "The Instrument Book – plan of the month"


@dataclass(frozen=True, slots=True)
class PlannedLine:
    """One task: the day, what, where, and what is to be known about it."""

    day: str
    what: str
    place: str
    says: str
    cost: str


@dataclass(frozen=True, slots=True)
class MonthPlan:
    """All of it in words. *sums* are the load and the cost, *caution* what the plan is not."""

    month: str
    clinic: str
    made: str
    sums: str
    lines: Sequence[PlannedLine]
    caution: str


def pdf(plan: MonthPlan) -> bytes:
    """The plan as PDF; the same bytes for the same plan."""
    return pages(
        lambda: _set(plan), f"{NAME}, {plan.month}", f"{NAME} · {plan.month} · made {plan.made}"
    )


def _set(plan: MonthPlan) -> Sheet:
    sheet = Sheet()
    sheet.say(f"What falls due in {plan.month}", TITLE)
    sheet.say(f"{plan.clinic} · made {plan.made}", SMALL)
    sheet.space(6)
    sheet.say(plan.sums, STRONG)
    sheet.space(6)
    if plan.lines:
        rows = [(task.day, _said(task), task.place, task.cost, "") for task in plan.lines]
        heads = ("Day", "What", "Where", "Cost", "Done on, by")
        sheet.table(rows, (14, 44, 14, 9, 19), heads=heads, style=BODY, first=STRONG)
    sheet.space(8)
    sheet.say(plan.caution, SMALL)
    if sheet.altered:
        sheet.say("Some letters are not in this type: the screen shows them as they are.", SMALL)
    return sheet


def _said(task: PlannedLine) -> str:
    return f"{task.what} – {task.says}" if task.says else task.what
