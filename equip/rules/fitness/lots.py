"""Whether a lot may serve: not past its day, not open too long, not taken out of use."""

from dataclasses import dataclass, field
from datetime import date, timedelta

from equip.facts import LotSort, Stated, Told


@dataclass(frozen=True, slots=True)
class Lot:
    """One lot as it stands. *opened* is the day it was opened, *finished* why it serves no more,
    *in_case* the open look-back that holds it in doubt."""

    tag: str
    sort: LotSort
    name: str
    number: str
    expires: date | None = None
    stated: Stated = field(default_factory=Stated)
    opened: date | None = None
    finished: str = ""
    in_case: str = ""

    @property
    def last_day(self) -> date | None:
        """The last day on which it may serve, None if nothing limits it; day 1 is the opening."""
        days = [] if self.expires is None else [self.expires]
        if self.opened is not None and self.stated.open_days is not None:
            days.append(self.opened + timedelta(days=self.stated.open_days - 1))
        return min(days, default=None)

    def day_of_use(self, today: date) -> int | None:
        """1 on the day it was opened; None if nobody said when."""
        return None if self.opened is None else (today - self.opened).days + 1


def why_not_serve(lot: Lot, today: date) -> list[Told]:
    """Every reason why *lot* may not be used on *today*; empty means that it may."""
    reasons = []
    if lot.finished:
        says = f"Lot {lot.number} of {lot.name} was taken out of use: {lot.finished}."
        reasons.append(Told(code="lot-finished", says=says))
    if lot.in_case:
        says = f"Look-back {lot.in_case} holds lot {lot.number} of {lot.name} in doubt."
        reasons.append(Told(code="lot-in-doubt", says=says))
    if lot.expires is not None and today > lot.expires:
        says = f"Lot {lot.number} of {lot.name} expired on {lot.expires}."
        reasons.append(Told(code="lot-expired", says=says))
    day, most = lot.day_of_use(today), lot.stated.open_days
    if day is not None and most is not None and day > most:
        days = "1 day" if most == 1 else f"{most} days"
        says = f"Lot {lot.number} of {lot.name} has been open for day {day}; it may serve {days}."
        reasons.append(Told(code="lot-open-too-long", says=says))
    return reasons
