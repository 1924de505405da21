"""The bench: asked and used, steps by hand, packs, places, quarantine, what was taken back."""

from typing import ClassVar, Literal

from equip.facts.base import Ear, Fact, Hazard, RuleUsed, Stamp, Step, Sureness, Told, Value
from equip.facts.types import Loose


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

    names: ClassVar[tuple[str, ...]] = ("use", "item", "patient", "covers", "supervisor")
    use: str
    item: str
    patient: str
    opened_only: bool = False
    asked: bool = False
    covers: tuple[str, ...] = ()
    reasons: tuple[Told, ...] = ()
    lapses: tuple[Told, ...] = ()
    supervisor: str = ""


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
    kept back, or (a pack) be unpacked. An item whose use was taken back stays opened: it goes
    round again, or to the bin.
    """

    names: ClassVar[tuple[str, ...]] = ("item", "covers")
    item: str
    what: Literal[
        "dropped",
        "blocked",
        "bent",
        "image-fault",
        "tube-touched-scope",
        "wet",
        "torn",
        "unpacked",
        "use-taken-back",
    ]
    effect: Literal["soil", "inspect", "quarantine", "unpack"]
    covers: tuple[str, ...] = ()


class MayCarry(Value, frozen=True, kw_only=True):
    """An earlier use that an instrument may carry, or its coming from outside (no *patient*).

    *share* is what part of the untagged contents it came from may carry that use, as a fraction.
    """

    use: str
    at: Stamp
    item: str
    patient: str = ""
    certainty: Sureness = "certain"
    share: str = "1"


class Hurt(Fact, frozen=True, kw_only=True, tag="hurt"):
    """Somebody was hurt by an instrument. *sources* are the patients it may carry.

    *item* is what was scanned: the instrument, or the pack or load that an untagged one came
    from. *carried* says of each source how surely, as it was known then; *not_known* are things
    of which nobody knows whom they met before.
    """

    names: ClassVar[tuple[str, ...]] = ("person", "item", "sources")
    person: str
    item: str
    sources: tuple[str, ...] = ()
    carried: tuple[MayCarry, ...] = ()
    not_known: tuple[str, ...] = ()


class Stepped(Fact, frozen=True, kw_only=True, tag="stepped"):
    """A step of the route was done by hand, with wipes or liquids of those *lots*.

    *contact_s* is how long the lot asks it to stay wet, from *at*, in seconds; 0 where nothing
    was timed. *unreleased*: whoever did a timed step had no right to let it go by it.
    *lapses* says what stood against whoever did it, and why they did it all the same. *stops* are
    the hazards that its *agent* stops by the *rules* in force then; None where nobody asked.
    """

    names: ClassVar[tuple[str, ...]] = ("item", "covers", "lots", "supervisor")
    item: str
    step: Step
    passed: bool = True
    covers: tuple[str, ...] = ()
    with_what: str = ""
    lots: tuple[str, ...] = ()
    contact_s: int = 0
    unreleased: bool = False
    lapses: tuple[Told, ...] = ()
    supervisor: str = ""
    agent: str = ""
    stops: tuple[Hazard, ...] | None = None
    rules: tuple[RuleUsed, ...] = ()


class StepRefused(Fact, frozen=True, kw_only=True, tag="step-refused"):
    """A step by hand was not taken as done: too early, or by a lot that may not serve."""

    names: ClassVar[tuple[str, ...]] = ("item", "lots")
    item: str
    step: Step
    reasons: tuple[Told, ...]
    lots: tuple[str, ...] = ()


class Packed(Fact, frozen=True, kw_only=True, tag="packed"):
    """*load* is the load that loose contents came out of; *old* what the pack was called before.

    *by_hand* are the steps that were done to the loose contents by hand, as whoever packs says;
    *unsaid* the required ones of which nobody said how they were done.
    """

    names: ClassVar[tuple[str, ...]] = ("pack", "contents", "load")
    pack: str
    contents: tuple[str, ...] = ()
    loose: tuple[Loose, ...] = ()
    load: str = ""
    old: str = ""
    by_hand: tuple[Step, ...] = ()
    unsaid: tuple[Step, ...] = ()


class Placed(Fact, frozen=True, kw_only=True, tag="placed"):
    names: ClassVar[tuple[str, ...]] = ("item", "place", "covers")
    item: str
    place: str
    covers: tuple[str, ...] = ()


How = Literal["clean-it-now", "bag-it", "throw-away", "out-of-use"]
"""What may be done with something that is kept back."""


class Quarantined(Fact, frozen=True, kw_only=True, tag="quarantined"):
    """*how* says what may be done with it: clean it now, bag it and leave it as it is, throw it
    away, or (a machine) not use it."""

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    why: Told
    how: How = "clean-it-now"


class QuarantineLifted(Fact, frozen=True, kw_only=True, tag="quarantine-lifted"):
    """*why* is the one reason that is lifted, of the moment *since*; without it all of them were.

    *confirmed_by* says who found that what was bagged may be handled.
    """

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    reason: str
    why: Told | None = None
    since: Stamp | None = None
    confirmed_by: str = ""


class Overridden(Fact, frozen=True, kw_only=True, tag="overridden"):
    """Somebody with authority let an item be used in spite of *reasons*, once, for *patient*."""

    names: ClassVar[tuple[str, ...]] = ("item", "patient")
    item: str
    reasons: tuple[Told, ...]
    reason: str
    patient: str = ""


class Withdrawn(Fact, frozen=True, kw_only=True, tag="withdrawn"):
    """A whole act is taken back and stays visible. A fact told beside this one lifts what it kept
    back; what somebody was hurt by, or what is missing, stays told."""

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
