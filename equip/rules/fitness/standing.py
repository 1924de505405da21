"""Where one item stands: its facts folded, oldest first, into all that later questions need.

Nothing here says whether it may be used: that is computed each time from this, the clock and
the rules (`fitness`). The fold knows no types and no limits, so a change of either needs no
re-telling.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any

import msgspec

from equip import facts
from equip.facts import Fact, Loose, Step, Told, Verdict
from equip.rules.wording import exact_span


class Done(msgspec.Struct, frozen=True, omit_defaults=True):
    """Steps of the route that were done since the item was last soiled, by hand or in a load.

    A step by hand with a contact time has to stay wet for *contact_s* seconds from *at*.
    """

    steps: tuple[Step, ...]
    at: datetime
    by: str = ""
    load: str = ""
    wrapped: bool = False
    verdict: Verdict | None = None
    released: datetime | None = None
    refused: str = ""
    lots: tuple[str, ...] = ()
    contact_s: int = 0

    def wet_at(self, moment: datetime) -> bool:
        """Whether its contact time runs at *moment*; at its very end it is over."""
        return not self.refused and self.at <= moment < self.wet_until

    @property
    def wet_until(self) -> datetime:
        return self.at + timedelta(seconds=self.contact_s)

    @property
    def counts(self) -> bool:
        """It passed, and where release is needed it was released."""
        if self.refused or self.verdict != "pass":
            return False
        return not self.load or self.released is not None

    @property
    def void(self) -> bool:
        """It is known not to have done what it should: failed, not to be judged, or refused."""
        return bool(self.refused) or self.verdict in ("fail", "undecided")


class Soiling(msgspec.Struct, frozen=True, omit_defaults=True):
    """What ended its fitness: a use, an opening, a fall, or arrival from elsewhere."""

    how: str
    at: datetime
    patient: str = ""
    use: str = ""
    ended: datetime | None = None


class Kept(msgspec.Struct, frozen=True, omit_defaults=True):
    """One standing quarantine."""

    at: datetime
    why: Told
    how: str


class Standing(msgspec.Struct, frozen=True, omit_defaults=True):
    """One item at one moment. *references* are a machine's: the load by programme."""

    item: str
    type: str = ""
    arrival: str = ""
    declared_by: str = ""
    at: datetime | None = None
    where: str = "here"
    place: str = ""
    placed: datetime | None = None
    soiling: Soiling | None = None
    done: tuple[Done, ...] = ()
    load: str = ""
    load_state: str = ""
    wrapped: bool = False
    pack: str = ""
    members: tuple[str, ...] = ()
    loose: tuple[Loose, ...] = ()
    made: datetime | None = None
    opened: datetime | None = None
    spoilt: str = ""
    quarantines: tuple[Kept, ...] = ()
    inspect: str = ""
    failed_inspection: datetime | None = None
    uses: int = 0
    cycles: int = 0
    owner: str = ""
    last_use: datetime | None = None
    fell: bool = False
    references: dict[str, str] = {}


_set = msgspec.structs.replace


def fold(item: str, told: Iterable[Fact]) -> Standing:
    """Fold *told*, which is everything about *item* in order of time, from nothing."""
    stands = Standing(item=item)
    for _, fact in settled(list(told)):
        stands = after(stands, fact)
    return stands


def settled(listed: Sequence[Fact]) -> list[tuple[int, Fact]]:
    """The facts as they stand after withdrawals and moves to another patient, by their index.

    A withdrawn act is skipped, but what it kept back or what hurt somebody stays; a use that
    was moved names its last patient throughout.
    """
    gone = {fact.withdrawn for fact in listed if isinstance(fact, facts.Withdrawn)}
    patient = {
        fact.use: fact.patient
        for fact in listed
        if isinstance(fact, facts.MovedToPatient) and fact.act not in gone
    }
    kept: list[tuple[int, Fact]] = []
    for index, fact in enumerate(listed):
        if fact.act in gone and not isinstance(fact, facts.Quarantined | facts.Hurt):
            continue
        if isinstance(fact, facts.UseBegun | facts.Used | facts.UseNoted | facts.UseFinished):
            moved = patient.get(fact.use)
            if moved is not None and moved != fact.patient:
                fact = msgspec.structs.replace(fact, patient=moved)
        kept.append((index, fact))
    return kept


def after(stands: Standing, fact: Fact) -> Standing:
    """*stands* once *fact* has happened to it as well."""
    handler = _HANDLERS.get(type(fact))
    if handler is None:
        return stands
    return _set(handler(stands, fact), at=fact.at)


# --- the register ---------------------------------------------------------------------------


def _added(stands: Standing, fact: facts.ItemAdded) -> Standing:
    if fact.item != stands.item:
        return stands
    outside = fact.arrival in ("loaned", "second-hand", "repaired")
    return _set(
        stands,
        type=fact.type,
        arrival=fact.arrival,
        declared_by=fact.declared_by,
        place=fact.place,
        placed=fact.at,
        soiling=Soiling(how="outside", at=fact.at) if outside else None,
    )


def _arrived(stands: Standing, fact: facts.Arrived) -> Standing:
    repaired = fact.arrival == "repaired"
    return _set(
        _soiled(stands, Soiling(how="outside", at=fact.at)),
        where="here",
        arrival=fact.arrival,
        failed_inspection=None if repaired else stands.failed_inspection,
    )


def _sent_out(stands: Standing, fact: facts.SentOut) -> Standing:
    return _set(stands, where="sent out", place="", placed=None)


def _retired(stands: Standing, fact: facts.Retired) -> Standing:
    return _set(stands, where="retired", place="", placed=None)


def _placed(stands: Standing, fact: facts.Placed) -> Standing:
    if fact.place == stands.item:
        return stands
    return _set(stands, place=fact.place, placed=fact.at)


def _joined(stands: Standing, fact: facts.Joined) -> Standing:
    if stands.item != fact.set or fact.item in stands.members:
        return stands
    return _set(stands, members=(*stands.members, fact.item))


def _left(stands: Standing, fact: facts.Left) -> Standing:
    if stands.item != fact.set:
        return stands
    return _set(stands, members=tuple(m for m in stands.members if m != fact.item))


# --- the bench ------------------------------------------------------------------------------


def _soiled(stands: Standing, soiling: Soiling) -> Standing:
    """Whatever was done to it before counts no longer, and it is in no sealed pack.

    A failed inspection stands: a chip does not heal by being used.
    """
    return _set(stands, soiling=soiling, done=(), pack="", load="", load_state="")


def _used(stands: Standing, fact: facts.Used) -> Standing:
    """What was opened with a pack or set that was used counts as used, unless somebody says not."""
    met = stands.item == fact.item and not fact.opened_only
    before = stands.soiling
    same = before is not None and before.use == fact.use
    counted = same and before is not None and before.how != "unused"
    counts = not fact.opened_only and not counted
    how = "unused" if fact.opened_only else "used" if met else "opened"
    soiling = Soiling(how=how, at=fact.at, patient=fact.patient, use=fact.use)
    if counted and before is not None and (before.how == "used" or fact.opened_only):
        soiling = before
    first_opening = stands.made is not None and stands.opened is None
    return _set(
        _soiled(stands, soiling),
        uses=stands.uses + (1 if counts else 0),
        owner=stands.owner or ("" if fact.opened_only else fact.patient),
        last_use=stands.last_use if fact.opened_only else fact.at,
        opened=fact.at if first_opening else stands.opened,
        fell=stands.fell and same,
    )


def _finished(stands: Standing, fact: facts.UseFinished) -> Standing:
    soiling = stands.soiling
    if soiling is None or soiling.use != fact.use:
        return stands
    return _set(stands, soiling=_set(soiling, ended=fact.at))


def _noted(stands: Standing, fact: facts.UseNoted) -> Standing:
    """Opened and not used after all: soiled all the same, but no use of it."""
    soiling = stands.soiling
    if stands.item not in fact.opened or soiling is None or soiling.use != fact.use:
        return stands
    if soiling.how == "unused":
        return stands
    first = stands.uses == 1
    return _set(
        stands,
        soiling=_set(soiling, how="unused"),
        uses=stands.uses - 1,
        owner="" if first else stands.owner,
    )


def _marked(stands: Standing, fact: facts.Marked) -> Standing:
    match fact.effect:
        case "soil":
            return _to_go_round(stands, fact.what, fact.at)
        case "unpack" if stands.made is None:
            return _unpacked(stands, fact)
        case "unpack":
            return _set(stands, spoilt=fact.what)
        case _:
            return _set(stands, inspect=fact.what)


def _to_go_round(stands: Standing, what: str, at: datetime) -> Standing:
    """It must go round again before anybody uses it."""
    return _set(_soiled(stands, _soiling_after(stands, what, at)), fell=True)


def _soiling_after(stands: Standing, what: str, at: datetime) -> Soiling:
    """A mark hides nobody: a patient whom it still carries stays its soiling."""
    if stands.soiling is not None and not any(
        _cleared(done) and not done.wet_at(at) for done in stands.done
    ):
        return stands.soiling
    return Soiling(how=what, at=at)


def _not_turned(stands: Standing, fact: facts.IndicatorNotTurned) -> Standing:
    """The pack is spoilt for good; what it held goes round again."""
    if stands.item == fact.pack:
        return _set(stands, spoilt=NOT_TURNED)
    return _to_go_round(stands, "indicator-not-turned", fact.at)


NOT_TURNED = "one whose indicator did not turn"


def _unpacked(stands: Standing, fact: facts.Marked) -> Standing:
    """Only the pack is spoilt for good. What it held is to be packed anew: it stays clean."""
    before = tuple(done for done in stands.done if {"pack", "sterilise"}.isdisjoint(done.steps))
    return _set(stands, soiling=_soiling_after(stands, fact.what, fact.at), done=before, pack="")


def _cleared(done: Done) -> bool:
    return done.counts and not {"disinfect", "sterilise"}.isdisjoint(done.steps)


def _stepped(stands: Standing, fact: facts.Stepped) -> Standing:
    if fact.step == "inspect":
        if not fact.passed:
            return _set(stands, failed_inspection=fact.at)
        stands = _set(stands, inspect="", failed_inspection=None)
    verdict: Verdict = "pass" if fact.passed else "fail"
    done = Done(
        steps=(fact.step,),
        at=fact.at,
        by=fact.by,
        verdict=verdict,
        refused=_UNRELEASED if fact.unreleased else "",
        lots=fact.lots,
        contact_s=fact.contact_s,
    )
    before = _cut_short(stands.done, fact.step, fact.at) if fact.passed else stands.done
    return _set(stands, done=(*before, done))


_UNRELEASED = "whoever did it may not let it go"


def _cut_short(before: tuple[Done, ...], step: Step, at: datetime) -> tuple[Done, ...]:
    """*before* once another step touched the thing: what was still wet then does not count."""
    return tuple(
        _set(done, refused=_too_short(done, at))
        if done.wet_at(at) and step not in done.steps
        else done
        for done in before
    )


def _too_short(done: Done, at: datetime) -> str:
    wet = exact_span((at - done.at).total_seconds())
    return f"it stayed wet for {wet} and has to for {exact_span(done.contact_s)}"


def _packed(stands: Standing, fact: facts.Packed) -> Standing:
    if stands.item == fact.pack:
        return _set(stands, type="pack", made=fact.at, members=fact.contents, loose=fact.loose)
    done = Done(steps=("pack",), at=fact.at, by=fact.by, verdict="pass")
    before = _cut_short(stands.done, "pack", fact.at)
    return _set(stands, pack=fact.pack, done=(*before, done))


def _quarantined(stands: Standing, fact: facts.Quarantined) -> Standing:
    kept = Kept(at=fact.at, why=fact.why, how=fact.how)
    return _set(stands, quarantines=(*stands.quarantines, kept))


def _lifted(stands: Standing, fact: facts.QuarantineLifted) -> Standing:
    return _set(stands, quarantines=())


# --- loads ----------------------------------------------------------------------------------


def _in_load(stands: Standing, fact: facts.LoadAdded) -> Standing:
    return _set(stands, load=fact.load, load_state="filling", wrapped=fact.wrapped)


def _taken_out(stands: Standing, fact: facts.LoadTakenOut) -> Standing:
    return _set(stands, load="", load_state="")


def _running(stands: Standing, fact: facts.LoadStarted) -> Standing:
    return _set(stands, load_state="running")


def _ended(stands: Standing, fact: facts.LoadEnded) -> Standing:
    stands = _set(stands, load_state="ended", cycles=stands.cycles + 1)
    if stands.item == fact.machine:
        return stands  # what it did to its loads was not done to it
    done = Done(steps=fact.steps, at=fact.at, by=fact.by, load=fact.load, wrapped=stands.wrapped)
    return _set(stands, done=(*stands.done, done))


def _taken_over(stands: Standing, fact: facts.LoadTakenOver) -> Standing:
    stands = _set(stands, cycles=stands.cycles + 1)
    if stands.item == fact.machine:
        return stands
    passed = fact.verdict == "pass"
    done = Done(
        steps=fact.steps,
        at=fact.at,
        by=fact.by,
        load=fact.load,
        wrapped=True,
        verdict=fact.verdict,
        released=fact.at if passed else None,
    )
    return _set(stands, done=(*stands.done, done))


def _judged(stands: Standing, fact: facts.LoadJudged) -> Standing:
    return _set(stands, done=_change(stands.done, fact.load, verdict=fact.verdict))


def _released(stands: Standing, fact: facts.LoadReleased) -> Standing:
    if stands.item in fact.released:
        done = _change(stands.done, fact.load, released=fact.at)
    else:
        done = _change(
            stands.done, fact.load, refused="it was held back when its load was released"
        )
    return _set(_out_of(stands, fact.load), done=done)


def _rejected(stands: Standing, fact: facts.LoadRejected) -> Standing:
    return _set(
        _out_of(stands, fact.load),
        done=_change(stands.done, fact.load, refused=f"the load was rejected: {fact.reason}"),
    )


def _reference(stands: Standing, fact: facts.ReferenceChosen) -> Standing:
    if stands.item != fact.machine:
        return stands
    return _set(stands, references={**stands.references, fact.programme: fact.load})


def _out_of(stands: Standing, load: str) -> Standing:
    return _set(stands, load="", load_state="") if stands.load == load else stands


def _change(
    done: tuple[Done, ...],
    load: str,
    *,
    verdict: Verdict | None = None,
    released: datetime | None = None,
    refused: str = "",
) -> tuple[Done, ...]:
    """*done* with what is now known of *load*; what is not told stays as it was."""
    return tuple(
        one
        if one.load != load
        else _set(
            one,
            verdict=verdict or one.verdict,
            released=released or one.released,
            refused=refused or one.refused,
        )
        for one in done
    )


_HANDLERS: dict[type[Fact], Callable[[Standing, Any], Standing]] = {
    facts.ItemAdded: _added,
    facts.Arrived: _arrived,
    facts.SentOut: _sent_out,
    facts.Retired: _retired,
    facts.Placed: _placed,
    facts.Joined: _joined,
    facts.Left: _left,
    facts.Used: _used,
    facts.UseNoted: _noted,
    facts.UseFinished: _finished,
    facts.Marked: _marked,
    facts.IndicatorNotTurned: _not_turned,
    facts.Stepped: _stepped,
    facts.Packed: _packed,
    facts.Quarantined: _quarantined,
    facts.QuarantineLifted: _lifted,
    facts.LoadAdded: _in_load,
    facts.LoadTakenOut: _taken_out,
    facts.LoadStarted: _running,
    facts.LoadEnded: _ended,
    facts.LoadTakenOver: _taken_over,
    facts.LoadJudged: _judged,
    facts.LoadReleased: _released,
    facts.LoadRejected: _rejected,
    facts.ReferenceChosen: _reference,
}

HANDLED: frozenset[type[Fact]] = frozenset(_HANDLERS)
"""The kinds of fact that change where an item stands."""
