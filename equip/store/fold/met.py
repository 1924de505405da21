"""Who met whom, read as a question asks it: against a hazard, with gates taken for nothing."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from equip.facts import Hazard
from equip.rules.fitness.stopping import USUAL
from equip.rules.lookback.hazards import effect, holds, loads_in
from equip.rules.lookback.sweep import Contact, Effect
from equip.store.database import Store
from equip.store.fold.of_the_day import over_at
from equip.store.fold.resting import counts_for, is_past

_FIRST_CHUNK, _MOST = 8, 256

_COLUMNS = (
    "SELECT at, item, sort, site, position, ref, patient, whole, short, state, doubt, contents,"
    " rests, gate FROM touch"
)


@dataclass(frozen=True, slots=True)
class Doubted:
    """Gates that a question takes for nothing: whole loads, and single ones as (item, ref).

    *standing* says that a case holds them in doubt already: without the question's doubt they
    are what they are without that case's.
    """

    loads: frozenset[str] = frozenset()
    gates: frozenset[tuple[str, str]] = frozenset()
    standing: bool = False

    def __contains__(self, gate: tuple[str, str]) -> bool:
        return gate[1] in self.loads or gate in self.gates


class Contacts:
    """The history of who met whom as a question reads it: against a hazard, with gates in doubt."""

    def __init__(
        self, store: Store, hazard: Hazard = USUAL, doubted: Doubted | None = None
    ) -> None:
        self._store = store
        self._hazard: Hazard = hazard
        self._doubted = doubted or Doubted()
        self._bare: dict[Contact, Contact] = {}

    def after(self, item: str, at: int) -> Iterator[Contact]:
        yield from self._walk(item, at, "", "", ">", "")

    def before(self, item: str, at: int) -> Iterator[Contact]:
        yield from self._walk(item, at, "~", "~", "<", " DESC")

    def _walk(
        self, item: str, at: int, sort: str, ref: str, than: str, way: str
    ) -> Iterator[Contact]:
        """Chunk by chunk, each larger, so that whoever stops soon has read little."""
        chunk = _FIRST_CHUNK
        statement = (
            f"{_COLUMNS} WHERE item = ? AND at {than}= ? AND (at, sort, ref) {than} (?, ?, ?)"
            f" ORDER BY at{way}, sort{way}, ref{way} LIMIT ?"
        )
        while rows := self._store.rows(statement, item, at, at, sort, ref, chunk):
            for row in rows:
                yield self.contact(row)
            if len(rows) < chunk:
                return
            chunk = min(2 * chunk, _MOST)
            at, sort, ref = rows[-1][0], rows[-1][2], rows[-1][5]

    def into(self, load: str) -> list[Contact]:
        return self._with(load, "sort = 'gate' AND contents > 0")

    def out_of(self, load: str) -> list[Contact]:
        return self._with(load, "sort = 'made'")

    def gates_of(self, load: str) -> list[Contact]:
        """What *load* was to each item in it."""
        return self._with(load, "sort = 'gate'")

    def uses_on(self, patient: str) -> list[Contact]:
        """Everything that was used or opened on this patient."""
        rows = self._store.rows(f"{_COLUMNS} WHERE patient = ? ORDER BY at, item", patient)
        return [self.contact(row) for row in rows]

    def of(self, item: str) -> list[Contact]:
        """Everything of one item, in the order of a sweep: those of one instant by their entry."""
        rows = self._store.rows(f"{_COLUMNS} WHERE item = ?", item)
        return sorted(self.contact(row) for row in rows)

    def _with(self, ref: str, which: str) -> list[Contact]:
        if not ref:
            return []
        rows = self._store.rows(f"{_COLUMNS} WHERE ref = ? AND {which} ORDER BY at, item", ref)
        return [self.contact(row) for row in rows]

    def contact(self, row: Sequence[Any]) -> Contact:
        """The contact of a row, its effect as this question has it."""
        at, item, sort, site, position, ref, patient, whole, short, state, doubt, *more = row
        contents, rests, gate = more
        does = ""
        if sort == "gate":
            does = effect(whole, short, "void" if doubt else state, self._hazard)
        found = Contact(at, item, sort, f"{site}/{position}", ref, patient, does, contents)  # type: ignore[arg-type]
        if (over := over_at(gate)) is not None:
            return self._shared(found, over)
        own = (item, ref) in self._doubted
        if does and (own or self._rests_on_doubt(item, rests)):
            bare, then = (self._holds(item, rests, asked) for asked in (False, True))
            stops = whole | short
            others = doubt - (self._doubted.standing if own else 0)
            without = "void" if others else state
            asked = "void" if own or doubt else state
            kept = found._replace(effect=_against(stops, bare, without, self._hazard))
            found = found._replace(effect=_against(stops, then, asked, self._hazard))
            if found != kept:
                self._bare[found] = kept
        return found

    def _shared(self, use: Contact, over: int) -> Contact:
        """A use of what many share in a day, with the gate they share while that clears."""
        sql = f"{_COLUMNS} WHERE item = ? AND sort = 'gate' AND at = ?"
        gates = [self.contact(row) for row in self._store.rows(sql, use.item, over)]
        found = use._replace(shared=_first_clear(gates))
        kept = use._replace(shared=_first_clear(self.without_doubt(gates)))
        if found != kept:
            self._bare[found] = kept
        return found

    def _rests_on_doubt(self, item: str, rests: str) -> bool:
        return any((item, load) in self._doubted for load in loads_in(rests))

    def _holds(self, item: str, rests: str, asked: bool) -> bool:
        """Whether what a gate rests on holds: with the question's doubt (*asked*), or without."""

        def counts(load: str, must_stop: bool) -> bool:
            if (item, load) not in self._doubted or is_past(self._store, load):
                return counts_for(self._store, item, load, must_stop)
            but = int(self._doubted.standing)
            return not asked and counts_for(self._store, item, load, must_stop, but)

        return holds(rests, counts)

    def without_doubt(self, contacts: Iterable[Contact]) -> list[Contact]:
        """The same *contacts*, in their order, as they are without this question's doubt."""
        return [self._bare.get(contact, contact) for contact in contacts]

    def gaps_in(self, contacts: Iterable[Contact]) -> list[Contact]:
        """Those of *contacts* that are uses with nothing known before them."""
        uses = [contact for contact in contacts if contact.what == "use"]
        moments: dict[str, list[int]] = {}
        for use in uses:
            moments.setdefault(use.item, []).append(use.at)
        found, known = [], set(uses)
        for item, at in moments.items():
            # By the index on item and at: where a past came in without its loads, gaps are many.
            sql = f"{_COLUMNS} WHERE item = ? AND at >= ? AND at <= ? AND gap + 0 = 1 ORDER BY at"
            rows = self._store.rows(sql, item, min(at), max(at))
            found += [self.contact(row) for row in rows]
        return [gap for gap in found if gap in known]


def _against(stops: int, rests_hold: bool, state: str, hazard: Hazard) -> Effect:
    return effect(stops if rests_hold else 0, 0 if rests_hold else stops, state, hazard)


def _first_clear(gates: Iterable[Contact]) -> str:
    return next((gate.ref for gate in gates if clears(gate)), "")


def clears(contact: Contact) -> bool:
    """Whether a gate lets nothing through."""
    return contact.effect == "clears"
