"""Loads: opened, filled, run, judged, released or rejected."""

from typing import ClassVar

import msgspec

from equip.facts.base import Fact, Hazard, RuleUsed, Stamp, Step, Told, Verdict


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


class LotPut(Fact, frozen=True, kw_only=True, tag="lot-put"):
    """Something of a lot served this load: its detergent, the strip that was read for it."""

    names: ClassVar[tuple[str, ...]] = ("load", "lot")
    load: str
    lot: str


class LoadStarted(Fact, frozen=True, kw_only=True, tag="load-started"):
    """*typed* is what was read before the start, such as the warmth of a soak bath."""

    names: ClassVar[tuple[str, ...]] = ("load", "machine", "covers", "supervisor")
    load: str
    machine: str
    programme: str
    covers: tuple[str, ...] = ()
    typed: dict[str, str] = msgspec.field(default_factory=dict)
    lapses: tuple[Told, ...] = ()
    supervisor: str = ""


class LoadEnded(Fact, frozen=True, kw_only=True, tag="load-ended"):
    """*log* is the SHA-256 of the machine's log file as it was handed in, if there was one.

    *photo* is that of a photo of its strip or display. *steps* are the steps of the route that
    the machine's process stands for. *second_reader* is whom the first reader named, before a
    second reader read for themselves (`EvidenceConfirmed`).
    """

    names: ClassVar[tuple[str, ...]] = ("load", "machine", "covers", "second_reader")
    load: str
    machine: str
    steps: tuple[Step, ...]
    cycle_no: str = ""
    log: str = ""
    typed: dict[str, str] = msgspec.field(default_factory=dict)
    second_reader: str = ""
    covers: tuple[str, ...] = ()
    photo: str = ""


class EvidenceConfirmed(Fact, frozen=True, kw_only=True, tag="evidence-confirmed"):
    """A second person's own reading of the same display or strip, typed without seeing the first.

    *differs* are the names of the values that were read otherwise; empty, it is confirmed.
    """

    names: ClassVar[tuple[str, ...]] = ("load", "machine")
    load: str
    machine: str
    typed: dict[str, str]
    differs: tuple[str, ...] = ()


class LoadJudged(Fact, frozen=True, kw_only=True, tag="load-judged"):
    """*layout* is what the log was read by ("" is the plain log), *cycle_no* the machine's own
    number as it was told or read with the log, *log_started* when it began by the machine's clock.
    *readers* are who read the values that it rests on, the first one first, if no log was there.

    *photo* is the SHA-256 of a photo of the strip or display, where one was handed in. *stops* are
    the hazards that its programme stops by the rules in force; None where nobody asked.
    """

    names: ClassVar[tuple[str, ...]] = ("load", "machine", "covers", "readers")
    load: str
    machine: str
    programme: str
    verdict: Verdict
    reasons: tuple[Told, ...] = ()
    figures: dict[str, str] = msgspec.field(default_factory=dict)
    rules: tuple[RuleUsed, ...] = ()
    book: str = ""
    judge: str = ""
    log: str = ""
    covers: tuple[str, ...] = ()
    layout: str = ""
    cycle_no: str = ""
    log_started: Stamp | None = None
    photo: str = ""
    readers: tuple[str, ...] = ()
    stops: tuple[Hazard, ...] | None = None


class StagesCorrected(Fact, frozen=True, kw_only=True, tag="stages-corrected"):
    """Somebody corrected where stages of a load's cycle begin or end; a judgement by it follows.

    *boundaries* are seconds of the log by name (`rules/cycles/boundaries`); one that is not in it
    stands as it was found, so an empty one takes earlier corrections back.
    """

    names: ClassVar[tuple[str, ...]] = ("load",)
    load: str
    boundaries: dict[str, str]
    reason: str


class LoadTakenOver(Fact, frozen=True, kw_only=True, tag="load-taken-over"):
    """A load of the time before this book, brought in whole: what went in and what came of it.

    *at* is the end of its cycle and its release. *steps* are those that are taken as done by then.
    Without a *verdict* nobody says whether it passed. *hands* are all who put something in. *old*
    is what it was called.
    """

    names: ClassVar[tuple[str, ...]] = ("load", "machine", "covers", "hands")
    load: str
    machine: str
    programme: str
    steps: tuple[Step, ...]
    verdict: Verdict | None = None
    covers: tuple[str, ...] = ()
    hands: tuple[str, ...] = ()
    old: str = ""


class LoadReleased(Fact, frozen=True, kw_only=True, tag="load-released"):
    """*released* may be used, *held* may not; both list what the packs held as well.

    *asked* are the questions that the cycle raised beside its verdict, *answer* what whoever
    released it found. *lapses* says what stood against whoever released it, and by whose leave.
    *alone*: one person read it, or loaded it too; somebody else looks at its evidence after it.
    *stated* are the questions about the load that the release says Yes to, each as it was asked.
    """

    names: ClassVar[tuple[str, ...]] = ("load", "released", "held")
    load: str
    released: tuple[str, ...]
    held: tuple[str, ...] = ()
    note: str = ""
    asked: tuple[Told, ...] = ()
    answer: str = ""
    lapses: tuple[Told, ...] = ()
    alone: bool = False
    stated: tuple[Told, ...] = ()


class LoadRejected(Fact, frozen=True, kw_only=True, tag="load-rejected"):
    names: ClassVar[tuple[str, ...]] = ("load", "covers")
    load: str
    reason: str
    covers: tuple[str, ...] = ()
