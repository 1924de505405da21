"""Who was exposed, worked out slowly and plainly from the lines of a file of the past.

Written from the semantics alone and with none of the application's modules: one source at a time,
carried from instant to instant, once for each degree of certainty.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby

Row = dict[str, str]
Pair = tuple[str, str, str, str, str]
"""The patient, item and moment of a use; the patient and moment of its source."""

CERTAIN, NO_PROOF, POSSIBLE = 2, 1, 0
WORDS = {CERTAIN: "certain", NO_PROOF: "no-proof", POSSIBLE: "possible"}


class Oracle:
    """One file's rows, in order of time; *neither* are items that carry nothing."""

    def __init__(self, rows: Sequence[Row], neither: frozenset[str] = frozenset()) -> None:
        self.rows = sorted(rows, key=lambda row: row["when"])
        self.neither = neither
        self.sets = {row["note"] for row in rows if row["what"] in ("join", "leave")}
        self.mixing = {row["load"] for row in rows if row["what"] == "packed"}

    def members(self, name: str, when: str) -> list[str]:
        """What a name stands for at that moment: itself, or what is in the set then."""
        if name not in self.sets:
            return [name]
        inside: list[str] = []
        for row in sorted(self.rows, key=lambda one: (one["when"], one["what"] == "leave")):
            if row["what"] not in ("join", "leave") or row["note"] != name:
                continue
            if row["when"] > when or (row["when"] == when and row["what"] == "leave"):
                continue
            if row["what"] == "join" and row["item"] not in inside:
                inside.append(row["item"])
            elif row["what"] == "leave" and row["item"] in inside:
                inside.remove(row["item"])
        return inside

    def uses(self) -> Iterator[tuple[str, str, str]]:
        for row in self.rows:
            if row["what"] == "use":
                for item in self.members(row["item"], row["when"]):
                    if item not in self.neither:
                        yield row["patient"], item, row["when"]

    def lets_through(self, row: Row, doubted: frozenset[str], hazard: str, least: int) -> bool:
        """Whether what an item carried is still on it after this load."""
        if row["load"] in doubted or row["result"] == "fail":
            return True
        if hazard == "prions" or (hazard == "spores" and row["programme"].startswith("thermal")):
            return True
        return row["result"] == "" and least <= NO_PROOF

    def pairs(
        self, doubted: frozenset[str] = frozenset(), hazard: str = "bacteria-viruses"
    ) -> dict[Pair, int]:
        found: dict[Pair, int] = {}
        for patient, when in sorted({(p, w) for p, _, w in self.uses()}):
            for least in (POSSIBLE, NO_PROOF, CERTAIN):
                for pair in self._reached(patient, when, doubted, hazard, least):
                    found[pair] = least
        return found

    def _reached(
        self, patient: str, when: str, doubted: frozenset[str], hazard: str, least: int
    ) -> set[Pair]:
        dirty: set[str] = set()
        pooled: set[str] = set()
        found: set[Pair] = set()
        for now, group in groupby(self.rows, key=lambda row: row["when"]):
            rows = list(group)
            was = set(dirty)
            for row in rows:
                if row["what"] == "load" and not self.lets_through(row, doubted, hazard, least):
                    dirty -= set(self.members(row["item"], now))
            source = {
                item
                for row in rows
                if row["what"] == "use" and row["patient"] == patient and now == when
                for item in self.members(row["item"], now)
                if item not in self.neither
            }
            dirty |= source
            for row in rows:
                mixes = row["what"] == "load" and row["load"] in self.mixing
                if (
                    mixes
                    and least == POSSIBLE
                    and dirty.intersection(self.members(row["item"], now))
                ):
                    pooled.add(row["load"])
            for row in rows:
                if row["what"] == "packed" and row["load"] in pooled:
                    was.add(row["item"])
                    dirty.add(row["item"])
            for row in rows:
                if row["what"] == "use" and row["patient"] != patient:
                    for item in self.members(row["item"], now):
                        if item in was | source and item not in self.neither:
                            found.add((row["patient"], item, now, patient, when))
        return found
