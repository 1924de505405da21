"""What checks ahead of a session go by, read off the rules in force."""

from equip.facts import SessionCheck
from equip.rulebook.book import Rules
from equip.rules.fitness.session import KINDS, Band


def check_hours(rules: Rules) -> dict[str, int]:
    """How many hours each check holds."""
    return {check: rules.whole(f"check.{check}.hours") for check in KINDS}


def check_band(rules: Rules, check: SessionCheck) -> Band | None:
    """What a reading is held against where its maker gives no limits; None if by nothing."""
    ends = [f"check.{check}.{end}" for end in ("low", "high")]
    if not all(rules.has(rule) for rule in ends):
        return None
    low, high = (None if rules[rule].value is None else rules.decimal(rule) for rule in ends)
    if low is None and high is None:
        return None
    return Band(low, high, rules[ends[0]].unit, "the rule book's limits")


def band_rules(check: SessionCheck) -> list[str]:
    """The rules of that band, as they are kept with a check."""
    return [f"check.{check}.low", f"check.{check}.high"]
