"""A slow second opinion of whom the water of an irrigator reached, from the ledger alone.

Each use looks at all that was done to the machine before it: which disinfection of its waterline
holds on that day, and which uses came since one that counted. It knows no table that is kept.
"""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from equip import facts
from equip.store.database import Store
from tests.support.gates_oracle import Told, listen

_USUAL = "bacteria-viruses"
_ANEW = ("clean", "disinfect", "dry")


def exposed_by_water(store: Store, irrigator: str) -> set[tuple[str, str]]:
    """Each use of *irrigator* and each earlier use of another patient that its water may carry."""
    told = listen(store)
    (zone,) = store.rows("SELECT zone FROM site")
    uses = _uses(told, irrigator)
    found = set()
    for at, use, patient in uses:
        gate = _of_the_day(told, irrigator, at, ZoneInfo(str(zone[0])))
        since = max((one for one in _cleared(told, irrigator) if one <= at), default=None)
        for before, source, whom in uses:
            apart = source != use and whom != patient and before <= at
            carried = since is None or before >= since
            shares = gate is not None and gate == _of_the_day(
                told, irrigator, before, ZoneInfo(str(zone[0]))
            )
            if apart and carried and not shares:
                found.add((use, source))
    return found


def _uses(told: Told, irrigator: str) -> list[tuple[datetime, str, str]]:
    moved = {
        one.use: one.patient for *_, one in told.facts if isinstance(one, facts.MovedToPatient)
    }
    found: dict[str, tuple[datetime, str, str]] = {}
    for at, _, _, fact in told.facts:
        if isinstance(fact, facts.Used) and irrigator in (fact.item, *fact.covers):
            found.setdefault(fact.use, (at, fact.use, moved.get(fact.use, fact.patient)))
    return list(found.values())


def _cleared(told: Told, irrigator: str) -> list[datetime]:
    """When a disinfection of its waterline that counts was over."""
    return [
        until
        for at, _, path, fact in told.facts
        if isinstance(fact, facts.Stepped) and fact.item == irrigator
        for until in [at + timedelta(seconds=fact.contact_s)]
        if _holds(told, irrigator, path, fact, at, until) and _USUAL in (fact.stops or ())
    ]


def _holds(
    told: Told, irrigator: str, path: str, step: facts.Stepped, at: datetime, until: datetime
) -> bool:
    """A disinfection that was let go, is in no doubt, and whose time nothing cut short."""
    if step.step != "disinfect" or step.unreleased:
        return False
    if (irrigator, path) in told.doubted:
        return False
    after = [fact for one, number, _, fact in told.facts if at <= one < until and fact != step]
    return not any(_breaks(fact, irrigator) for fact in after)


def _breaks(fact: facts.Fact, irrigator: str) -> bool:
    match fact:
        case facts.Stepped():
            return fact.item == irrigator and fact.passed
        case facts.Used():
            return irrigator in (fact.item, *fact.covers)
        case facts.Marked():
            return irrigator in (fact.item, *fact.covers) and fact.effect == "soil"
        case _:
            return False


def _of_the_day(told: Told, irrigator: str, at: datetime, zone: ZoneInfo) -> datetime | None:
    """The end of the disinfection that holds at *at*; None where the day has none."""
    view: list[tuple[datetime, str, facts.Stepped]] = []
    served = False
    for one, _, path, fact in told.facts:
        if one > at:
            break
        match fact:
            case facts.Used() if irrigator in (fact.item, *fact.covers) and one < at:
                served = True
            case facts.Marked() if irrigator in (fact.item, *fact.covers):
                view = [] if fact.effect == "soil" else view
            case facts.Stepped() if fact.item == irrigator:
                if served and fact.step in _ANEW:
                    view, served = [], False
                view.append((one, path, fact))
            case _:
                pass
    for one, path, fact in reversed(view):
        until = one + timedelta(seconds=fact.contact_s)
        if fact.step != "disinfect":
            continue
        # The last one decides: one that stops too little takes the place of what came before it.
        good = _holds(told, irrigator, path, fact, one, until) and _USUAL in (fact.stops or ())
        dried = any(f.step == "dry" and when > one for when, _, f in view)
        same_day = until.astimezone(zone).date() == at.astimezone(zone).date()
        return until if good and until <= at and same_day and not dried else None
    return None
