"""Limits that several rules take together, read off the rules in force."""

from equip.rulebook.book import Rules
from equip.rules.shelf import ShelfLimits

SHELF = {
    "wrapped_days": "shelf.wrapped-days",
    "unwrapped_clinical_days": "shelf.unwrapped-clinical-days",
    "unwrapped_clean_days": "shelf.unwrapped-clean-room-days",
    "flexible_hours": "shelf.scope-hours",
    "rigid_hours": "shelf.rigid-disinfected-hours",
    "packed_after_days": "shelf.wrapped-days-no-vacuum",
}
"""Each limit of storage and the rule it comes from."""


def shelf_limits(rules: Rules) -> ShelfLimits:
    """The storage limits of *rules*; None where the book sets none."""
    return ShelfLimits(
        **{
            limit: None if rules[rule].value is None else rules.whole(rule)
            for limit, rule in SHELF.items()
        }
    )
