"""One act: the site's head locked, facts decided, all of them appended or none."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, TypeVar
from uuid import uuid4

from equip.desk.act.alarms import Ended, watch
from equip.desk.clinic import Clinic, House
from equip.desk.fitness.readiness import Readiness
from equip.facts import Fact, ItemType, Told
from equip.rules.bench.transitions import Context
from equip.rules.fitness.gates import Asking, Member
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.why_not import Why
from equip.store.database import Store
from equip.store.fold import exposures
from equip.store.fold.project import project
from equip.store.kept import acts
from equip.store.ledger import ledger
from equip.store.ledger.ledger import Entry
from equip.store.post import agenda
from equip.store.readings import item_rows
from equip.store.readings.item_rows import ItemRow

FactKind = TypeVar("FactKind", bound=Fact)

_NOTHING = Context()

# A device's clock may run this far ahead before its claim is set aside.
_AHEAD = timedelta(seconds=5)


class Refused(ValueError):
    """What was asked cannot be done; the message says why and what to do instead."""


@dataclass
class Act:
    """What one person is doing now, and the facts it comes to."""

    clinic: Clinic
    house: House
    id: str
    at: datetime
    now: datetime
    by: str
    signed: str
    bench: str = ""
    claimed: datetime | None = None
    told: list[Fact] = field(default_factory=list)
    later: list[tuple[str, str, str]] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    more_exposed: int = 0
    told_of: datetime | None = None
    _standings: dict[str, Standing] = field(default_factory=dict)
    _rows: dict[str, ItemRow | None] = field(default_factory=dict)
    _readiness: Readiness | None = None

    @property
    def store(self) -> Store:
        return self.clinic.store

    def tell(self, kind: type[FactKind], **fields: Any) -> FactKind:
        """A fact of this act: it is appended when the act is done."""
        fields.setdefault("at", self.at)
        fact = kind(by=self.by, act=self.id, bench=self.bench, claimed=self.claimed, **fields)
        self.told.append(fact)
        return fact

    def send_later(self, key: str, what: str, payload: str) -> None:
        """Word of this leaves the house later: a row in the same transaction, never lost."""
        self.later.append((key, what, payload))

    def standing(self, item: str) -> Standing:
        """Where an item stands before this act, or stood at the time told of; read once."""
        if item not in self._standings:
            found = item_rows.standings_at(self.store, (item,), self.told_of)
            self._standings[item] = found[0] if found else Standing(item=item)
        return self._standings[item]

    def tells_of(self, at: datetime) -> None:
        """What is told from here on in this act happened at *at*, and is held against what stood
        then. It answers no question: whether something may be used is asked about now alone."""
        self.at = self.told_of = at
        self._standings, self._readiness = {}, None

    def row(self, tag: str) -> ItemRow | None:
        """The line of the register, before this act, that has this tag; read once."""
        if tag not in self._rows:
            self._rows[tag] = item_rows.item_row(self.store, tag)
        return self._rows[tag]

    def kind(self, standing: Standing) -> ItemType:
        return self.house.kind(standing.type)

    def members(self, standing: Standing) -> list[Member]:
        """What a pack or a set holds, where it stands and what it is."""
        return self.readiness.members(standing)

    def asking(
        self, standing: Standing, patient: str = "", use: str = "", *, telling: bool = False
    ) -> Asking:
        return self.readiness.asking(standing, patient, use, telling=telling)

    def why_not_use(
        self, standing: Standing, context: Context = _NOTHING, *, telling: bool = False
    ) -> list[Why]:
        """Every reason against using it now, with what is in hand."""
        asking = self.asking(standing, context.patient, context.use, telling=telling)
        members = self.members(standing)
        return self.readiness.why_not_use(standing, members, asking, context.place, context.used)

    @property
    def readiness(self) -> Readiness:
        """What may be used now; how machines stand is read once an act."""
        if self._readiness is None:
            self._readiness = Readiness(self.clinic, self.at, told_of=self.told_of)
        return self._readiness

    def label(self, standing: Standing) -> str:
        """What a thing is called on screen: its type, its own name if it has one, its tag."""
        row = self.row(standing.item)
        return self.house.label(row or ItemRow(standing.item, standing.type))

    def commit(self) -> None:
        """Append what was told and bring every table up to date. Inside the transaction."""
        if self.told:
            before = exposures.tallies(self.store)
            self.entries = ledger.append(self.store, self.house.site, self.told, self.now)
            project(self.store, self.entries)
            after = exposures.tallies(self.store)
            self.more_exposed = after.get("exposed", 0) - before.get("exposed", 0)
            ended = Ended(self.id, self.now, tuple(self.told), before, after)
            watch(self.store, self.house, ended)
        for key, what, payload in self.later:
            agenda.put(self.store, key, self.now, what, payload)


@contextmanager
def acting(
    clinic: Clinic, by: str, *, act: str = "", at: datetime | None = None, signed: str = ""
) -> Iterator[Act]:
    """An act from a page or the command line, written down as one when the block ends well."""
    with clinic.store.writing():
        ledger.lock(clinic.store, [clinic.settings.site])
        now = clinic.clock()
        done = begin(clinic, by, act=act or str(uuid4()), at=at or now, now=now, signed=signed)
        yield done
        done.commit()
        keep_act(done, bench=None, seq=None, payload_hash=b"", reading="", answer="", context="")


def begin(
    clinic: Clinic,
    by: str,
    *,
    act: str,
    at: datetime,
    now: datetime,
    signed: str = "",
    bench: str = "",
) -> Act:
    """An act inside a transaction that is open already. A time in the future is set aside."""
    claimed = at if at > now + _AHEAD else None
    return Act(
        clinic=clinic,
        house=clinic.house,
        id=act,
        at=min(at, now),
        now=now,
        by=by,
        signed=signed,
        bench=bench,
        claimed=claimed,
    )


def keep_act(
    act: Act,
    *,
    bench: str | None,
    seq: int | None,
    payload_hash: bytes,
    reading: str,
    answer: str,
    context: str,
) -> None:
    """The row by which the same id answers the same, and by which an act can be taken back."""
    acts.keep_act(
        act.store,
        act.id,
        act.house.site,
        act.at,
        bench=bench,
        seq=seq,
        payload_hash=payload_hash,
        reading=reading,
        answer=answer,
        context=context,
        wrote=(act.entries[0].position, act.entries[-1].position) if act.entries else None,
    )


def alert(act: Act, says: str) -> None:
    """Word to the practice manager, at once, by what is not a person's name."""
    act.send_later(f"alert:{act.id}:{len(act.later)}", "alert", says)


def told(reasons: Sequence[Why]) -> tuple[Told, ...]:
    """Reasons as a fact keeps them."""
    return tuple(Told(code=why.code, says=why.says) for why in reasons)
