"""What can be written in the ledger, the exact bytes it becomes, and the seal.

Read `base` (what every fact has), then a family: `register` and `types`, `bench`, `session`,
`counts`, `loads`, `machines`, `lots`, `indicators`, `keeping`, `lookback`, `upkeep`, `work`,
`competence`, `measured`. A kind is never renamed and a field never changes its meaning; new fields
get defaults. `tests/golden/` holds the bytes of every kind ever released and reads them all back.
"""

import hashlib
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from functools import reduce
from operator import attrgetter, or_

import msgspec

from equip.facts.base import (
    Arrival,
    Contact,
    Ear,
    Fact,
    Hazard,
    RuleUsed,
    Stamp,
    Step,
    Sureness,
    Told,
    Value,
    Verdict,
)
from equip.facts.bench import (
    Asked,
    How,
    Hurt,
    Marked,
    MayCarry,
    MovedToPatient,
    Overridden,
    Packed,
    Placed,
    Quarantined,
    QuarantineLifted,
    Stepped,
    StepRefused,
    UseBegun,
    Used,
    UseFinished,
    UseNoted,
    Withdrawn,
)
from equip.facts.competence import (
    CompetenceAssessed,
    LapseAllowed,
    LapseExplained,
)
from equip.facts.counts import (
    ContentsListed,
    Counted,
    CountMoment,
    FoundWhere,
    Piece,
    PieceFound,
    PieceLost,
    PieceMissing,
)
from equip.facts.indicators import (
    IndicatorNotTurned,
    IndicatorPlace,
    IndicatorRead,
    IndicatorResult,
    SporeResult,
    SporeTestPut,
    SporeTestRead,
)
from equip.facts.keeping import (
    DoubtDecided,
    DoubtRaised,
    PastBroughtIn,
    ProofGiven,
    TreeHead,
    Unmasked,
)
from equip.facts.loads import (
    EvidenceConfirmed,
    LoadAdded,
    LoadEnded,
    LoadJudged,
    LoadOpened,
    LoadRefused,
    LoadRejected,
    LoadReleased,
    LoadStarted,
    LoadTakenOut,
    LoadTakenOver,
    LotPut,
    StagesCorrected,
)
from equip.facts.lookback import (
    DoubtClosed,
    DoubtContained,
    DoubtListed,
    DoubtScoped,
    DoubtStep,
    DrillRun,
    Note,
    RehearsalRun,
    Risk,
    RiskJudged,
    UseInDoubt,
    UsesDecided,
    WeakLink,
)
from equip.facts.lots import (
    LotAdded,
    LotDescribed,
    LotFinished,
    LotOpened,
    LotSort,
    Stated,
)
from equip.facts.machines import (
    BathFilled,
    LayoutSet,
    LogExplained,
    LogUnclaimed,
    MachineTested,
    ReferenceChosen,
    Rejudged,
    SheetSigned,
)
from equip.facts.measured import Calibrated, Conforms, Decides, ElectricallyTested, PointMeasured
from equip.facts.register import (
    Arrived,
    ItemAdded,
    Joined,
    Left,
    PersonAdded,
    PlaceAdded,
    ProcedureDefined,
    Retired,
    RuleSet,
    SentOut,
    SiteOpened,
    TagReplaced,
    TypeDefined,
)
from equip.facts.session import Checked, ChecksOver
from equip.facts.types import (
    AskedCheck,
    ItemType,
    Limits,
    Loose,
    Procedure,
    Process,
    Programme,
    RouteStep,
    SessionCheck,
)
from equip.facts.upkeep import (
    Counts,
    DutyDropped,
    DutyMet,
    DutySet,
    DutyTerms,
    DutyTold,
    Meter,
    MeterRead,
    MeterWord,
    RemindersSet,
    Shift,
    TypeDutySet,
)
from equip.facts.work import (
    WorkAssigned,
    WorkDecision,
    WorkDone,
    WorkRaised,
    WorkReceived,
    WorkSent,
    WorkSignedOff,
)

__all__ = [
    "FIRST",
    "KINDS",
    "Arrival",
    "Arrived",
    "Asked",
    "AskedCheck",
    "BathFilled",
    "Calibrated",
    "Checked",
    "ChecksOver",
    "CompetenceAssessed",
    "Conforms",
    "Contact",
    "ContentsListed",
    "CountMoment",
    "Counted",
    "Counts",
    "Decides",
    "DoubtClosed",
    "DoubtContained",
    "DoubtDecided",
    "DoubtListed",
    "DoubtRaised",
    "DoubtScoped",
    "DoubtStep",
    "DrillRun",
    "DutyDropped",
    "DutyMet",
    "DutySet",
    "DutyTerms",
    "DutyTold",
    "Ear",
    "ElectricallyTested",
    "EvidenceConfirmed",
    "Fact",
    "FoundWhere",
    "Hazard",
    "How",
    "Hurt",
    "IndicatorNotTurned",
    "IndicatorPlace",
    "IndicatorRead",
    "IndicatorResult",
    "ItemAdded",
    "ItemType",
    "Joined",
    "LapseAllowed",
    "LapseExplained",
    "LayoutSet",
    "Left",
    "Limits",
    "LoadAdded",
    "LoadEnded",
    "LoadJudged",
    "LoadOpened",
    "LoadRefused",
    "LoadRejected",
    "LoadReleased",
    "LoadStarted",
    "LoadTakenOut",
    "LoadTakenOver",
    "LogExplained",
    "LogUnclaimed",
    "Loose",
    "LotAdded",
    "LotDescribed",
    "LotFinished",
    "LotOpened",
    "LotPut",
    "LotSort",
    "MachineTested",
    "Marked",
    "MayCarry",
    "Meter",
    "MeterRead",
    "MeterWord",
    "MovedToPatient",
    "Note",
    "Overridden",
    "Packed",
    "PastBroughtIn",
    "PersonAdded",
    "Piece",
    "PieceFound",
    "PieceLost",
    "PieceMissing",
    "PlaceAdded",
    "Placed",
    "PointMeasured",
    "Procedure",
    "ProcedureDefined",
    "Process",
    "Programme",
    "ProofGiven",
    "QuarantineLifted",
    "Quarantined",
    "ReferenceChosen",
    "RehearsalRun",
    "Rejudged",
    "RemindersSet",
    "Retired",
    "Risk",
    "RiskJudged",
    "RouteStep",
    "RuleSet",
    "RuleUsed",
    "SentOut",
    "SessionCheck",
    "SheetSigned",
    "Shift",
    "SiteOpened",
    "SporeResult",
    "SporeTestPut",
    "SporeTestRead",
    "StagesCorrected",
    "Stamp",
    "Stated",
    "Step",
    "StepRefused",
    "Stepped",
    "Sureness",
    "TagReplaced",
    "Told",
    "TreeHead",
    "TypeDefined",
    "TypeDutySet",
    "Unmasked",
    "UseBegun",
    "UseFinished",
    "UseInDoubt",
    "UseNoted",
    "Used",
    "UsesDecided",
    "Value",
    "Verdict",
    "WeakLink",
    "Withdrawn",
    "WorkAssigned",
    "WorkDecision",
    "WorkDone",
    "WorkRaised",
    "WorkReceived",
    "WorkSent",
    "WorkSignedOff",
    "about",
    "canonical",
    "micros",
    "moment",
    "read",
    "seal",
]


def _kinds(of: type[Fact]) -> Iterator[type[Fact]]:
    """The kinds that can be told; what several of them share is none of its own."""
    for kind in of.__subclasses__():
        shared = kind.__subclasses__()
        yield from _kinds(kind) if shared else (kind,)


KINDS: dict[str, type[Fact]] = {str(kind.__struct_config__.tag): kind for kind in _kinds(Fact)}

# What each kind names, and by whom it was told; twice, so that even the latter alone is a tuple.
_NAMES = {kind: attrgetter(*kind.names, "by", "by") for kind in KINDS.values()}

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
    found: list[str] = []
    for value in _NAMES[type(fact)](fact):
        if isinstance(value, str):
            found.append(value)
        else:
            found += value
    return tuple(dict.fromkeys(filter(None, found)))


def micros(moment: datetime) -> int:
    """Microseconds since 1970 in UTC: how a time stands in a table."""
    since = moment - _EPOCH
    return (since.days * 86_400 + since.seconds) * 1_000_000 + since.microseconds


def moment(micros_since_1970: int) -> datetime:
    """The time that *micros_since_1970* stands for, aware, in UTC."""
    return _EPOCH + timedelta(microseconds=micros_since_1970)


_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
