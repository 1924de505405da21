"""The report of a proof file: who may have been exposed, how surely, by which ways, on paper.

It prints in black: nobody is a frame, anybody is ink.
"""

from dataclasses import dataclass

from reportlab.platypus import CondPageBreak

from equip.deliver.paper.page import HEAD, SMALL, STRONG, TITLE, Sheet, Style, pages
from labels.faces import BOLD

NAME = "The Instrument Book – who may have been exposed"
_CELL = Style(7.5)
_ROOM = 90
"""Points that a head and its first rows take."""


@dataclass(frozen=True, slots=True)
class ReportedExposure:
    """One use on somebody after others: each source, and the entries of the surest way."""

    patient: str
    thing: str
    used: str
    sure: str
    share: str
    after: str
    way: str


@dataclass(frozen=True, slots=True)
class ReportedGap:
    """One use with nothing known before it."""

    patient: str
    thing: str
    used: str
    entry: str


@dataclass(frozen=True, slots=True)
class ProofReport:
    """Everything the report says, in words and in the clinic's own time."""

    clinic: str
    outcome: str
    nobody: bool
    says: tuple[str, ...]
    asked: tuple[tuple[str, str], ...]
    exposures: tuple[ReportedExposure, ...]
    already_open: tuple[ReportedExposure, ...]
    gaps: tuple[ReportedGap, ...]
    cautions: tuple[str, ...]
    proof: tuple[tuple[str, str], ...]
    made: str


def pdf(report: ProofReport) -> bytes:
    """The report as PDF; the same bytes for the same report."""
    return pages(lambda: _set(report), NAME, f"{NAME} · {report.clinic} · made {report.made}")


def _set(report: ProofReport) -> Sheet:
    sheet = Sheet()
    sheet.say(NAME, TITLE)
    sheet.say(f"{report.clinic} · made {report.made}", SMALL)
    sheet.space(6)
    reverse = not report.nobody
    large, plain = Style(16, BOLD, reverse), Style(9, reverse=reverse)
    lines = [(report.outcome, large), *((says, plain) for says in report.says)]
    sheet.banner(lines, reverse=reverse)
    sheet.head("What was asked")
    sheet.table(report.asked, (22, 78))
    sheet.space(6)
    for caution in report.cautions:
        sheet.say(caution, STRONG)
    _list(sheet, "Who may have been exposed by it", report.exposures)
    _list(sheet, "Open without it", report.already_open)
    _gaps(sheet, report)
    sheet.head("What proves it")
    sheet.table(report.proof, (22, 78), style=_CELL)
    _altered(sheet)
    return sheet


def _list(sheet: Sheet, head: str, listed: tuple[ReportedExposure, ...]) -> None:
    _long_head(sheet, f"{head}: {_so_many(listed)}")
    if not listed:
        return
    rows = [
        (str(number), use.patient, use.thing, use.used, use.sure, use.share, use.after, use.way)
        for number, use in enumerate(listed, 1)
    ]
    heads = ("No.", "Patient", "Thing", "Used", "How sure", "Share", "After", "Entries of the way")
    sheet.table(rows, (5, 15, 16, 12, 9, 8, 26, 16), heads=heads, style=Style(7))


def _gaps(sheet: Sheet, report: ProofReport) -> None:
    _long_head(sheet, f"Uses with nothing known before them: {_so_many(report.gaps)}")
    if report.gaps:
        rows = [(gap.patient, gap.thing, gap.used, gap.entry) for gap in report.gaps]
        heads = ("Patient", "Thing", "Used", "Entry")
        sheet.table(rows, (24, 36, 24, 16), heads=heads, style=_CELL)


def _long_head(sheet: Sheet, text: str) -> None:
    """Ahead of a table of many pages: it stays with the first rows, not with all of them."""
    sheet.flowing.append(CondPageBreak(_ROOM))
    sheet.space(7)
    sheet.say(text, HEAD)
    sheet.space(2)


def _so_many(listed: tuple[object, ...]) -> str:
    return str(len(listed)) if listed else "none"


def _altered(sheet: Sheet) -> None:
    if sheet.altered:
        sheet.space(3)
        sheet.say(
            "Some letters are not in the type of this report: they stand without their accent or "
            "as “?”. answer.json has them as they are.",
            SMALL,
        )
