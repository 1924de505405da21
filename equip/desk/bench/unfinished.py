"""What is left to do when a session ends: soiled, in process, loads, pieces that are missing.

What was used in another room is that room's; loads and missing pieces are everybody's.
"""

from collections.abc import Iterable
from datetime import datetime

from equip.desk.clinic import Clinic
from equip.desk.register import searches
from equip.desk.register.stock import stock
from equip.rules.fitness.session import day_began
from equip.rules.fitness.standing import Standing
from equip.rules.loads.load import Load
from equip.rules.wording import several, when
from equip.scan import show_tag
from equip.store.readings import item_rows, load_rows, use_rows

_MOST = 8
_ROUNDS = {"in use": "Not finished", "soiled": "Soiled", "in process": "In process"}
_STATES = {"filling": "is being filled", "running": "is running", "ended": "is to be judged"}
_VERDICTS = {
    "pass": "has passed and is to be released",
    "fail": "has failed and is to be rejected",
    "undecided": "cannot be judged and is treated as not passed",
}


def unfinished(clinic: Clinic, place: str, at: datetime) -> list[str]:
    """A sentence for each sort of work that is left, of *place* or of all rooms; none if none."""
    every = {one.item: one for one in item_rows.standings(clinic.store)}
    mine = {tag: one for tag, one in every.items() if _is_of(clinic, one, place)}
    loads = load_rows.open_loads(clinic.store)
    found = _by_round(clinic, mine, {load.load for load in loads}, at)
    found["soiled"] += _opened_packs(clinic, mine.values(), at)
    says = [_listed(clinic, _ROUNDS[word], of, at) for word, of in found.items() if of]
    says += [_load_says(clinic, load, every, at) for load in loads]
    zone = clinic.house.zone
    missing = searches.all_open(clinic)
    return says + [f"{one.says} since {when(one.search.at, at, zone)}." for one in missing]


def _is_of(clinic: Clinic, standing: Standing, place: str) -> bool:
    """Whether it is of *place*: used there, else standing there; unknown is everybody's."""
    if not place or standing.soiling is None:
        return not place or standing.place in ("", place)
    use = use_rows.use_of(clinic.store, standing.soiling.use) if standing.soiling.use else None
    where = use.place if use is not None and use.place else standing.place
    return where in ("", place)


def _by_round(
    clinic: Clinic, mine: dict[str, Standing], loads: set[str], at: datetime
) -> dict[str, list[Standing]]:
    """What Stock shows as on its way; what lies in an open load is told with its load."""
    found: dict[str, list[Standing]] = {word: [] for word in _ROUNDS}
    for shelf in stock(clinic, at).shelves:
        for thing in shelf.things:
            standing = mine.get(thing.tag)
            if standing is None or standing.soiling is None or thing.round not in found:
                continue
            if standing.load not in loads:
                found[thing.round].append(standing)
    return found


def _opened_packs(clinic: Clinic, mine: Iterable[Standing], at: datetime) -> list[Standing]:
    """Packs opened today whose untagged contents nobody has seen to: they go by the pack's tag."""
    since = day_began(at, clinic.house.zone)
    return [
        one
        for one in mine
        if one.opened is not None
        and one.opened >= since
        and one.loose
        and one.soiling is not None
        and not (one.done or one.load)
    ]


def _listed(clinic: Clinic, word: str, found: list[Standing], at: datetime) -> str:
    house = clinic.house
    since = sorted(((one.soiling.at, one) for one in found if one.soiling), key=lambda two: two[0])
    shown = [
        f"{house.kind(one.type).name if one.type else 'Pack'} {show_tag(one.item)}"
        f" since {when(moment, at, house.zone)}"
        for moment, one in since[:_MOST]
    ]
    if len(since) > _MOST:
        shown.append(f"{len(since) - _MOST} more, see Stock")
    return f"{word}: {several(shown)}."


def _load_says(clinic: Clinic, load: Load, every: dict[str, Standing], at: datetime) -> str:
    machine = every.get(load.machine)
    kind = clinic.house.kind(machine.type).name if machine else "a machine"
    state = _STATES.get(load.state) or _VERDICTS.get(load.verdict or "", "has not passed")
    if load.wants_reader:
        state = "waits for a second reader"
    begun = load.ended or load.started or load.opened
    since = f" since {when(begun, at, clinic.house.zone)}" if begun else ""
    return f"Load {show_tag(load.load)} in {kind} {show_tag(load.machine)} {state}{since}."
