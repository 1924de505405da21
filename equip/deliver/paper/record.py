"""The cycle record: one load on paper, so that whoever reads it years later needs nothing else.

It prints in black: a pass is a frame, anything else is ink. No patient is in it.
"""

from dataclasses import dataclass

from equip.deliver.paper.page import SMALL, STRONG, TITLE, Sheet, Style, pages
from equip.deliver.paper.picture import Fitting
from equip.deliver.picture.cycle import Drawn
from equip.deliver.picture.layout import PAPER, picture
from labels.faces import BOLD

NAME = "The Instrument Book – cycle record"
_LEAST = 0.75
"""How far a picture may shrink to stay on the page that has begun: its type stays readable."""
_HEAD = 26.0
"""What the heading and the line above a picture take, in points."""


@dataclass(frozen=True, slots=True)
class RecordedReason:
    """A reason as it was given, when it was in the log, and the rules that it rests on."""

    number: int
    says: str
    at: str
    rules: str


@dataclass(frozen=True, slots=True)
class RecordedRule:
    """A rule as it stood when the load was judged."""

    id: str
    value: str
    basis: str
    source: str


@dataclass(frozen=True, slots=True)
class RecordedThing:
    """One thing that was in the load."""

    what: str
    wrapped: str
    put_in_by: str
    became: str


@dataclass(frozen=True, slots=True)
class CycleRecord:
    """Everything the record says, in words and in the clinic's own time.

    *verdict* is set in large letters, *good* is whether it is a pass; *decision* is who let
    it go or not. *drawn* is None where there is no log, and *no_picture* says why.
    """

    load: str
    clinic: str
    verdict: str
    good: bool
    decision: tuple[str, ...]
    identity: tuple[tuple[str, str], ...]
    reasons: tuple[RecordedReason, ...]
    drawn: Drawn | None
    no_picture: str
    figures: tuple[tuple[str, str], ...]
    rules: tuple[RecordedRule, ...]
    things: tuple[RecordedThing, ...]
    caution: str
    proof: tuple[tuple[str, str], ...]
    made: str


def pdf(record: CycleRecord) -> bytes:
    """The record as PDF; the same bytes for the same record."""
    foot = f"{NAME} · load {record.load} · made {record.made}"
    return pages(lambda: _set(record), f"{NAME}, load {record.load}", foot)


def _set(record: CycleRecord) -> Sheet:
    sheet = Sheet()
    sheet.say(NAME, TITLE)
    sheet.say(f"{record.clinic} · made {record.made}", SMALL)
    sheet.space(6)
    _verdict(sheet, record)
    sheet.space(4)
    pairs = [*record.identity, ("", "")] if len(record.identity) % 2 else list(record.identity)
    half = len(pairs) // 2
    rows = [(*pairs[n], *pairs[n + half]) for n in range(half)]
    sheet.table(rows, (16, 34, 16, 34))
    _reasons(sheet, record)
    _picture(sheet, record)
    _figures(sheet, record)
    _rules(sheet, record)
    _things(sheet, record)
    _proof(sheet, record)
    return sheet


def _verdict(sheet: Sheet, record: CycleRecord) -> None:
    reverse = not record.good
    large, plain = Style(22, BOLD, reverse), Style(9, reverse=reverse)
    lines = [(record.verdict, large), *((says, plain) for says in record.decision)]
    sheet.banner(lines, reverse=reverse)


def _reasons(sheet: Sheet, record: CycleRecord) -> None:
    if not record.reasons:
        return
    sheet.head("Every reason")
    rows = [
        (str(reason.number), reason.says, reason.at, reason.rules or "–")
        for reason in record.reasons
    ]
    heads = ("No.", "Reason", "Into the log", "By the rule")
    sheet.table(rows, (6, 52, 14, 28), heads=heads, first=STRONG)


def _picture(sheet: Sheet, record: CycleRecord) -> None:
    if record.drawn is None:
        sheet.head("The cycle")
        sheet.say(record.no_picture)
        return
    made = picture(record.drawn, PAPER)
    sheet.head_with_room("The cycle", made.height * _LEAST + _HEAD)
    sheet.say(
        "Drawn from the log and the rules of its judgement. The numbers are those of the reasons: "
        "a full box is what spoils the cycle, an empty one a remark. A line breaks where the log "
        "has no readings.",
        SMALL,
    )
    sheet.flowing.append(Fitting(made))


def _figures(sheet: Sheet, record: CycleRecord) -> None:
    if not record.figures:
        return
    sheet.head("What was measured")
    pairs = [*record.figures, ("", "")] if len(record.figures) % 2 else list(record.figures)
    half = len(pairs) // 2
    rows = [(*pairs[n], *pairs[n + half]) for n in range(half)]
    sheet.table(rows, (36, 14, 36, 14), style=Style(8))


def _rules(sheet: Sheet, record: CycleRecord) -> None:
    if not record.rules:
        return
    sheet.head("The rules it was judged by, as they stood then")
    rows = [(rule.id, rule.value, rule.basis, rule.source) for rule in record.rules]
    heads = ("Rule", "Value", "How sure", "Source")
    sheet.table(rows, (25, 11, 17, 47), heads=heads, style=Style(7.5))


def _things(sheet: Sheet, record: CycleRecord) -> None:
    sheet.head("What was in it")
    rows = [(thing.what, thing.wrapped, thing.put_in_by, thing.became) for thing in record.things]
    heads = ("Thing", "Wrapped", "Put in by", "What became of it")
    sheet.table(rows, (46, 10, 26, 18), heads=heads, style=Style(8))


def _proof(sheet: Sheet, record: CycleRecord) -> None:
    sheet.space(8)
    sheet.say(record.caution, STRONG)
    sheet.head("What proves it")
    sheet.table(record.proof, (22, 78), style=Style(7.5))
    if sheet.altered:
        sheet.space(3)
        sheet.say(
            "Some letters are not in the type of this record: they stand without their accent or "
            "as “?”. The book on the screen shows them as they are.",
            SMALL,
        )
