"""The checks of a type out of its form: which are asked for, and its maker's limits."""

from equip.desk.act.act import Refused
from equip.facts import AskedCheck, SessionCheck
from equip.rules.fitness.session import KINDS
from equip.web.request.forms import chosen, decimal, text


def read_checks(before: tuple[AskedCheck, ...]) -> tuple[AskedCheck, ...]:
    """Those that are ticked, in the order in which they are asked for; as they were where the
    form did not ask. Refused where limits cannot be."""
    if not text("asks_checks"):
        return before
    return tuple(_read(check) for check in KINDS if text(f"check_{check}"))


def _read(check: SessionCheck) -> AskedCheck:
    kind = KINDS[check]
    if not kind.measured:
        return AskedCheck(check=check)
    low, high = decimal(f"check_{check}_low"), decimal(f"check_{check}_high")
    if low is None and high is None:
        return AskedCheck(check=check)
    if low is not None and high is not None and low > high:
        raise Refused(
            f"The limits of the {kind.name} are {low} to {high}: the lower one stands first."
        )
    unit = chosen(f"check_{check}_unit", kind.units)
    return AskedCheck(check=check, low=low, high=high, unit=unit)
