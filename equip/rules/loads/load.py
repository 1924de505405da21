"""What is known of one load at one moment: its contents, its cycle, its judgement, its release.

How facts come to this is in `fold`; why it may not be let go is in `release`.
"""

from datetime import datetime
from typing import Literal

import msgspec

from equip import facts
from equip.facts import Hazard, RuleUsed, Told, Verdict

State = Literal["filling", "running", "ended", "judged", "released", "rejected"]


class Put(msgspec.Struct, frozen=True, omit_defaults=True):
    """One item that was put in, and what it held."""

    item: str
    by: str
    wrapped: bool = False
    covers: tuple[str, ...] = ()


class IndicatorReading(msgspec.Struct, frozen=True, omit_defaults=True):
    """A chemical indicator as it was read last; its reasons say what that adds."""

    lot: str
    where: facts.IndicatorPlace
    result: facts.IndicatorResult
    by: str
    at: datetime
    pack: str = ""
    reasons: tuple[Told, ...] = ()

    @property
    def codes(self) -> frozenset[str]:
        return frozenset(reason.code for reason in self.reasons)


class SporeTest(msgspec.Struct, frozen=True, omit_defaults=True):
    """A spore test that was put in, and what it came to; *result* is None until it is read."""

    lot: str
    put: datetime
    by: str
    with_control: bool
    result: facts.SporeResult | None = None
    read: datetime | None = None
    read_by: str = ""
    control_grew: bool | None = None
    reasons: tuple[Told, ...] = ()


class ReadAgain(msgspec.Struct, frozen=True, omit_defaults=True):
    """One reading by a second person, and the names of what they read otherwise."""

    by: str
    at: datetime
    typed: dict[str, str] = {}
    differs: tuple[str, ...] = ()


class Correction(msgspec.Struct, frozen=True, omit_defaults=True):
    """The stages of a cycle as somebody corrected them last; without boundaries, taken back."""

    by: str
    at: datetime
    reason: str
    boundaries: dict[str, str] = {}


class Load(msgspec.Struct, frozen=True, omit_defaults=True):
    """One load at one moment.

    *readers* are who read the values that its judgement rests on; none if it rests on a log.
    *as_found* is the verdict by the stages that the log itself shows, once they were corrected;
    *correctors* is everybody who ever corrected them. *stops* are the hazards that its programme
    stops, None where nobody wrote that down.
    """

    load: str
    machine: str = ""
    programme: str = ""
    state: State = "filling"
    opened: datetime | None = None
    started: datetime | None = None
    started_by: str = ""
    ended: datetime | None = None
    cycle_no: str = ""
    log: str = ""
    layout: str = ""
    log_started: datetime | None = None
    typed: dict[str, str] = {}
    second_reader: str = ""
    inside: tuple[Put, ...] = ()
    lots: tuple[str, ...] = ()
    verdict: Verdict | None = None
    reasons: tuple[Told, ...] = ()
    figures: dict[str, str] = {}
    rules: tuple[RuleUsed, ...] = ()
    book: str = ""
    judge: str = ""
    released: tuple[str, ...] = ()
    held: tuple[str, ...] = ()
    decided: datetime | None = None
    decided_by: str = ""
    note: str = ""
    past: bool = False
    indicators: tuple[IndicatorReading, ...] = ()
    spores: tuple[SporeTest, ...] = ()
    asked: tuple[Told, ...] = ()
    answer: str = ""
    lapses: tuple[Told, ...] = ()
    corrected: Correction | None = None
    as_found: Verdict | None = None
    correctors: tuple[str, ...] = ()
    at: datetime | None = None
    photo: str = ""
    readers: tuple[str, ...] = ()
    again: tuple[ReadAgain, ...] = ()
    stops: tuple[Hazard, ...] | None = None
    alone: bool = False
    stated: tuple[Told, ...] = ()

    @property
    def wants_look(self) -> bool:
        """Whether it was released by one person alone, and nobody else agreed since."""
        if self.state != "released" or not self.alone or self.decided is None:
            return False
        return not any(
            one.at >= self.decided and not one.differs and one.by not in self.hands_alone
            for one in self.again
        )

    @property
    def hands_alone(self) -> tuple[str, ...]:
        """Who cannot be the somebody else that looks at it: its first reader, its releaser."""
        return (*self.readers[:1], self.decided_by)

    @property
    def wants_reader(self) -> bool:
        """Whether a second person's reading is waited for. Without a known first reader none is."""
        wants = {"one-reader", "readers-differ"}
        undecided = self.state == "judged" and self.verdict == "undecided"
        return undecided and bool(self.readers) and any(r.code in wants for r in self.reasons)

    @property
    def ran(self) -> datetime | None:
        """When its cycle ran, as near as the book knows; None while it has not begun."""
        return self.started or self.ended

    @property
    def may_have_log(self) -> bool:
        """Whether a log may still be handed in: values were typed, and they decide nothing."""
        undecided = self.state == "judged" and self.verdict == "undecided"
        return undecided and bool(self.readers)

    @property
    def covers(self) -> tuple[str, ...]:
        """Everything in it: what was put in and what that held, each once."""
        every = (item for put in self.inside for item in (put.item, *put.covers))
        return tuple(dict.fromkeys(every))

    @property
    def boundaries(self) -> dict[str, str]:
        """The boundaries of its stages that stand corrected, in seconds of its log."""
        return {} if self.corrected is None else self.corrected.boundaries

    @property
    def loaders(self) -> frozenset[str]:
        """Who put something in, or started it."""
        everybody = (self.started_by, *(put.by for put in self.inside))
        return frozenset(person for person in everybody if person)
