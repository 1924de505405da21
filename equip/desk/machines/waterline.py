"""What a waterline is disinfected with: whether a lot may serve, and how long it is left in."""

from decimal import Decimal

from equip.desk.act.act import Act
from equip.facts import Told
from equip.rules.fitness.lots import Lot, why_not_serve
from equip.rules.fitness.standing import Standing

SORT = "waterline"
_MINUTE = 60


def disinfects(act: Act, standing: Standing, step: str) -> bool:
    """Whether *step* is the disinfection of a waterline that its patients share for the day."""
    return step == "disinfect" and act.kind(standing).holds == "day"


def why_not_with(act: Act, lot: Lot | None) -> list[Told]:
    """Every reason why a waterline must not be disinfected with *lot*, or without one."""
    if lot is None:
        says = "Nothing was scanned to disinfect its waterline with: scan the lot, then this again."
        return [Told(code="lot-needed", says=says)]
    reasons = why_not_serve(lot, act.house.today(act.at))
    if lot.sort != SORT:
        says = f"Lot {lot.number} of {lot.name} is not for a waterline: its packet says what it is."
        return [*reasons, Told(code="lot-unsuited", says=says)]
    least = act.house.rules(act.at).decimal("waterline.strength-percent")
    strength = lot.stated.percent or Decimal(0)
    if strength < least:
        says = (
            f"Lot {lot.number} of {lot.name} makes {strength} %, and a waterline needs {least} % "
            "at least."
        )
        reasons.append(Told(code="too-weak", says=says))
    return reasons


def contact_s(act: Act, lot: Lot) -> int:
    """How long it is left in, in seconds: as the packet says, and no less than the rule."""
    least = act.house.rules(act.at).decimal("waterline.minutes") * _MINUTE
    return max(lot.stated.contact_s or 0, int(least))


def told_with(lot: Lot) -> str:
    """What it was disinfected with, as the entry keeps it beside the lot."""
    return f"{lot.name}, {lot.stated.percent} %"
