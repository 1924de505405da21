"""What came out of loads and was not used yet: kept back as one, and let out again as one."""

from collections.abc import Container, Iterable

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.facts import Told
from equip.rules.loads.load import Load
from equip.store.database import Store
from equip.store.readings import item_rows


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
                act.tell(facts.Quarantined, item=item, why=why, how="clean-it-now")
                held[item] = None
    return list(held)


def kept_back(store: Store, why: Told) -> list[str]:
    """What is kept back for *why* and for nothing else."""
    return [
        standing.item
        for standing in item_rows.standings_held(store)
        if all(kept.why == why for kept in standing.quarantines)
    ]


def let_out(act: Act, items: Iterable[str], reason: str) -> None:
    """Somebody with the right lets all of them out of quarantine, with one reason."""
    if "lift" not in act.house.rights(act.by):
        raise Refused("You have no right to lift a quarantine.")
    if not reason.strip():
        raise Refused("Give a reason: it is read years later.")
    for item in items:
        act.tell(facts.QuarantineLifted, item=item, reason=reason.strip())
