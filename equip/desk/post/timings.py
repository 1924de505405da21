"""How early and how late somebody is told of one duty, where the clinic decided otherwise."""

from dataclasses import dataclass

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.clinic import Clinic
from equip.desk.register.items import known
from equip.scan import show_tag
from equip.store.readings import duty_rows

_MOST_DAYS = 3650


@dataclass(frozen=True, slots=True)
class DutyTiming:
    """One duty and the days of its own; None where the rule holds."""

    duty: str
    lead_days: int | None
    escalate_days: int | None


def timings(clinic: Clinic, item: str) -> list[DutyTiming]:
    """The duties of a thing, each with the days of its own."""
    own = duty_rows.own_timings(clinic.store)
    return [
        DutyTiming(row.duty, *own.get((item, row.duty), (None, None)))
        for row in duty_rows.duties_of(clinic.store, item)
    ]


def set_timing(act: Act, tag: str, duty: str, lead: int | None, late: int | None) -> None:
    """Own days for one duty; None gives it back to the rule."""
    known(act, tag)
    if duty not in {row.duty for row in duty_rows.duties_of(act.store, tag)}:
        raise Refused(f"{show_tag(tag)} has no duty “{duty}”.")
    if max(lead or 0, late or 0) > _MOST_DAYS:
        raise Refused(f"Days ahead and days over are at most {_MOST_DAYS:,}.")
    if late == 0:
        raise Refused("Others are told when it is at least one day over.")
    act.tell(facts.RemindersSet, item=tag, duty=duty, lead_days=lead, escalate_days=late)
