"""Whether a scan was made on a screen that is behind: somebody scanned at its bench since.

What a scan is written down for is what its screen showed. Two devices on one bench, or two pages on
one device, each show what was in hand when they were drawn. A scan names the act that its screen
showed; when the bench has gone on since, it is written down for nobody and told what changed.
"""

import msgspec

from equip import acts
from equip.desk.act.answer import Answer, no, remarks
from equip.desk.bench.doing import doing
from equip.desk.bench.patient_end import patient_end
from equip.desk.clinic import Clinic
from equip.rules.bench.transitions import Context
from equip.scan import Reading, UnreadableScan, read, show_tag
from equip.store.readings import act_rows
from equip.store.readings.act_rows import ActRow

_FROM_ANY_SCREEN = (acts.GO_ON, "start over")
_context_from = msgspec.json.Decoder(Context).decode


class BehindError(Exception):
    """A scan of a screen that is behind; *answer* says what changed, *context* is in hand now."""

    def __init__(self, answer: Answer, context: Context) -> None:
        super().__init__(answer.what)
        self.answer = answer
        self.context = context


def refuse(
    clinic: Clinic, bench: str, after: str | None, text: str, last: ActRow | None, signed: str
) -> None:
    """Raise `BehindError` if *text* was scanned on a screen that showed something else.

    *after* is the act whose answer the screen showed, "" for a bench without one; None is not told.
    *last* is the newest act of *bench*.
    """
    if after is None or last is None or last.id == after:
        return
    now = _context_from(last.context)
    shown = _shown(clinic, bench, after)
    if shown is not None and _plain(shown) == _plain(now):
        return
    if _from_any_screen(clinic, now, text):
        return
    raise BehindError(_answer(clinic, shown, now, last, signed), now)


def _shown(clinic: Clinic, bench: str, after: str) -> Context | None:
    """What the screen had in hand; None if its act is none of this bench."""
    if not after:
        return Context()
    row = act_rows.act_of(clinic.store, after)
    return _context_from(row.context) if row is not None and row.bench == bench else None


def _plain(context: Context) -> Context:
    """*context* without what goes on by itself or does not change what a scan means."""
    return msgspec.structs.replace(
        context, at=None, badge_at=None, timers=(), vouched=None, signed=""
    )


def _from_any_screen(clinic: Clinic, now: Context, text: str) -> bool:
    """What says itself whom and what it is about: a patient, a badge, or what starts anew.

    Where a question waits for its answer, they would answer a question that nobody saw.
    """
    try:
        reading = read(text, clinic.patients)
    except UnreadableScan:
        return False
    if reading.kind == "word":
        return reading.value in _FROM_ANY_SCREEN
    return not now.asks and (reading.kind == "patient" or _is_badge(reading))


def _is_badge(reading: Reading) -> bool:
    return reading.kind == "tag" and reading.value[0] == "B"


def _answer(
    clinic: Clinic, shown: Context | None, now: Context, last: ActRow, signed: str
) -> Answer:
    return no(
        "This scan is written down for nobody: the screen it was made on is behind.",
        remarks([_by_whom(clinic, now, last, signed), *_changes(clinic, shown, now)]),
        word="Not written",
        next="Look at what is in hand now. Scan the patient or badge that is right, "
        f"or choose “{acts.GO_ON}”; then scan again.",
        options=(acts.GO_ON,),
    )


def _by_whom(clinic: Clinic, now: Context, last: ActRow, signed: str) -> str:
    who = now.badge or now.signed
    at = last.at.astimezone(clinic.house.zone).strftime("%H:%M")
    name = clinic.house.person_name(who) if who else "Somebody"
    other = " on another screen" if who in ("", signed) else ""
    return f"{name} scanned at this bench at {at}{other}."


def _changes(clinic: Clinic, shown: Context | None, now: Context) -> list[str]:
    """What is in hand now that the screen did not show, the patient first."""
    before = shown or Context()
    says = []
    if now.patient != before.patient:
        patient = _patient(clinic, now)
        says.append(
            f"{patient[0].upper()}{patient[1:]} is in hand now, not {_patient(clinic, before)}."
        )
    elif now.use != before.use or now.finished != before.finished:
        says.append(
            f"The use for {_patient(clinic, now)} is finished."
            if now.finished
            else f"Another use for {_patient(clinic, now)} is in hand now."
        )
    if now.load != before.load:
        says.append(
            f"Load {show_tag(now.load)} is in hand now."
            if now.load
            else f"Load {show_tag(before.load)} is in hand no longer."
        )
    if now.badge != before.badge and now.badge:
        says.append(f"{clinic.house.person_name(now.badge)} works here now.")
    if doing(now) != doing(before):
        says.append(f"The bench does something else now: {doing(now)}.")
    if now.item != before.item and now.item:
        says.append(f"Scanned last: {show_tag(now.item)}.")
    return says or ["Something was scanned or taken back since."]


def _patient(clinic: Clinic, context: Context) -> str:
    if not context.patient:
        return "no patient"
    return f"the patient who ends {patient_end(clinic, context.patient)}"
