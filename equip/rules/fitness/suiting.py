"""Whether a machine's programme suits a thing: a log is not a load.

However perfect the curve, a hollow or wrapped thing in a chamber that draws no vacuum, a scope
that must not be steamed, or a step that is not on the thing's route is refused, when it is put
in and again at release.
"""

from collections.abc import Sequence

from equip.facts import ItemType, Process, Programme
from equip.rules.fitness.gates import Member
from equip.rules.fitness.standing import Standing
from equip.rules.verdict import Reason
from equip.scan import show_tag

UNSUITED = frozenset(
    {
        "not-on-its-route",
        "not-heat-proof",
        "hollow-not-reached",
        "wrapped-not-reached",
        "single-use-again",
    }
)
"""Reasons that lie in the thing and the programme: they hold at release as when it was put in."""

_INSTRUCTIONS = "Follow its maker's instructions."


def why_not_in(
    standing: Standing, kind: ItemType, process: Process, programme: Programme, *, wrapped: bool
) -> list[Reason]:
    """Every reason why this thing must not go through *programme* of a machine; empty means in.

    A reason that spoils nothing (`spoils="pass"`) is a warning and lets it in.
    """
    if goes_in_bare(standing, process):
        return _standing_reasons(standing, kind, bare=True)  # its contents answer for themselves
    reasons = _standing_reasons(standing, kind)
    reasons += _route_reasons(kind, process, used=standing.soiling is not None)
    reasons += _heat_reasons(kind, process, programme, wrapped=wrapped)
    return reasons


def goes_in_bare(standing: Standing, process: Process) -> bool:
    """Whether only what lay in it goes in: untagged contents are known by their opened pack."""
    return standing.opened is not None and bool(standing.loose) and "sterilise" not in process.steps


def contents_in(
    members: Sequence[Member], process: Process, programme: Programme, *, wrapped: bool
) -> list[Reason]:
    """The same for what a pack or a set holds, each by name."""
    return [
        Reason(
            reason.code,
            f"{kind.name} {show_tag(standing.item)}: {reason.says}",
            spoils=reason.spoils,
        )
        for standing, kind in members
        for reason in why_not_in(standing, kind, process, programme, wrapped=wrapped)
        if not (wrapped and reason.code == "in-a-load")
    ]


def loose_in(
    kind: ItemType, process: Process, programme: Programme, *, wrapped: bool
) -> list[Reason]:
    """The same for untagged contents of a pack, which are known only by their type."""
    return [
        Reason(reason.code, f"{kind.name}: {reason.says}", spoils=reason.spoils)
        for reason in (
            *_route_reasons(kind, process, used=True),
            *_heat_reasons(kind, process, programme, wrapped=wrapped),
            *_spent(kind, used=True),
        )
    ]


def steps_open(standing: Standing, kind: ItemType, process: Process) -> list[str]:
    """Required steps ahead of what this machine does that nobody recorded yet."""
    ahead: list[str] = [*standing.unsaid]
    recorded = {step for done in standing.done if not done.void for step in done.steps}
    for step in kind.route:
        if step.step in process.steps:
            break
        if step.required and step.step not in recorded:
            ahead.append(step.step)
    return ahead


def _standing_reasons(standing: Standing, kind: ItemType, *, bare: bool = False) -> list[Reason]:
    reasons = []
    if standing.where == "retired":
        reasons.append(Reason("retired", "It was retired."))
    if standing.load and standing.load_state in ("filling", "running", "ended"):
        says = f"It is in load {show_tag(standing.load)} already: take it out there first."
        reasons.append(Reason("in-a-load", says))
    if any(kept.how == "bag-it" for kept in standing.quarantines):
        says = "It is in quarantine as it is: bag it, do not clean it."
        reasons.append(Reason("quarantined", says))
    if standing.opened is not None and not bare:
        reasons.append(Reason("pack-opened", "This pack was opened: pack its contents anew."))
    if standing.spoilt and not bare:
        reasons.append(Reason("pack-spoilt", f"This pack is {standing.spoilt}: pack it anew."))
    if standing.failed_inspection is not None:
        reasons.append(Reason("inspection-failed", "It failed inspection: keep it out."))
    reasons += _spent(kind, used=standing.soiling is not None)
    if kind.cycle_limit is not None and standing.cycles >= kind.cycle_limit:
        says = f"It has been through all {kind.cycle_limit} cycles its maker allows."
        reasons.append(Reason("cycle-limit", says))
    return reasons


def _spent(kind: ItemType, *, used: bool) -> list[Reason]:
    if kind.reuse == "single-use" and used:
        return [Reason("single-use-again", "It is for one use only: throw it away, never wash it.")]
    return []


def _route_reasons(kind: ItemType, process: Process, *, used: bool) -> list[Reason]:
    if kind.sort == "set" or _spent(kind, used=used):
        return []  # a set goes by its members; what is used up is told so, and that is enough
    if {step.step for step in kind.route}.isdisjoint(process.steps):
        does = " or ".join(process.steps)
        says = f"{kind.name} has no step “{does}” on its route. {_INSTRUCTIONS}"
        return [Reason("not-on-its-route", says)]
    return []


def _heat_reasons(
    kind: ItemType, process: Process, programme: Programme, *, wrapped: bool
) -> list[Reason]:
    if process.heat == "none":
        return []
    reasons = []
    if not kind.heat_proof:
        with_what = "steamed" if process.heat == "steam" else "washed hot"
        says = f"{kind.name} must not be {with_what}. {_INSTRUCTIONS}"
        reasons.append(Reason("not-heat-proof", says))
    if process.heat != "steam":
        return reasons
    if kind.hollow and not (process.vacuum and programme.hollow):
        what = (
            "This machine draws no vacuum" if not process.vacuum else "This programme is for solids"
        )
        says = f"{what}, and steam does not reach inside {kind.name.lower()}."
        reasons.append(Reason("hollow-not-reached", says))
    if wrapped and not (process.vacuum and programme.wrapped):
        what = (
            "This machine draws no vacuum"
            if not process.vacuum
            else "This programme is for unwrapped things"
        )
        reasons.append(Reason("wrapped-not-reached", f"{what}, and this is wrapped."))
    return reasons
