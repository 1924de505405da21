"""Duties set, met and dropped. What cannot be is refused with a sentence."""

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import TypedDict, Unpack

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.register.items import known
from equip.desk.upkeep.measuring.in_force import why_not_met
from equip.facts import DutyTerms
from equip.rules.upkeep import due as rules_due
from equip.rules.upkeep.due import Duty, checked
from equip.rules.upkeep.words import TERMS
from equip.scan import show_tag
from equip.store.readings import duty_rows
from equip.store.readings.duty_rows import DutyRow

_MOST_YEARS = 30
"""A certificate that is said to hold for longer was typed wrongly."""


class GoesBy(TypedDict, total=False):
    """What a duty goes by beside its first due day, as the facts of it spell it."""

    every_months: int
    every_days: int
    grounds: bool
    terms: DutyTerms | None


def set_duty(act: Act, tag: str, duty: str, anchor: date, **goes_by: Unpack[GoesBy]) -> None:
    """A duty that comes round, counted from *anchor*, so that month-ends never drift."""
    known(act, tag)
    act.tell(facts.DutySet, item=tag, **_checked(act, duty, anchor, goes_by))


def set_type_duty(act: Act, code: str, duty: str, anchor: date, **goes_by: Unpack[GoesBy]) -> None:
    """The same for every item of a type that has no duty of that name of its own."""
    if code not in act.house.types:
        raise Refused(f"“{code}” is no type: choose one under Setup, Types.")
    if not act.house.types[code].tagged:
        raise Refused("Items of this type carry no tag, so none of them can have a duty.")
    terms = goes_by.get("terms") or DutyTerms()
    if any(getattr(terms, name) for name in rules_due.OF_ONE_ITEM):
        raise Refused(
            "What was counted already, and the end of a certificate, are those of one item: set"
            " them on its own page."
        )
    act.tell(facts.TypeDutySet, type=code, **_checked(act, duty, anchor, goes_by))


def _checked(act: Act, duty: str, anchor: date, goes_by: GoesBy) -> dict[str, object]:
    """What is told of a duty once all of it makes sense; terms that say nothing are left out."""
    if not duty.strip():
        raise Refused("A duty needs a name: service, calibration, electrical safety test …")
    terms = goes_by.get("terms") or DutyTerms()
    _check_terms(terms)
    try:
        months, days = goes_by.get("every_months"), goes_by.get("every_days")
        checked(Duty(anchor, months or None, days or None, terms))
    except ValueError as problem:
        raise Refused(
            f"Say how often: in months or days, by a count, or by a certificate. {problem}"
        ) from None
    if terms.not_after is not None:
        _check_end(terms.not_after, act.house.today(act.now))
    told = None if terms == DutyTerms() else terms
    return {**goes_by, "duty": duty.strip().lower(), "anchor": anchor, "terms": told}


def _check_terms(terms: DutyTerms) -> None:
    for name, words in TERMS.items():
        value = getattr(terms, name)
        if isinstance(value, int | Decimal) and value < 0:
            what = f"{words.name[0].upper()}{words.name[1:]}"
            raise Refused(f"{what} cannot be below nought; {value} was read.")
    if bool(terms.every_count) != bool(terms.counts):
        raise Refused("A count needs both: what is counted, and how many of it.")
    if terms.already and not terms.counts:
        raise Refused("Something was counted already, but the duty goes by no count.")
    if terms.not_after is not None and not terms.certificate:
        raise Refused("A certificate's end was given, but the duty needs no certificate.")


def _check_end(not_after: date, of: date) -> None:
    if not_after.year - of.year > _MOST_YEARS:
        raise Refused(
            f"The certificate would end on {not_after}, in more than {_MOST_YEARS} years: look at"
            " the year."
        )


# --- done -------------------------------------------------------------------------------------


def duty_of(act: Act, tag: str, duty: str) -> DutyRow:
    """The duty of that name; Refused if the item has none."""
    row = next((row for row in duty_rows.duties_of(act.store, tag) if row.duty == duty), None)
    if row is None:
        raise Refused(f"{show_tag(tag)} has no duty “{duty}”.")
    return row


def meet_duty(
    act: Act,
    tag: str,
    duty: str,
    done: date,
    note: str = "",
    *,
    not_after: date | None = None,
    work: str = "",
    certificate: str = "",
) -> date:
    """The duty that is due next was done; the due day it satisfied."""
    row = duty_of(act, tag, duty)
    today = act.house.today(act.now)
    if done > today:
        raise Refused("That day has not come yet: give the day on which it was done.")
    _check_certificate(row, done, not_after)
    if against := why_not_met(act.clinic, tag, duty, done):
        raise Refused(
            f"By its readings of {done}, {against}: that does not meet its duty, whatever a"
            " certificate says. Look at the readings, or write them down again if they were a slip."
        )
    met = rules_due.day_met(row.goes_by, row.last_met, done)
    act.tell(
        facts.DutyMet,
        item=tag,
        duty=duty,
        due=met,
        done=done,
        note=note,
        not_after=not_after,
        counts_from=_counts_from(act, done, today),
        counted=row.so_far.counted if row.terms.counts else None,
        work=work,
        certificate=certificate,
    )
    return met


def _counts_from(act: Act, done: date, today: date) -> datetime:
    """Done today, from now on; done earlier, from the end of that day at the site."""
    if done == today:
        return act.at
    return datetime.combine(done + timedelta(days=1), time(), act.house.zone)


def _check_certificate(row: DutyRow, done: date, not_after: date | None) -> None:
    if not_after is None:
        if row.terms.certificate:
            raise Refused(
                f"{row.duty.capitalize()} goes by the date on its certificate: give the day until"
                " which the new one holds."
            )
        return
    if not row.terms.certificate:
        raise Refused(f"{row.duty.capitalize()} needs no certificate, so its end means nothing.")
    if not_after < done:
        raise Refused(
            f"The certificate ends on {not_after}, before {done}, when the work was done: look at"
            " both days."
        )
    _check_end(not_after, done)
    if row.done is not None and done < row.done:
        raise Refused(
            f"A certificate of {row.done} is in the book; one of {done} is older and cannot take"
            " its place."
        )


def drop_duty(act: Act, duty: str, why: str, *, tag: str = "", code: str = "") -> None:
    """A duty that is none any more, with the reason; what was done for it stays in the book."""
    if not why.strip():
        raise Refused("Say why it is no duty any more: it is read years later.")
    if tag:
        duty_of(act, tag, duty)
    elif not any(
        set_for_all.duty == duty for set_for_all in duty_rows.type_duties(act.store, code)
    ):
        raise Refused(f"The type “{code}” has no duty “{duty}”.")
    act.tell(facts.DutyDropped, duty=duty, why=why.strip(), item=tag, type=code)
