"""Items are kept back, each reason by itself, and let go again, each reason by its decision."""

from collections.abc import Callable, Container, Iterable

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.facts import How, Told
from equip.rules.fitness.held import (
    KEPT_FOR_WORK,
    LIFTED_BY,
    kept_how,
    why_not_free,
    why_not_lift,
)
from equip.rules.fitness.standing import Kept
from equip.rules.loads.load import Load
from equip.store.database import Store
from equip.store.readings import item_rows, work_rows


def hold(act: Act, loads: Iterable[Load], why: Told, but: Container[str] = ()) -> list[str]:
    """Keep back whatever of *loads* still rests on them, *but* some; what was, once each."""
    held: dict[str, None] = {}
    for load in loads:
        for item in load.released:
            if item in but:
                continue
            standing = act.standing(item)
            rests = any(done.load == load.load for done in standing.done)
            if (
                rests
                and item not in held
                and why not in [kept.why for kept in standing.quarantines]
            ):
                quarantine(act, item, why)
                held[item] = None
    return list(held)


def quarantine(act: Act, item: str, why: Told, how: How = "clean-it-now") -> None:
    """Keep an item back for one reason; what may be done with it follows from its type too."""
    its = kept_how(act.kind(act.standing(item)), how)
    act.tell(facts.Quarantined, item=item, why=why, how=its)


def kept_back(store: Store, is_it: Callable[[Told], bool]) -> list[tuple[str, Kept]]:
    """What is kept back for a reason of which *is_it* is true, with that reason."""
    return [
        (standing.item, kept)
        for standing in item_rows.standings_held(store)
        for kept in standing.quarantines
        if is_it(kept.why)
    ]


def lift(act: Act, item: str, kept: Kept, reason: str, confirmed_by: str = "") -> None:
    """Somebody with the right lifts this one reason by hand; whatever else keeps it back stands."""
    decided = lifted_elsewhere(act.store, item, kept) == ""
    problem = why_not_lift(kept, reason, confirmed_by, decided=decided)
    _let_go(act, item, kept, problem, reason, confirmed_by)


def lifted_elsewhere(store: Store, item: str, kept: Kept) -> str:
    """Where this reason is lifted by a decision of its own, "" if it is lifted by hand.

    An item that was kept back as its work was signed off has no work left to sign off.
    """
    if kept.why.code == KEPT_FOR_WORK and not work_rows.open_work(store, item):
        return ""
    return LIFTED_BY.get(kept.why.code, "")


def let_out(
    act: Act, held: Iterable[tuple[str, Kept]], reason: str, confirmed_by: str = ""
) -> None:
    """The decision that these reasons ask for is made: somebody with the right lifts them."""
    for item, kept in held:
        problem = why_not_free(kept, reason, confirmed_by)
        _let_go(act, item, kept, problem, reason, confirmed_by)


def _let_go(act: Act, item: str, kept: Kept, problem: str, reason: str, confirmed_by: str) -> None:
    if "lift" not in act.house.rights(act.by):
        raise Refused("You have no right to lift a quarantine.")
    if problem:
        raise Refused(problem)
    act.tell(
        facts.QuarantineLifted,
        item=item,
        reason=reason.strip(),
        why=kept.why,
        since=kept.at,
        confirmed_by=confirmed_by.strip(),
    )
