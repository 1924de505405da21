"""A scanner that fires twice: one scan, told as such, and never as done a second time."""

from datetime import datetime, timedelta

import msgspec

from equip import acts
from equip.desk.act.answer import Answer, remarks
from equip.desk.clinic import Clinic
from equip.scan import FIRST_TYPE_CARD, UnreadableScan, read
from equip.store.readings.act_rows import ActRow

_A_MOMENT = timedelta(seconds=1.5)
_WORD = "Same scan"


def is_one_scan(
    clinic: Clinic, last: ActRow, digest: bytes, text: str, at: datetime, repeats: str | None
) -> bool:
    """Whether *text* is the scan *last* once more, and not the next one.

    A device that says which scan it *repeats* (the id; "" for none) is believed, for it knows when
    the scanner fired; else the same text within a moment is one scan. What is counted by scanning
    it again (an act that says so, the card of a type) is never taken for one.
    """
    if last.payload_hash != digest or _each_counts(clinic, text):
        return False
    return abs(at - last.at) < _A_MOMENT if repeats is None else repeats == last.id


def in_a_moment(before: datetime | None, at: datetime) -> bool:
    """Whether nobody can have read what was answered to the scan of *before*."""
    return before is not None and abs(at - before) < _A_MOMENT


def _each_counts(clinic: Clinic, text: str) -> bool:
    try:
        reading = read(text, clinic.patients)
    except UnreadableScan:
        return False
    if reading.kind == "word":
        return acts.each_counts(reading.value)
    is_card = reading.kind == "tag" and reading.value[0] == "C"
    return is_card and int(reading.value[1:9]) >= FIRST_TYPE_CARD


def told(before: Answer) -> Answer:
    """*before* once more: a stop stays a stop; what was done is told as counted once."""
    if before.word == _WORD:
        return before
    if before.tone not in ("yes", "note"):
        says = remarks(["Same scan, counted once."])
        known = {reason.says for reason in before.reasons}
        reasons = (*before.reasons, *(one for one in says if one.says not in known))
        return msgspec.structs.replace(before, reasons=reasons)
    says = remarks([f"Counted once: {before.word}.", *(one.says for one in before.reasons)])
    return msgspec.structs.replace(before, tone="note", word=_WORD, reasons=says, kept=False)
