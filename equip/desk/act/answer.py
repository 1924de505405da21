"""What the bench says back: one answer that fills the screen."""

from collections.abc import Iterable, Sequence
from typing import Literal

import msgspec

from equip.facts import Told

Tone = Literal["yes", "no", "warn", "note", "unread"]

LOT_REFUSED = "Not this lot"
"""The word for a lot that may not serve, whatever it was scanned for."""


class Answer(msgspec.Struct, frozen=True, omit_defaults=True):
    """One word, what it is about, every reason, what to do next.

    *patient* is a token: who it stands for is never kept in an answer. *options* are words
    that may be said next. *kept* says that a use was written down. *sheet* is what somebody was
    hurt by, for whom a sheet is ready; *doubt* a load on which a person may open a look-back.
    """

    tone: Tone
    word: str
    what: str
    item: str = ""
    patient: str = ""
    reasons: tuple[Told, ...] = ()
    next: str = ""
    options: tuple[str, ...] = ()
    kept: bool = False
    sheet: str = ""
    doubt: str = ""


def yes(what: str, *, item: str = "", says: Iterable[str] = (), next: str = "") -> Answer:
    return Answer("yes", "Yes", what, item=item, reasons=remarks(says), next=next)


def no(
    what: str,
    reasons: Iterable[Told],
    *,
    item: str = "",
    next: str = "",
    word: str = "No",
    options: Sequence[str] = (),
) -> Answer:
    return Answer(
        "no",
        word,
        what,
        item=item,
        reasons=tuple(reasons),
        next=next,
        options=tuple(options),
    )


def note(
    word: str,
    what: str,
    *,
    item: str = "",
    says: Iterable[str] = (),
    next: str = "",
    options: Sequence[str] = (),
    warn: bool = False,
    patient: str = "",
) -> Answer:
    return Answer(
        "warn" if warn else "note",
        word,
        what,
        item=item,
        patient=patient,
        reasons=remarks(says),
        next=next,
        options=tuple(options),
    )


def refused(says: str, next: str = "") -> Answer:
    """Nothing happened: what was scanned is understood, and cannot be done here."""
    return Answer("no", "No", says, next=next)


def unread(says: str, next: str = "") -> Answer:
    """Nothing happened: what was read makes no sense here."""
    return Answer("unread", "Not read", says, next=next)


def remarks(says: Iterable[str]) -> tuple[Told, ...]:
    return tuple(Told(code="remark", says=text) for text in says)
