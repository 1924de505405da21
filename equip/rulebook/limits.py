"""Limits that several rules take together, read off the rules in force."""

from equip.rulebook.book import Rules
from equip.rules.cycles.load_size import SizeRules
from equip.rules.cycles.reference_cycle import Tolerances
from equip.rules.fitness.shelf import ShelfLimits
from equip.rules.machines.leak_and_spores import LeakLimits

SHELF = {
    "wrapped_days": "shelf.wrapped-days",
    "unwrapped_clinical_days": "shelf.unwrapped-clinical-days",
    "unwrapped_clean_days": "shelf.unwrapped-clean-room-days",
    "flexible_hours": "shelf.scope-hours",
    "rigid_hours": "shelf.rigid-disinfected-hours",
    "packed_after_days": "shelf.wrapped-days-no-vacuum",
}
"""Each limit of storage and the rule it comes from."""

LEAK = ("leak.limit", "leak.settle-s", "leak.timed-s")
"""The rules that a vacuum leak test is judged by."""


def leak_limits(rules: Rules) -> LeakLimits:
    """The highest rate of a leak test, and the least times of settling and timing."""
    return LeakLimits(*(rules.decimal(rule) for rule in LEAK))


def shelf_limits(rules: Rules) -> ShelfLimits:
    """The storage limits of *rules*; None where the book sets none."""
    return ShelfLimits(
        **{
            limit: None if rules[rule].value is None else rules.whole(rule)
            for limit, rule in SHELF.items()
        }
    )


def tolerances(rules: Rules) -> Tolerances:
    """How far a cycle may differ from the reference before somebody is asked; shares of one."""
    return Tolerances(
        time_s=rules.number("likeness.time-s"),
        time_share=rules.number("likeness.time-share") / 100,
        hold_s=rules.number("likeness.hold-s"),
        vacuum_kpa=rules.number("likeness.vacuum"),
        hold_k=rules.number("likeness.hold-temperature"),
        theory_gap_k=rules.number("likeness.theory-gap"),
        stage_k=rules.number("likeness.stage-temperature"),
        a0_share=rules.number("likeness.a0-share") / 100,
        curve_k=rules.number("likeness.curve"),
        curve_window_s=rules.number("likeness.curve-window"),
    )


def size_rules(rules: Rules) -> SizeRules:
    """When a load's size is asked about."""
    return SizeRules(
        fewest_cycles=rules.whole("load-size.fewest-cycles"),
        fewest_sizes=rules.whole("load-size.fewest-sizes"),
        scatter=rules.number("load-size.scatter"),
        least_s=rules.number("load-size.least-s"),
    )
