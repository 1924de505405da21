"""A book with so many facts in it, made quickly: the store's own append and fold, in batches.

Invented visits with a fixed seed: each uses two scopes on one patient and cleans them again.
Only the way in differs from a real life: no scan is read and many visits share a transaction.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any
from uuid import UUID

from equip import facts
from equip.clock import utc_now
from equip.desk.act.act import acting
from equip.desk.clinic import Clinic
from equip.desk.machines import lots
from equip.desk.register import items
from equip.facts import Fact, Stated, Step, micros
from equip.installation import open_installation
from equip.settings.settings import Settings
from equip.store.database import Store
from equip.store.fold.project import project
from equip.store.kept import people
from equip.store.ledger import ledger

SCOPES = 240
STEPS: tuple[Step, ...] = ("clean", "disinfect", "rinse")
"""What makes a scope of the starter types fit again: a visit has all of them for both scopes."""

WET_S = 1
_WIPE: dict[str, Any] = {
    "lots": ("T00000001P",),
    "contact_s": WET_S,
    "agent": "chlorine-dioxide",
    "stops": ("bacteria-viruses", "spores"),
}
BENCHES = 8
_MINUTES = 20  # from visit to visit
_PER_VISIT = 4 + 2 * len(STEPS)
_BATCH = 2_500  # visits in a transaction
_SEED = 20_261

_ANSWER = (
    '{"tone":"note","word":"Used","what":"Rigid scope, wiped E 0000 0017 R","item":"E00000017R",'
    '"next":"Next: scan the next one."}'
)
_CONTEXT = (
    '{"at":"2026-01-05T09:12:44Z","mode":"tell","patient":"tabcdefghijkl","use":"%s",'
    '"used":["E00000017R","E000000182"],"item":"E00000017R","undoable":["%s","%s"]}'
)


@dataclass(frozen=True, slots=True)
class Grown:
    """A book in *folder*, the key of a bench, and the tags of two scopes for each bench."""

    folder: Path
    key: str
    pairs: tuple[tuple[str, str], ...]
    lot: str


def grow(folder: Path, wanted: int) -> Grown:
    """A book of about *wanted* facts in *folder*; their times end a day ago."""
    with open_installation(Settings(data=folder, site="TIMED"), utc_now) as installation:
        clinic = installation.clinic
        visits = max(wanted // _PER_VISIT, 1)
        begin = utc_now() - timedelta(days=1, minutes=_MINUTES * visits)
        nurse, scopes, lot = _people_and_things(clinic, begin)
        _live(
            clinic, nurse, scopes, [begin + timedelta(minutes=_MINUTES * n) for n in range(visits)]
        )
        key = people.open_session(clinic.store, nurse, "key", utc_now(), label="measure")
        clinic.store.run("PRAGMA wal_checkpoint(TRUNCATE)")
    pairs = tuple(zip(scopes[: 2 * BENCHES : 2], scopes[1 : 2 * BENCHES : 2], strict=True))
    return Grown(folder, key, pairs, lot)


def _people_and_things(clinic: Clinic, at: datetime) -> tuple[str, list[str], str]:
    """A nurse, her scopes and her wipes, which are the quickest there are: nobody waits for long.

    The edge of a scope is looked at once a session here, so that a visit asks for no check.
    """
    with acting(clinic, by="", at=at) as act:
        nurse = items.add_person(act, "Pat Sedge", "nurse", ["release", "lots"])
        kind = act.house.types["scope-wiped"]
        scopes = [items.add_item(act, kind, "factory-new") for _ in range(SCOPES)]
        today = act.house.today(at)
        items.set_rule(act, "check.edge.each-use", "false", "to time scans", today)
    with acting(clinic, by=nurse, at=at) as act:
        stated = Stated(contact_s=WET_S, agent="chlorine-dioxide")
        lot = lots.add(act, "wipe", "Wipes", "W-1", stated=stated)
    return nurse, scopes, lot


def _live(clinic: Clinic, nurse: str, scopes: list[str], visits: list[datetime]) -> None:
    store, site, random = clinic.store, clinic.settings.site, Random(_SEED)
    # Only this filling is in a hurry: the server opens the file with the book's own settings.
    store.run("PRAGMA synchronous = OFF")
    store.run("PRAGMA cache_size = -400000")
    with store.writing():
        tokens = [clinic.vault.token(f"DEMO-{n:06}") for n in range(len(visits) // 3 + 1)]
    for first in range(0, len(visits), _BATCH):
        told = [
            fact
            for at in visits[first : first + _BATCH]
            for fact in _visit(random, at, nurse, scopes, tokens)
        ]
        with store.writing():
            entries = ledger.append(store, site, told, told[-1].at)
            project(store, entries)
            _keep_acts(store, site, told, entries[0].position)


def _visit(
    random: Random, at: datetime, nurse: str, scopes: list[str], tokens: list[str]
) -> Iterator[Fact]:
    patient, pair = random.choice(tokens), random.sample(scopes, 2)
    use = _act_id(random)
    who: dict[str, Any] = {"by": nurse, "bench": f"bench {random.randint(1, BENCHES)}"}

    def later(seconds: int) -> datetime:
        return at + timedelta(seconds=seconds)

    yield facts.UseBegun(at=at, act=use, use=use, patient=patient, **who)
    for turn, item in enumerate(pair):
        act = use if turn == 0 else _act_id(random)
        yield facts.Used(at=later(turn), act=act, use=use, item=item, patient=patient, **who)
    act = _act_id(random)
    yield facts.UseFinished(
        at=later(400), act=act, use=use, patient=patient, covers=tuple(pair), **who
    )
    for after, step in enumerate(STEPS, start=5):
        for turn, item in enumerate(pair):
            act = _act_id(random)
            means = _WIPE if step == "disinfect" else {}
            at_once = later(100 * after + turn)
            yield facts.Stepped(at=at_once, act=act, item=item, step=step, **means, **who)


def _act_id(random: Random) -> str:
    return str(UUID(int=random.getrandbits(128), version=4))


def _keep_acts(store: Store, site: str, told: list[Fact], first: int) -> None:
    """A row for each act, as the bench keeps them."""
    spans: dict[str, tuple[int, int, Fact]] = {}
    for position, fact in enumerate(told, start=first):
        begun = spans[fact.act][0] if fact.act in spans else position
        spans[fact.act] = (begun, position, fact)
    store.many(
        "INSERT INTO act (id, site, bench, seq, at, payload_hash, reading, answer, context,"
        " first, last) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            (
                act,
                site,
                fact.bench,
                last,
                micros(fact.at),
                bytes.fromhex(act.replace("-", "")) * 2,
                "E00000017R",
                _ANSWER,
                _CONTEXT % (act, act, act),
                begun,
                last,
            )
            for act, (begun, last, fact) in spans.items()
        ],
    )
