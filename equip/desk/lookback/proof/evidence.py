"""What an answer of exposure rests on: the entries behind every line of it, and their proofs."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import msgspec

from equip import facts
from equip.desk.clinic import Clinic
from equip.desk.lookback.exposure_answer import ExposureAnswer
from equip.desk.lookback.exposure_json import AnswerNames
from equip.facts import TreeHead, moment
from equip.rules.fitness.standing import settled
from equip.rules.lookback.merkle import Tree
from equip.rules.lookback.sweep import Certainty, Contact, Exposure, Source
from equip.store.ledger import extracts, ledger
from equip.store.ledger.about import told_about
from equip.store.ledger.extracts import SealedEntry
from equip.store.ledger.ledger import Entry

Json = dict[str, Any]
_RAN = (facts.LoadEnded, facts.LoadTakenOver)


@dataclass
class Evidence:
    """The entries that an answer needs, as they are come upon, and what binds them to it."""

    clinic: Clinic
    names: AnswerNames
    paths: set[str] = field(default_factory=set)
    called: dict[str, Json] = field(default_factory=dict)
    moved: dict[str, str] = field(default_factory=dict)
    _looked_at: set[str] = field(default_factory=set)

    def of(self, answer: ExposureAnswer, case: str) -> Json:
        """Which entry stands behind which line, in the order of the answer's lists."""
        scope = answer.scope
        for ref in (*scope.loads, *(ref for _, ref in scope.gates), case):
            self._all_of(ref)
        for load in scope.loads:
            self._call(load)
        lists = {
            "exposures": [self._exposure(one) for one in answer.exposures],
            "already_open": [self._exposure(one) for one in answer.already_open],
            "gaps": [self._gap(gap) for gap in answer.gaps],
        }
        return {
            "case": case,
            "patient": scope.patient,
            "loads": sorted(scope.loads),
            "gates": [list(gate) for gate in scope.gates],
            "called": dict(sorted(self.called.items())),
            "moved": dict(sorted(self.moved.items())),
            **lists,
        }

    def _all_of(self, ref: str) -> None:
        """Everything told of a load or a case; the entry itself where a step by hand is meant."""
        if "/" in ref:
            self.paths.add(ref)
        elif ref:
            self.paths |= {entry.path for entry in told_about(self.clinic.store, ref)}

    def _exposure(self, exposure: Exposure) -> Json:
        return {
            **self._use(exposure.item, exposure.use, exposure.entry),
            "sources": [self._source(source) for source in by_time(exposure.sources)],
        }

    def _source(self, source: Source) -> Json:
        path = list(source.path.entries())
        self.paths |= set(path)
        if source.certainty == Certainty.possible:
            self._mixed(path)
        if source.patient is not None:
            self._move(source.use)
        return {"use": source.use, "path": path}

    def _mixed(self, path: list[str]) -> None:
        """What was in the loads that packs on this way were made out of.

        A use of the very instant of the load has no entry of the load on its way.
        """
        for line in extracts.lines(self.clinic.store, path):
            fact = facts.read(line.body)
            if isinstance(fact, facts.Packed) and fact.load:
                told = told_about(self.clinic.store, fact.load)
                self.paths |= {entry.path for entry in told if isinstance(entry.fact, _RAN)}

    def _gap(self, gap: Contact) -> Json:
        return self._use(gap.item, gap.ref, gap.entry)

    def _use(self, item: str, use: str, entry: str) -> Json:
        self.paths.add(entry)
        self._call(item)
        self._move(use)
        return {"item": item, "use": use, "entry": entry}

    def _call(self, tag: str) -> None:
        """The entry by which a thing or a load is called as the answer calls it."""
        name = self.names(tag)
        if tag in self.called or name == tag:
            return
        entries = told_about(self.clinic.store, tag)
        path = next((one.path for one in entries if name in _names_in(one)), "")
        self.called[tag] = {"name": name, "entry": path}
        self._all_of(path)

    def _move(self, use: str) -> None:
        """The entry by which all of a use belongs to another patient than first told."""
        if use in self._looked_at:
            return
        self._looked_at.add(use)
        entries = told_about(self.clinic.store, use)
        moves = [
            entries[index].path
            for index, fact in settled([entry.fact for entry in entries])
            if isinstance(fact, facts.MovedToPatient)
        ]
        if moves:
            self.moved[use] = moves[-1]
            self.paths.add(moves[-1])


def by_time(sources: Iterable[Source]) -> list[Source]:
    """Sources in the order in which an answer lists them."""
    return sorted(sources, key=lambda source: (source.at, source.patient or "", source.use))


def _names_in(entry: Entry) -> set[str]:
    told = msgspec.structs.asdict(entry.fact)
    single = {told.get(key) for key in ("tag", "old", "maker_code")}
    return {one for one in single if one} | set(told.get("aliases", ()))


# --- the extract, and its proofs -----------------------------------------------------------------


def extract(found: Sequence[SealedEntry]) -> bytes:
    """The entries, one a line."""
    lines = (json.dumps(_line(one), ensure_ascii=False) for one in found)
    return "".join(f"{line}\n" for line in lines).encode()


def _line(line: SealedEntry) -> Json:
    return {
        "site": line.site,
        "position": line.position,
        "recorded_at": moment(line.recorded_at).isoformat(),
        "recorded_us": line.recorded_at,
        "body": line.body.decode(),
        "seal": line.seal.hex(),
        "previous": line.previous.hex(),
    }


def sizes(clinic: Clinic) -> dict[str, int]:
    """How far each site's chain goes now."""
    heads = ledger.heads(clinic.store).items()
    return {site: head.position for site, head in heads if head.position}


def proofs(clinic: Clinic, found: Sequence[SealedEntry], upto: dict[str, int]) -> Json:
    """For each site the tree over its seals up to there, and the way of each entry to its root."""
    sites = {}
    for site, size in sorted(upto.items()):
        tree = Tree(extracts.seals(clinic.store, site, size))
        if tree.size != size:
            raise LookupError(f"The ledger of {site} has a hole: ask `verify` where.")
        (head,) = extracts.lines(clinic.store, [f"{site}/{size}"])
        here = [one.position for one in found if one.site == site]
        sites[site] = {
            "size": size,
            "root": tree.root.hex(),
            "head": {"position": size, "seal": head.seal.hex(), "path": _way(tree, size)},
            "paths": {str(position): _way(tree, position) for position in here},
        }
    return {"leaf": "SHA-256 of a byte 0x00 and the 32-byte seal", "sites": sites}


def _way(tree: Tree, position: int) -> list[str]:
    return [one.hex() for one in tree.path(position - 1)]


def heads_of(proved: Json) -> tuple[TreeHead, ...]:
    """The trees as the ledger keeps them."""
    return tuple(
        TreeHead(site=site, size=tree["size"], root=tree["root"])
        for site, tree in proved["sites"].items()
    )
