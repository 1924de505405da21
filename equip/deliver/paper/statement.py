"""The statement of decontamination that goes with a thing sent away: one page, to be signed.

It says what the record shows and what the sender states, each under its own heading, and is
plain where nothing is recorded. No patient is in it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from equip.deliver.paper.page import SMALL, STRONG, TITLE, Sheet, Style, pages
from labels.faces import BOLD

NAME = "The Instrument Book – statement of decontamination"


@dataclass(frozen=True, slots=True)
class Statement:
    """All of it in words. *shown*: the record shows an effective decontamination."""

    clinic: str
    made: str
    thing: Sequence[tuple[str, str]]
    shown: bool
    recorded: Sequence[str]
    declared: str
    by: str
    entry: str
    caution: str


def pdf(statement: Statement) -> bytes:
    """The statement as PDF; the same bytes for the same statement."""
    return pages(lambda: _set(statement), NAME, f"{NAME} · {statement.entry}")


def _set(statement: Statement) -> Sheet:
    sheet = Sheet()
    sheet.say("Statement of decontamination", TITLE)
    sheet.say(f"{statement.clinic} · {statement.made}", SMALL)
    sheet.space(6)
    reverse = not statement.shown
    says = (
        "The record shows an effective decontamination."
        if statement.shown
        else "The record shows NO effective decontamination: treat it as it is stated below."
    )
    sheet.banner([(says, Style(12, BOLD, reverse))], reverse=reverse)
    sheet.space(6)
    sheet.table(statement.thing, (22, 78))
    sheet.head("What this clinic’s book has recorded of it")
    sheet.table([(line,) for line in statement.recorded], (100,))
    sheet.head("What the sender states besides")
    sheet.say(statement.declared or "Nothing.")
    sheet.head("Signed")
    sheet.table(
        [("Name", statement.by), ("Signature", ""), ("Date", ""), ("Received by", "")],
        (22, 78),
        style=Style(11),
    )
    sheet.space(10)
    sheet.say(statement.caution, STRONG)
    return sheet
