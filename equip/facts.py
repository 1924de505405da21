"""What can be written in the ledger, the exact bytes it becomes, and the seal.

A kind is never renamed and a field never changes its meaning; new fields get defaults.
`tests/golden/` holds the bytes of every kind ever released and reads them all back.
"""

import hashlib
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import reduce
from operator import or_
from typing import Annotated, ClassVar, Literal

import msgspec

Stamp = Annotated[datetime, msgspec.Meta(tz=True)]

Step = Literal[
    "wipe", "clean", "rinse", "dry", "disinfect", "inspect", "pack", "sterilise", "store"
]
Hazard = Literal["bacteria-viruses", "spores", "prions"]
Arrival = Literal["factory-new", "loaned", "repaired", "second-hand", "go-live"]
Contact = Literal["touches", "water-or-air", "neither"]
Ear = Literal["", "left", "right", "both"]
Verdict = Literal["pass", "fail", "undecided"]


class Value(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """Something a fact contains; it has no life of its own."""


class Told(Value, frozen=True, kw_only=True):
    """A reason as it was shown: a code for programs, a sentence for people."""

    code: str
    says: str
    at_s: Decimal | None = None


class RuleUsed(Value, frozen=True, kw_only=True):
    """A rule as it stood when something was decided by it."""

    id: str
    value: str
    unit: str = ""
    basis: str = ""
    source: str = ""


class RouteStep(Value, frozen=True, kw_only=True):
    """One step of the way back to fit-for-use; a gate if it stops a hazard.

    A step that is not *required* is part of the route but proves nothing by its absence.
    """

    step: Step
    stops: tuple[Hazard, ...] = ()
    required: bool = True


class Programme(Value, frozen=True, kw_only=True):
    """A programme as one machine offers it: what it is judged by, and what it suits."""

    judged_by: str
    name: str = ""
    wrapped: bool = False
    hollow: bool = False


class Process(Value, frozen=True, kw_only=True):
    """What a machine does to a load. *steps* are the steps of the route a good cycle is."""

    steps: tuple[Step, ...]
    heat: Literal["steam", "hot-water", "none"] = "none"
    vacuum: bool = False
    litres: int = 0
    programmes: tuple[Programme, ...] = ()


class ItemType(Value, frozen=True, kw_only=True):
    """What an item is: its route, its limits, whether it touches the patient.

    *optic* tells scopes apart, whose wiped state lapses; *instructions* names the maker's
    document; *card* is the act card that counts one untagged instrument of this type.
    """

    code: str
    name: str
    sort: Literal["instrument", "machine", "set"] = "instrument"
    contact: Contact = "touches"
    tagged: bool = True
    reuse: Literal["reusable", "single-use", "single-patient"] = "reusable"
    hollow: bool = False
    heat_proof: bool = True
    optic: Literal["", "rigid", "flexible"] = ""
    route: tuple[RouteStep, ...] = ()
    use_limit: int | None = None
    cycle_limit: int | None = None
    process: Process | None = None
    instructions: str = ""
    card: str = ""


class Loose(Value, frozen=True, kw_only=True):
    """So many untagged instruments of one type, known only by the pack they are in."""

    type: str
    count: int


class Fact(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True, tag_field="kind"):
    """Something that happened, told once and never edited.

    *at* is when it happened (UTC), *by* the badge of whoever did it ("" is the tool itself),
    *act* the act it belongs to. *claimed* keeps what a device said when its time was impossible.
    """

    names: ClassVar[tuple[str, ...]] = ()

    at: Stamp
    by: str
    act: str
    bench: str = ""
    claimed: Stamp | None = None

    def __post_init__(self) -> None:
        for name in ("at", "claimed"):
            told: datetime | None = getattr(self, name)
            if told is None or told.tzinfo is UTC:
                continue
            if told.tzinfo is None:
                raise ValueError(f"{type(self).__name__}: a time without a zone is not evidence")
            msgspec.structs.force_setattr(self, name, told.astimezone(UTC))


# --- the register --------------------------------------------------------------------------


class SiteOpened(Fact, frozen=True, kw_only=True, tag="site-opened"):
    site: str
    name: str
    zone: str
    book: str


class TypeDefined(Fact, frozen=True, kw_only=True, tag="type-defined"):
    type: ItemType


class ItemAdded(Fact, frozen=True, kw_only=True, tag="item-added"):
    """*declared_by* is the person who vouches for stock taken over on going live."""

    names: ClassVar[tuple[str, ...]] = ("item", "place", "declared_by")
    item: str
    type: str
    arrival: Arrival
    name: str = ""
    serial: str = ""
    maker_code: str = ""
    place: str = ""
    aliases: tuple[str, ...] = ()
    declared_by: str = ""


class Arrived(Fact, frozen=True, kw_only=True, tag="arrived"):
    """It came back or came in from outside: what it met there is not known here."""

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    arrival: Arrival
    sender: str = ""


class SentOut(Fact, frozen=True, kw_only=True, tag="sent-out"):
    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    receiver: str
    why: Literal["loan", "repair", "service"]


class Retired(Fact, frozen=True, kw_only=True, tag="retired"):
    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    why: str


class TagReplaced(Fact, frozen=True, kw_only=True, tag="tag-replaced"):
    names: ClassVar[tuple[str, ...]] = ("item", "tag")
    item: str
    tag: str
    why: str


class Joined(Fact, frozen=True, kw_only=True, tag="joined"):
    names: ClassVar[tuple[str, ...]] = ("set", "item")
    set: str
    item: str


class Left(Fact, frozen=True, kw_only=True, tag="left"):
    names: ClassVar[tuple[str, ...]] = ("set", "item")
    set: str
    item: str


class PlaceAdded(Fact, frozen=True, kw_only=True, tag="place-added"):
    names: ClassVar[tuple[str, ...]] = ("place",)
    place: str
    name: str
    sort: Literal["clinical", "clean-room", "store", "bench"] = "clinical"


class PersonAdded(Fact, frozen=True, kw_only=True, tag="person-added"):
    """Also a change of the same person: the latest one holds."""

    names: ClassVar[tuple[str, ...]] = ("person",)
    person: str
    name: str
    role: Literal["nurse", "manager", "auditor"]
    rights: tuple[str, ...] = ()
    active: bool = True


class RuleSet(Fact, frozen=True, kw_only=True, tag="rule-set"):
    """The clinic overrides a rule from a day on, with a reason."""

    rule: str
    value: str
    reason: str
    since: date


# --- the bench -----------------------------------------------------------------------------


class Asked(Fact, frozen=True, kw_only=True, tag="asked"):
    """Somebody asked whether an item may be used; a no is kept with every reason."""

    names: ClassVar[tuple[str, ...]] = ("item", "patient", "place")
    item: str
    allowed: bool
    reasons: tuple[Told, ...] = ()
    patient: str = ""
    place: str = ""


class UseBegun(Fact, frozen=True, kw_only=True, tag="use-begun"):
    names: ClassVar[tuple[str, ...]] = ("use", "patient", "place")
    use: str
    patient: str
    place: str = ""
    ear: Ear = ""


class Used(Fact, frozen=True, kw_only=True, tag="used"):
    """An item met a patient, or was opened for one. Opening a pack or set soils all in *covers*."""

    names: ClassVar[tuple[str, ...]] = ("use", "item", "patient", "covers")
    use: str
    item: str
    patient: str
    opened_only: bool = False
    asked: bool = False
    covers: tuple[str, ...] = ()
    reasons: tuple[Told, ...] = ()


class UseNoted(Fact, frozen=True, kw_only=True, tag="use-noted"):
    """*opened* are things of this use that were opened and met nobody."""

    names: ClassVar[tuple[str, ...]] = ("use", "patient", "opened")
    use: str
    patient: str
    ear: Ear = ""
    soil: str = ""
    opened: tuple[str, ...] = ()


class UseFinished(Fact, frozen=True, kw_only=True, tag="use-finished"):
    """The procedure ended: the use-to-clean clock of each item in *covers* starts."""

    names: ClassVar[tuple[str, ...]] = ("use", "patient", "covers")
    use: str
    patient: str
    covers: tuple[str, ...] = ()


class Marked(Fact, frozen=True, kw_only=True, tag="marked"):
    """Something happened to an item that its next user must know.

    *effect* is what the rule book made of it then: it must go round again, be inspected, be
    kept back, or (a pack) be unpacked.
    """

    names: ClassVar[tuple[str, ...]] = ("item", "covers")
    item: str
    what: Literal[
        "dropped", "blocked", "bent", "image-fault", "tube-touched-scope", "wet", "torn", "unpacked"
    ]
    effect: Literal["soil", "inspect", "quarantine", "unpack"]
    covers: tuple[str, ...] = ()


class Hurt(Fact, frozen=True, kw_only=True, tag="hurt"):
    """Somebody was hurt by an instrument. *sources* are the patients it may carry."""

    names: ClassVar[tuple[str, ...]] = ("person", "item", "sources")
    person: str
    item: str
    sources: tuple[str, ...] = ()


class Stepped(Fact, frozen=True, kw_only=True, tag="stepped"):
    """A step of the route was done by hand."""

    names: ClassVar[tuple[str, ...]] = ("item", "covers")
    item: str
    step: Step
    passed: bool = True
    covers: tuple[str, ...] = ()
    with_what: str = ""


class Packed(Fact, frozen=True, kw_only=True, tag="packed"):
    names: ClassVar[tuple[str, ...]] = ("pack", "contents", "load")
    pack: str
    contents: tuple[str, ...] = ()
    loose: tuple[Loose, ...] = ()
    load: str = ""


class Placed(Fact, frozen=True, kw_only=True, tag="placed"):
    names: ClassVar[tuple[str, ...]] = ("item", "place", "covers")
    item: str
    place: str
    covers: tuple[str, ...] = ()


class Quarantined(Fact, frozen=True, kw_only=True, tag="quarantined"):
    """*how* says what may be done with it: clean it now, or bag it and leave it as it is."""

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    why: Told
    how: Literal["clean-it-now", "bag-it"] = "clean-it-now"


class QuarantineLifted(Fact, frozen=True, kw_only=True, tag="quarantine-lifted"):
    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    reason: str


class Overridden(Fact, frozen=True, kw_only=True, tag="overridden"):
    """Somebody with authority let an item be used in spite of *reasons*, once, for *patient*."""

    names: ClassVar[tuple[str, ...]] = ("item", "patient")
    item: str
    reasons: tuple[Told, ...]
    reason: str
    patient: str = ""


class Withdrawn(Fact, frozen=True, kw_only=True, tag="withdrawn"):
    """A whole act is taken back and stays visible; quarantines and alerts it caused stand."""

    names: ClassVar[tuple[str, ...]] = ("covers",)
    withdrawn: str
    covers: tuple[str, ...] = ()
    reason: str = ""


class MovedToPatient(Fact, frozen=True, kw_only=True, tag="moved-to-patient"):
    """All scans of one use belong to another patient than first told."""

    names: ClassVar[tuple[str, ...]] = ("use", "was", "patient", "covers")
    use: str
    was: str
    patient: str
    covers: tuple[str, ...] = ()


# --- loads ---------------------------------------------------------------------------------


class LoadOpened(Fact, frozen=True, kw_only=True, tag="load-opened"):
    names: ClassVar[tuple[str, ...]] = ("load", "machine")
    load: str
    machine: str
    programme: str


class LoadAdded(Fact, frozen=True, kw_only=True, tag="load-added"):
    names: ClassVar[tuple[str, ...]] = ("load", "item", "covers")
    load: str
    item: str
    wrapped: bool = False
    covers: tuple[str, ...] = ()


class LoadRefused(Fact, frozen=True, kw_only=True, tag="load-refused"):
    names: ClassVar[tuple[str, ...]] = ("load", "item")
    load: str
    item: str
    reasons: tuple[Told, ...]


class LoadTakenOut(Fact, frozen=True, kw_only=True, tag="load-taken-out"):
    names: ClassVar[tuple[str, ...]] = ("load", "item", "covers")
    load: str
    item: str
    covers: tuple[str, ...] = ()


class LoadStarted(Fact, frozen=True, kw_only=True, tag="load-started"):
    names: ClassVar[tuple[str, ...]] = ("load", "machine", "covers")
    load: str
    machine: str
    programme: str
    covers: tuple[str, ...] = ()


class LoadEnded(Fact, frozen=True, kw_only=True, tag="load-ended"):
    """*log* is the SHA-256 of the machine's log file as it was handed in, if there was one.

    *steps* are the steps of the route that the machine's process stands for.
    """

    names: ClassVar[tuple[str, ...]] = ("load", "machine", "covers", "second_reader")
    load: str
    machine: str
    steps: tuple[Step, ...]
    cycle_no: str = ""
    log: str = ""
    typed: dict[str, str] = {}
    second_reader: str = ""
    covers: tuple[str, ...] = ()


class LoadJudged(Fact, frozen=True, kw_only=True, tag="load-judged"):
    names: ClassVar[tuple[str, ...]] = ("load", "machine", "covers")
    load: str
    machine: str
    programme: str
    verdict: Verdict
    reasons: tuple[Told, ...] = ()
    figures: dict[str, str] = {}
    rules: tuple[RuleUsed, ...] = ()
    book: str = ""
    judge: str = ""
    log: str = ""
    covers: tuple[str, ...] = ()


class LoadReleased(Fact, frozen=True, kw_only=True, tag="load-released"):
    """*released* may be used, *held* may not; both list what the packs held as well."""

    names: ClassVar[tuple[str, ...]] = ("load", "released", "held")
    load: str
    released: tuple[str, ...]
    held: tuple[str, ...] = ()
    note: str = ""


class LoadRejected(Fact, frozen=True, kw_only=True, tag="load-rejected"):
    names: ClassVar[tuple[str, ...]] = ("load", "covers")
    load: str
    reason: str
    covers: tuple[str, ...] = ()


# --- periodic tests ---------------------------------------------------------------------------


class MachineTested(Fact, frozen=True, kw_only=True, tag="machine-tested"):
    """A periodic test of a machine: what was read, the verdict, the rules it was judged by.

    *cycle_no* is the machine's own number of the test cycle, where one was run for it.
    """

    names: ClassVar[tuple[str, ...]] = ("machine",)
    machine: str
    test: str
    verdict: Verdict
    readings: dict[str, str] = {}
    reasons: tuple[Told, ...] = ()
    rules: tuple[RuleUsed, ...] = ()
    cycle_no: str = ""
    note: str = ""


class SheetSigned(Fact, frozen=True, kw_only=True, tag="sheet-signed"):
    """Somebody answers for the machine's sheet of that day."""

    names: ClassVar[tuple[str, ...]] = ("machine",)
    machine: str
    day: date


class Rejudged(Fact, frozen=True, kw_only=True, tag="rejudged"):
    """Stored cycles of a machine judged again, under other rules or a corrected sensor.

    Nothing is overwritten: *flipped* are the loads whose verdict would be another, with the
    verdict they would have. Readings were taken as reading x gain + offset.
    """

    names: ClassVar[tuple[str, ...]] = ("machine", "flipped")
    machine: str
    since: date
    until: date
    book: str
    digest: str
    reason: str
    judged: int
    flipped: tuple[str, ...] = ()
    verdicts: tuple[Verdict, ...] = ()
    rules_of: date | None = None
    offset_k: Decimal = Decimal(0)
    gain: Decimal = Decimal(1)
    uncertainty_k: Decimal = Decimal(0)


# --- doubt, upkeep, trust -------------------------------------------------------------------


class DoubtRaised(Fact, frozen=True, kw_only=True, tag="doubt-raised"):
    names: ClassVar[tuple[str, ...]] = ("case", "loads")
    case: str
    loads: tuple[str, ...]
    why: str


class DoubtDecided(Fact, frozen=True, kw_only=True, tag="doubt-decided"):
    names: ClassVar[tuple[str, ...]] = ("case",)
    case: str
    decision: str
    reason: str


class DutySet(Fact, frozen=True, kw_only=True, tag="duty-set"):
    """*grounds* says whether the item may not be used once it is overdue."""

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    duty: str
    anchor: date
    every_months: int = 0
    every_days: int = 0
    grounds: bool = False


class DutyMet(Fact, frozen=True, kw_only=True, tag="duty-met"):
    """*due* is the due day that was satisfied, not the day of doing."""

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    duty: str
    due: date
    done: date
    note: str = ""


class Unmasked(Fact, frozen=True, kw_only=True, tag="unmasked"):
    names: ClassVar[tuple[str, ...]] = ("patient",)
    patient: str
    reason: str


KINDS: dict[str, type[Fact]] = {
    str(kind.__struct_config__.tag): kind for kind in Fact.__subclasses__()
}

_encoder = msgspec.json.Encoder(order="sorted")
_decoder: msgspec.json.Decoder[Fact] = msgspec.json.Decoder(reduce(or_, KINDS.values()))


def canonical(fact: Fact) -> bytes:
    """The one spelling of a fact: JSON with sorted keys, RFC 3339 times, decimals as text.

    No fact holds a binary fraction or a key beyond the first plane of Unicode (our keys are plain
    words), so these are the bytes of RFC 8785 as well (tested).
    """
    return _encoder.encode(fact)


def read(body: bytes) -> Fact:
    """The fact that *body* spells; `msgspec.ValidationError` if it spells none."""
    return _decoder.decode(body)


def seal(previous: bytes, site: str, position: int, recorded_at: int, body: bytes) -> bytes:
    """SHA-256 that binds an entry to its place, its time of writing and all before it.

    *previous* is the seal before it (32 zero bytes for the first), *recorded_at* microseconds
    since 1970 in UTC. The bytes hashed are: the previous seal, then
    ``site position recorded_at`` in ASCII with single spaces, a line feed, and the body.
    """
    head = f"{site} {position} {recorded_at}\n".encode("ascii")
    return hashlib.sha256(previous + head + body).digest()


FIRST = bytes(32)


def about(fact: Fact) -> tuple[str, ...]:
    """Every tag and patient token that the fact names, each once, in a steady order."""
    found: dict[str, None] = {}
    for name in fact.names:
        value = getattr(fact, name)
        for one in (value,) if isinstance(value, str) else value:
            if one:
                found[one] = None
    if fact.by:
        found[fact.by] = None
    return tuple(found)


def micros(moment: datetime) -> int:
    """Microseconds since 1970 in UTC: how a time stands in a table."""
    since = moment - _EPOCH
    return (since.days * 86_400 + since.seconds) * 1_000_000 + since.microseconds


def moment(micros_since_1970: int) -> datetime:
    """The time that *micros_since_1970* stands for, aware, in UTC."""
    return _EPOCH + timedelta(microseconds=micros_since_1970)


_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
