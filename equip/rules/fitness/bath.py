"""What a soak bath is filled with: its days of use, and why nothing may be soaked in it."""

from dataclasses import dataclass
from datetime import date, datetime, tzinfo

from equip.facts import Told
from equip.rules.fitness.lots import Lot, why_not_serve


@dataclass(frozen=True, slots=True)
class Filling:
    """A bath filled anew with *lot*: the day of *at* is day 1."""

    lot: Lot
    at: datetime
    by: str
    note: str = ""

    def day_of_use(self, at: datetime, zone: tzinfo) -> int:
        """Calendar days of the site, the first of them 1."""
        return (at.astimezone(zone).date() - self.at.astimezone(zone).date()).days + 1


def why_not_fill(lot: Lot, agents: tuple[str, ...], today: date) -> list[Told]:
    """Every reason why a bath for *agents* must not be filled with *lot*; empty means it may."""
    if lot.sort != "agent" or lot.stated.agent not in agents:
        says = f"Lot {lot.number} of {lot.name} is no agent of this bath: it takes "
        return [Told(code="lot-unsuited", says=says + " or ".join(agents) + ".")]
    return why_not_serve(lot, today)


def why_not_soak(
    filling: Filling | None,
    agent: str,
    reuse_days: int,
    at: datetime,
    zone: tzinfo,
    *,
    reuse_loads: int | None = None,
    soaked: int = 0,
) -> list[Told]:
    """Every reason why nothing may be soaked now; empty means it may.

    *soaked* is how many loads this filling served, *reuse_loads* how many it may.
    A bottle that is empty or open too long says nothing of what was poured out of it in time;
    its last day does.
    """
    if filling is None:
        says = "Nobody recorded what the bath is filled with: fill it, and say so."
        return [Told(code="bath-empty", says=says)]
    lot, today = filling.lot, at.astimezone(zone).date()
    reasons = []
    if lot.stated.agent != agent:
        says = f"The bath is filled with {lot.stated.agent}, and this programme is for {agent}."
        reasons.append(Told(code="other-agent", says=says))
    if lot.expires is not None and today > lot.expires:
        says = f"Lot {lot.number} of {lot.name} in the bath expired on {lot.expires}."
        reasons.append(Told(code="lot-expired", says=says))
    day = filling.day_of_use(at, zone)
    if day > reuse_days:
        days = "1 day" if reuse_days == 1 else f"{reuse_days} days"
        says = f"The solution is on day {day} of use; it may serve {days}: fill the bath anew."
        reasons.append(Told(code="too-old", says=says))
    if reuse_loads is not None and soaked >= reuse_loads:
        may = "1 load" if reuse_loads == 1 else f"{reuse_loads} loads"
        says = f"The solution has served {soaked}; it may serve {may}: fill the bath anew."
        reasons.append(Told(code="used-before", says=says))
    return reasons
