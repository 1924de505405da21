"""A look-back step by step: what is in doubt, what was kept back, listed, judged, decided, learnt.

It opens with `DoubtRaised` and is decided with `DoubtDecided` (in `keeping`), which stand as they
always did; what is told here refines them. A use decided is named with its sources, so that a
decision answers for what was known and for nothing that comes later.
"""

from datetime import date
from decimal import Decimal
from typing import ClassVar, Literal

from equip.facts.base import Fact, Hazard, Stamp, Value

Risk = Literal["A", "B", "none"]
Note = Literal["establish", "tell", "follow-up", "learn"]


class UseInDoubt(Value, frozen=True, kw_only=True):
    """A thing in a use on a patient, and the earlier uses that it may have carried."""

    item: str
    use: str
    patient: str
    sources: tuple[str, ...]


class DoubtScoped(Fact, frozen=True, kw_only=True, tag="doubt-scoped"):
    """What is in doubt from now on, all of it: it replaces what was in doubt before.

    *evidence* is the sort of evidence it was worked out from and *about* what that concerns;
    *gates* are written "item ref", the load or the entry of a step by hand. *left_out* was
    proposed and not taken. Asked from a source *patient*, nothing is in doubt.
    """

    names: ClassVar[tuple[str, ...]] = ("case", "loads", "items", "patient", "about")
    case: str
    says: str
    reason: str
    evidence: str = ""
    about: str = ""
    loads: tuple[str, ...] = ()
    gates: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    held: tuple[str, ...] = ()
    patient: str = ""
    since: Stamp | None = None
    until: Stamp | None = None
    hazard: Hazard = "bacteria-viruses"

    @property
    def items(self) -> tuple[str, ...]:
        return tuple(gate.partition(" ")[0] for gate in self.gates)


class DoubtContained(Fact, frozen=True, kw_only=True, tag="doubt-contained"):
    """Every item in doubt was kept back, wherever it was."""

    names: ClassVar[tuple[str, ...]] = ("case", "items")
    case: str
    items: tuple[str, ...]


class DoubtListed(Fact, frozen=True, kw_only=True, tag="doubt-listed"):
    """The list as it was: how far each site's chain went, how many, the SHA-256 of its bytes."""

    names: ClassVar[tuple[str, ...]] = ("case",)
    case: str
    heads: dict[str, int]
    uses: int
    patients: int
    gaps: int
    digest: str


class RiskJudged(Fact, frozen=True, kw_only=True, tag="risk-judged"):
    names: ClassVar[tuple[str, ...]] = ("case",)
    case: str
    category: Risk
    reason: str


class UsesDecided(Fact, frozen=True, kw_only=True, tag="uses-decided"):
    """These uses are decided, for these sources; whatever else turns up is open again."""

    names: ClassVar[tuple[str, ...]] = ("case", "items", "patients")
    case: str
    decision: str
    reason: str
    uses: tuple[UseInDoubt, ...]

    @property
    def items(self) -> tuple[str, ...]:
        return tuple(one.item for one in self.uses)

    @property
    def patients(self) -> tuple[str, ...]:
        return tuple(one.patient for one in self.uses)


class DoubtStep(Fact, frozen=True, kw_only=True, tag="doubt-step"):
    """Something done for a look-back that the book cannot see for itself."""

    names: ClassVar[tuple[str, ...]] = ("case", "patients")
    case: str
    step: Note
    says: str
    patients: tuple[str, ...] = ()


class DoubtClosed(Fact, frozen=True, kw_only=True, tag="doubt-closed"):
    names: ClassVar[tuple[str, ...]] = ("case",)
    case: str
    reason: str


class WeakLink(Value, frozen=True, kw_only=True):
    """A missing answer: how many patients it would settle, on how many it bears."""

    sort: Literal["verdict", "release", "steps", "contents", "before"]
    about: str
    says: str
    settles: int
    bears_on: int
    item: str = ""


class RehearsalRun(Fact, frozen=True, kw_only=True, tag="rehearsal-run"):
    """In the night of *day* a load that was let go was taken to have been bad; nothing was doubted.

    *uses* would be on the list, *unproven* of them (or gaps) are not sure, *unprovable* patients
    have such a use; *links* are the answers that would settle most of them, the best first.
    """

    names: ClassVar[tuple[str, ...]] = ("load",)
    load: str
    day: date
    seconds: Decimal
    uses: int
    patients: int
    unproven: int
    unprovable: int
    gaps: int
    looked_at: int
    traceable: Decimal | None = None
    links: tuple[WeakLink, ...] = ()


class DrillRun(Fact, frozen=True, kw_only=True, tag="drill-run"):
    """A look-back for practice: nothing was kept back and nothing put in doubt.

    *traceable* is the share of the uses looked at that stand on something known; None of none.
    """

    names: ClassVar[tuple[str, ...]] = ("load",)
    load: str
    seconds: Decimal
    uses: int
    patients: int
    gaps: int
    looked_at: int
    traceable: Decimal | None = None
    at_random: bool = False
