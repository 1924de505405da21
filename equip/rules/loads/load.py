"""Where one load stands: its facts folded, and what may be done with it next."""

from collections.abc import Iterable
from datetime import datetime
from typing import Literal

import msgspec

from equip import facts
from equip.facts import Fact, RuleUsed, Told, Verdict

State = Literal["filling", "running", "ended", "judged", "released", "rejected"]


class Put(msgspec.Struct, frozen=True, omit_defaults=True):
    """One thing that was put in, and what it held."""

    item: str
    by: str
    wrapped: bool = False
    covers: tuple[str, ...] = ()


class Glance(msgspec.Struct, frozen=True, omit_defaults=True):
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


class Spores(msgspec.Struct, frozen=True, omit_defaults=True):
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
    *correctors* is everybody who ever corrected them.
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
    indicators: tuple[Glance, ...] = ()
    spores: tuple[Spores, ...] = ()
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
        every = (one for put in self.inside for one in (put.item, *put.covers))
        return tuple(dict.fromkeys(every))

    @property
    def boundaries(self) -> dict[str, str]:
        """The boundaries of its stages that stand corrected, in seconds of its log."""
        return {} if self.corrected is None else self.corrected.boundaries

    @property
    def loaders(self) -> frozenset[str]:
        """Who put things in, or started it."""
        return frozenset(one for one in (self.started_by, *(p.by for p in self.inside)) if one)


_set = msgspec.structs.replace


def fold(load: str, told: Iterable[Fact]) -> Load:
    """Fold *told*, which is everything about *load* in order of time, from nothing."""
    listed = list(told)
    gone = {fact.withdrawn for fact in listed if isinstance(fact, facts.Withdrawn)}
    stands = Load(load=load)
    for fact in listed:
        if fact.act not in gone:
            stands = after(stands, fact)
    return stands


def after(stands: Load, fact: Fact) -> Load:
    """*stands* once *fact* has happened to it as well."""
    match fact:
        case facts.LoadOpened():
            return _set(
                stands,
                machine=fact.machine,
                programme=fact.programme,
                opened=stands.opened or fact.at,
                at=fact.at,
            )
        case facts.LoadAdded():
            put = Put(item=fact.item, by=fact.by, wrapped=fact.wrapped, covers=fact.covers)
            return _set(stands, inside=(*stands.inside, put), at=fact.at)
        case facts.LoadTakenOut():
            left = tuple(put for put in stands.inside if put.item != fact.item)
            return _set(stands, inside=left, at=fact.at)
        case facts.LotPut():
            return _set(stands, lots=tuple(dict.fromkeys((*stands.lots, fact.lot))), at=fact.at)
        case facts.LoadStarted():
            return _set(
                stands,
                state="running",
                programme=fact.programme,
                typed=fact.typed,
                started=fact.at,
                started_by=fact.by,
                at=fact.at,
            )
        case facts.LoadEnded():
            return _set(
                stands,
                state="ended",
                ended=fact.at,
                cycle_no=fact.cycle_no,
                log=fact.log,
                typed={**stands.typed, **fact.typed},
                second_reader=fact.second_reader,
                photo=fact.photo,
                at=fact.at,
            )
        case facts.EvidenceConfirmed():
            read = ReadAgain(by=fact.by, at=fact.at, typed=fact.typed, differs=fact.differs)
            return _set(stands, again=(*stands.again, read), at=fact.at)
        case facts.LoadJudged():
            return _set(
                stands,
                state="judged" if stands.state in ("ended", "judged") else stands.state,
                programme=fact.programme,
                verdict=fact.verdict,
                reasons=fact.reasons,
                figures=fact.figures,
                rules=fact.rules,
                book=fact.book,
                judge=fact.judge,
                log=fact.log or stands.log,
                layout=fact.layout if fact.log else stands.layout,
                log_started=fact.log_started if fact.log else stands.log_started,
                cycle_no=fact.cycle_no or stands.cycle_no,
                photo=fact.photo or stands.photo,
                readers=fact.readers,
                at=fact.at,
            )
        case facts.StagesCorrected():
            return _set(
                stands,
                corrected=Correction(fact.by, fact.at, fact.reason, fact.boundaries),
                as_found=stands.as_found or stands.verdict,
                correctors=tuple(dict.fromkeys((*stands.correctors, fact.by))),
                at=fact.at,
            )
        case facts.LoadTakenOver():
            return _taken_over(stands, fact)
        case facts.LoadReleased():
            return _set(
                stands,
                state="released",
                released=fact.released,
                held=fact.held,
                decided=fact.at,
                decided_by=fact.by,
                note=fact.note,
                asked=fact.asked,
                answer=fact.answer,
                lapses=fact.lapses,
                at=fact.at,
            )
        case facts.LoadRejected():
            return _set(
                stands,
                state="rejected",
                decided=fact.at,
                decided_by=fact.by,
                note=fact.reason,
                at=fact.at,
            )
        case facts.IndicatorRead():
            return _set(stands, indicators=_glanced(stands.indicators, fact), at=fact.at)
        case facts.SporeTestPut():
            new = Spores(lot=fact.lot, put=fact.at, by=fact.by, with_control=fact.with_control)
            return _set(stands, spores=(*stands.spores, new), at=fact.at)
        case facts.SporeTestRead():
            return _set(
                stands, spores=tuple(_grown(one, fact) for one in stands.spores), at=fact.at
            )
        case _:
            return stands


def _glanced(before: tuple[Glance, ...], fact: facts.IndicatorRead) -> tuple[Glance, ...]:
    """With one reading more; a second look takes the place of the unclear one."""
    new = Glance(
        lot=fact.lot,
        where=fact.where,
        result=fact.result,
        by=fact.by,
        at=fact.at,
        pack=fact.pack,
        reasons=fact.reasons,
    )
    if not fact.again:
        return (*before, new)
    for index, one in enumerate(before):
        place = (one.lot, one.where, one.pack)
        if one.result == "unclear" and place == (fact.lot, fact.where, fact.pack):
            return (*before[:index], new, *before[index + 1 :])
    return (*before, new)


def _grown(one: Spores, fact: facts.SporeTestRead) -> Spores:
    """*one* as it was read; once spores have grown, no later reading ungrows them."""
    if one.lot != fact.lot or one.result == "positive":
        return one
    return msgspec.structs.replace(
        one,
        result=fact.result,
        read=fact.at,
        read_by=fact.by,
        control_grew=fact.control_grew,
        reasons=fact.reasons,
    )


def _taken_over(stands: Load, fact: facts.LoadTakenOver) -> Load:
    """A load of the past has run, and was let go if it passed; nothing about it waits."""
    known = {put.item for put in stands.inside}
    inside = (Put(item=item, by=fact.by) for item in fact.covers if item not in known)
    return _set(
        stands,
        machine=fact.machine,
        programme=fact.programme,
        state={"pass": "released", None: "ended"}.get(fact.verdict, "rejected"),
        past=True,
        opened=stands.opened or fact.at,
        ended=fact.at,
        inside=(*stands.inside, *inside),
        verdict=fact.verdict,
        released=fact.covers if fact.verdict == "pass" else (),
        decided=fact.at if fact.verdict else None,
        decided_by=fact.by,
        note="brought in from the time before this book",
        at=fact.at,
    )


def why_not_release(
    stands: Load, by: str, rights: Iterable[str], *, two_people: bool, corrected_two: bool = True
) -> list[Told]:
    """Every reason why *by* may not release this load now; empty means it may be released.

    With *corrected_two*, who made it pass by correcting its stages may not release it as well.
    """
    reasons = []
    if "release" not in rights:
        reasons.append(Told(code="no-right", says="You have no right to release loads."))
    if stands.state != "judged":
        says = {
            "filling": "It has not been run yet.",
            "running": "It is still running.",
            "ended": "It has not been judged: hand in its log, or its typed values.",
            "released": "It has been released already.",
            "rejected": "It has been rejected: run its contents again.",
        }[stands.state]
        reasons.append(Told(code=f"load-{stands.state}", says=says))
    elif stands.wants_reader:
        says = "A second person must read the same display or strip first, by themselves."
        reasons.append(Told(code="one-reader", says=says))
    elif stands.verdict != "pass":
        word = "failed" if stands.verdict == "fail" else "cannot be judged"
        says = f"It {word}; nobody can release it. Reject it and run its contents again."
        reasons.append(Told(code=f"load-{stands.verdict}", says=says))
    if two_people and by in stands.loaders:
        says = "Whoever loaded it may not release it here: a second person is needed."
        reasons.append(Told(code="same-person", says=says))
    if corrected_two and by in stands.correctors and stands.as_found != "pass":
        says = (
            "It passes only since its stages were corrected by hand: somebody other than who "
            "corrected them must look at it and release it."
        )
        if stands.state == "judged" and stands.verdict == "pass":
            reasons.append(Told(code="same-person-corrected", says=says))
    return reasons + _of_what_was_read(stands)


def _of_what_was_read(stands: Load) -> list[Told]:
    """What indicators and spore tests hold against a release; they change no verdict."""
    if stands.state != "judged":
        return []
    read = frozenset[str]().union(*(one.codes for one in stands.indicators))
    reasons = []
    if "indicator-failed" in read:
        says = "An indicator that suits it did not turn: reject it and run its contents again."
        reasons.append(Told(code="indicator-failed", says=says))
    if "indicator-unclear" in read:
        says = "An indicator was unclear: it counts as not passed until somebody reads it again."
        reasons.append(Told(code="indicator-unclear", says=says))
    if any(one.result == "positive" for one in stands.spores):
        says = "Spores grew in its own test: reject it and run its contents again."
        reasons.append(Told(code="spores-grew", says=says))
    return reasons
