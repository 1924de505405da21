"""A gate that holds for the day: the waterline of an irrigator, which its patients share.

It is disinfected and rinsed before the first patient and serves until midnight, however many it
meets. At the day's end it is drained and dried: water that stood in it overnight is no water for
the next day. What was missed on one day carries over to nobody only if it was disinfected since.
"""

from collections.abc import Sequence
from datetime import datetime, tzinfo

import msgspec

from equip.facts import ItemType, Told
from equip.rules.fitness.clocks import why_wait
from equip.rules.fitness.gates import (
    Asking,
    Member,
    gate_step,
    missing_after,
    missing_steps,
    proof,
    proof_inside,
)
from equip.rules.fitness.standing import Done, Soiling, Standing, begins_anew
from equip.rules.wording import day_over

_WATER = frozenset({"clean", "disinfect", "rinse"})


def before_its_uses(standing: Standing) -> Standing:
    """*standing* as if those who share it had not used it since it was made fit."""
    if begins_anew(standing) or standing.served is None:
        return standing
    was = standing.served
    soiling = Soiling(how="used", at=was.soiled) if was.soiled is not None else None
    return msgspec.structs.replace(standing, done=(*was.done, *standing.done), soiling=soiling)


def in_force(standing: Standing, kind: ItemType, at: datetime, zone: tzinfo) -> Done | None:
    """The gate of the day of *at*; None if it was missed, or the day was closed by draining it."""
    view = before_its_uses(standing)
    done = proof(view, kind, at)
    if done is None or at >= day_over(done.wet_until, zone) or _drained(view, done):
        return None
    return done


def _drained(view: Standing, done: Done) -> bool:
    return any("dry" in one.steps and one.at > done.at for one in view.done)


def what_makes_fit(
    standing: Standing, kind: ItemType, members: Sequence[Member], at: datetime, zone: tzinfo
) -> Done | None:
    """What a Yes at *at* rests on: the gate of the day, that of the item, or of what it holds."""
    if kind.holds == "day":
        return in_force(standing, kind, at, zone)
    return proof(standing, kind, at) or proof_inside(standing, members)


def last_one(standing: Standing, kind: ItemType, at: datetime) -> Done | None:
    """The last gate before *at*, of whatever day, as far as it is still known here."""
    return proof(before_its_uses(standing), kind, at)


def why_not_today(standing: Standing, kind: ItemType, asking: Asking) -> list[Told]:
    """Every reason why it may not serve on the day that is asked about."""
    if (waits := why_wait(standing, asking.at, asking.zone)) is not None:
        return [waits]
    view = before_its_uses(standing)
    done = in_force(standing, kind, asking.at, asking.zone)
    if done is None:
        return [Told(code="waterline-due", says=_missed(view, kind, asking))]
    reasons = []
    if (wet := left_wet(view, done, asking.zone)) is not None:
        says = (
            f"It was not drained and dried after {asking.when(wet)}: water stood in it overnight. "
            "Drain and dry it, then disinfect and rinse it anew."
        )
        reasons.append(Told(code="waterline-due", says=says))
    lacks = [*missing_steps(view, kind, done.at), *missing_after(view, kind, done)]
    says = "Nobody recorded the step “{}” since its waterline was disinfected."
    reasons += [Told(code="waterline-due", says=says.format(step)) for step in lacks]
    return reasons


def left_wet(view: Standing, done: Done, zone: tzinfo) -> datetime | None:
    """When water was last in it on a day before *done*, if it was not drained and dried since."""
    wet = [one.at for one in view.done if not _WATER.isdisjoint(one.steps)]
    if view.soiling is not None:
        wet.append(view.soiling.at)
    last = max((at for at in wet if day_over(at, zone) <= done.at), default=None)
    if last is None:
        return None
    dried = any("dry" in one.steps and last <= one.at <= done.at for one in view.done)
    return None if dried else last


def _missed(view: Standing, kind: ItemType, asking: Asking) -> str:
    gate = gate_step(kind)
    tried = [one for one in view.done if gate is not None and gate.step in one.steps]
    today = [one for one in tried if asking.at < day_over(one.wet_until, asking.zone)]
    if today and today[-1].refused:
        return f"The disinfection of its waterline does not count: {today[-1].refused}."
    last = last_one(view, kind, asking.at)
    if last is not None and last in today and _drained(view, last):
        return "It was drained and dried for the day: disinfect its waterline and rinse it anew."
    known = f" The last one was {asking.when(last.at)}." if last is not None else ""
    return f"Its waterline was not disinfected today: disinfect it and rinse it.{known}"
