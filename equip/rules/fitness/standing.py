"""Where one item stands: its facts folded, oldest first, into all that later questions need.

Nothing here says whether it may be used: that is computed each time from this, the clock and
the rules (`fitness`). The fold knows no types and no limits, so a change of either needs no
re-telling.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any

import msgspec

from equip import facts
from equip.facts import Fact, Hazard, How, Loose, Step, Told, Verdict
from equip.rules.fitness import contents
from equip.rules.fitness.contents import Contents
from equip.rules.wording import exact_span
from equip.scan import show_tag


class Done(msgspec.Struct, frozen=True, omit_defaults=True):
    """Steps of the route that were done since the item was last soiled, by hand or in a load.

    A step by hand with a contact time has to stay wet for *contact_s* seconds from *at*. *stops*
    are the hazards that its means stop (`rules/fitness/stopping`); None where nobody wrote them
    down.
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
    agent: str = ""
    stops: tuple[Hazard, ...] | None = None

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


class Served(msgspec.Struct, frozen=True, omit_defaults=True):
    """What was done to a machine before it was used, and the use that had soiled it until then.

    A machine that patients share is not made fit between them: see `day_gate`.
    """

    done: tuple[Done, ...]
    soiled: datetime | None = None


class Kept(msgspec.Struct, frozen=True, omit_defaults=True):
    """One standing quarantine."""

    at: datetime
    why: Told
    how: How


class Declared(msgspec.Struct, frozen=True, omit_defaults=True):
    """Taken over on going live at *at*: decontaminated on *day*, if that was said, and *sealed*."""

    at: datetime
    day: date | None = None
    sealed: bool = False


class Standing(msgspec.Struct, frozen=True, omit_defaults=True):
    """One item at one moment. *references* are a machine's: the load by programme.

    *out_of* is the load that the untagged contents of a pack came out of; in the time before this
    book earlier steps are taken as done. *unsaid* are required steps of such contents that nobody
    recorded. *in_case* and *contents_wait* are no part of the fold: whoever reads where an item
    stands says there which open look-back holds it in doubt, and why that load does not count.
    *contents* are those of a set. *stopped*: something happened to it in the use that it met last,
    such as a fall, so that it is asked about anew before it is used again in it.
    """

    item: str
    type: str = ""
    arrival: str = ""
    declared_by: str = ""
    declared: Declared | None = None
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
    out_of: str = ""
    unsaid: tuple[Step, ...] = ()
    in_case: str = ""
    contents_wait: str = ""
    opened: datetime | None = None
    spoilt: str = ""
    quarantines: tuple[Kept, ...] = ()
    inspect: str = ""
    failed_inspection: datetime | None = None
    uses: int = 0
    cycles: int = 0
    owner: str = ""
    last_use: datetime | None = None
    stopped: bool = False
    references: dict[str, str] = {}
    contents: Contents | None = None
    served: Served | None = None


_set = msgspec.structs.replace


def fold(item: str, told: Iterable[Fact]) -> Standing:
    """Fold *told*, which is everything about *item* in order of time, from nothing."""
    standing = Standing(item=item)
    for _, fact in settled(list(told)):
        standing = after(standing, fact)
    return standing


def settled(listed: Sequence[Fact]) -> list[tuple[int, Fact]]:
    """The facts as they stand after withdrawals and moves to another patient, by their index.

    A withdrawn act is skipped, but what it kept back, what is missing and what hurt somebody
    stays; a use that was moved names its last patient throughout. What a lot
    holds, told later, counts for every step that was done with it before anybody wrote down what
    it stops.
    """
    gone = {fact.withdrawn for fact in listed if isinstance(fact, facts.Withdrawn)}
    patient = {
        fact.use: fact.patient
        for fact in listed
        if isinstance(fact, facts.MovedToPatient) and fact.act not in gone
    }
    holds = {
        fact.lot: fact
        for fact in listed
        if isinstance(fact, facts.LotDescribed) and fact.act not in gone
    }
    kept: list[tuple[int, Fact]] = []
    for index, fact in enumerate(listed):
        if fact.act in gone and not isinstance(fact, STAYS):
            continue
        if isinstance(fact, _OF_A_USE):
            moved = patient.get(fact.use)
            if moved is not None and moved != fact.patient:
                fact = msgspec.structs.replace(fact, patient=moved)
        if holds and isinstance(fact, facts.Stepped):
            fact = _as_described(fact, holds)
        kept.append((index, fact))
    return kept


STAYS = (facts.Quarantined, facts.Hurt, facts.PieceMissing)
"""What stays told although the act is taken back in which it was told."""

_OF_A_USE = (facts.UseBegun, facts.Used, facts.UseNoted, facts.UseFinished, facts.PieceMissing)


def _as_described(step: facts.Stepped, holds: Mapping[str, facts.LotDescribed]) -> facts.Stepped:
    """A disinfection with a lot whose agent was told later, as if it had been known then."""
    told = next((holds[lot] for lot in step.lots if lot in holds), None)
    if told is None or step.stops is not None or step.at > told.at:
        return step
    if step.step != "disinfect" or not step.contact_s:
        return step
    return msgspec.structs.replace(step, agent=told.agent, stops=told.stops)


def after(standing: Standing, fact: Fact) -> Standing:
    """*standing* once *fact* has happened to it as well."""
    handler = _HANDLERS.get(type(fact))
    if handler is None:
        return standing
    return _set(handler(standing, fact), at=fact.at)


# --- the register ---------------------------------------------------------------------------


def _added(standing: Standing, fact: facts.ItemAdded) -> Standing:
    if fact.item != standing.item:
        return standing
    if fact.arrival in ("loaned", "second-hand", "repaired"):
        standing = _soiled(standing, Soiling(how="outside", at=fact.at))
    return _set(
        standing,
        type=fact.type,
        arrival=fact.arrival,
        declared_by=fact.declared_by,
        declared=_declared(fact),
        place=fact.place,
        placed=fact.at,
    )


def _declared(fact: facts.ItemAdded) -> Declared | None:
    if fact.arrival != "go-live" or not fact.declared_by:
        return None
    return Declared(fact.at, fact.decontaminated, fact.sealed)


def _arrived(standing: Standing, fact: facts.Arrived) -> Standing:
    repaired = fact.arrival == "repaired"
    return _set(
        _soiled(standing, Soiling(how="outside", at=fact.at)),
        where="here",
        arrival=fact.arrival,
        failed_inspection=None if repaired else standing.failed_inspection,
    )


def _sent_out(standing: Standing, fact: facts.SentOut) -> Standing:
    return _set(standing, where="sent out", place="", placed=None)


def _retired(standing: Standing, fact: facts.Retired) -> Standing:
    return _set(standing, where="retired", place="", placed=None)


def _placed(standing: Standing, fact: facts.Placed) -> Standing:
    if fact.place == standing.item:
        return standing
    return _set(standing, place=fact.place, placed=fact.at)


def _joined(standing: Standing, fact: facts.Joined) -> Standing:
    if standing.item != fact.set or fact.item in standing.members:
        return standing
    return _set(standing, members=(*standing.members, fact.item))


def _left(standing: Standing, fact: facts.Left) -> Standing:
    if standing.item != fact.set:
        return standing
    return _set(standing, members=tuple(m for m in standing.members if m != fact.item))


# --- the bench ------------------------------------------------------------------------------


def _soiled(standing: Standing, soiling: Soiling) -> Standing:
    """Whatever was done to it before counts no longer, and it is in no sealed pack.

    A failed inspection stands: a chip does not heal by being used.
    """
    return _set(standing, soiling=soiling, done=(), pack="", load="", load_state="", served=None)


def _used(standing: Standing, fact: facts.Used) -> Standing:
    """What was opened with a pack or set that was used counts as used, unless somebody says not."""
    met = standing.item == fact.item and not fact.opened_only
    before = standing.soiling
    same = before is not None and before.use == fact.use
    counted = same and before is not None and before.how != "unused"
    counts = not fact.opened_only and not counted
    how = "unused" if fact.opened_only else "used" if met else "opened"
    soiling = Soiling(how=how, at=fact.at, patient=fact.patient, use=fact.use)
    if counted and before is not None and (before.how == "used" or fact.opened_only):
        soiling = before
    first_opening = standing.made is not None and standing.opened is None
    return _set(
        _soiled(standing, soiling),
        uses=standing.uses + (1 if counts else 0),
        owner=standing.owner or ("" if fact.opened_only else fact.patient),
        last_use=standing.last_use if fact.opened_only else fact.at,
        opened=fact.at if first_opening else standing.opened,
        stopped=standing.stopped and same,
        served=_served(standing, fact.at),
    )


def _served(standing: Standing, at: datetime) -> Served | None:
    """Of a machine only: an instrument that was used is not fit for anybody else.

    What was still wet when it was used, at *at*, never did what it should.
    """
    if standing.item[:1] != "D":
        return None
    if begins_anew(standing):
        done = [_set(one, refused=_USED_WET) if one.wet_at(at) else one for one in standing.done]
        return Served(tuple(done), standing.soiling.at if standing.soiling else None)
    before = standing.served
    if before is None:
        return None
    return _set(before, done=_still_asked(standing.item, (*before.done, *standing.done)))


_USED_WET = "it was used before its time was up"


def begins_anew(standing: Standing) -> bool:
    """Whether a step was done since the last use that opens another day, or closes this one."""
    return any(not _OF_A_DAY.isdisjoint(done.steps) for done in standing.done)


_OF_A_DAY = frozenset({"clean", "disinfect", "dry"})


def _finished(standing: Standing, fact: facts.UseFinished) -> Standing:
    soiling = standing.soiling
    if soiling is None or soiling.use != fact.use:
        return standing
    return _set(standing, soiling=_set(soiling, ended=fact.at))


def _noted(standing: Standing, fact: facts.UseNoted) -> Standing:
    """Opened and not used after all: soiled all the same, but no use of it."""
    soiling = standing.soiling
    if standing.item not in fact.opened or soiling is None or soiling.use != fact.use:
        return standing
    if soiling.how == "unused":
        return standing
    first = standing.uses == 1
    return _set(
        standing,
        soiling=_set(soiling, how="unused"),
        uses=standing.uses - 1,
        owner="" if first else standing.owner,
    )


def _marked(standing: Standing, fact: facts.Marked) -> Standing:
    match fact.effect:
        case "soil":
            return _to_go_round(standing, fact.what, fact.at)
        case "unpack" if standing.made is None:
            return _unpacked(standing, fact)
        case "unpack":
            spoilt = _SPOILT_BY.get(fact.what, fact.what)
            return _set(standing, spoilt=spoilt, stopped=True)
        case _:
            return _set(standing, inspect=fact.what, stopped=True)


_SPOILT_BY = {"use-taken-back": "open, though its use was taken back"}


def _to_go_round(standing: Standing, what: str, at: datetime) -> Standing:
    """It must go round again before anybody uses it."""
    return _set(_soiled(standing, _soiling_after(standing, what, at)), stopped=True)


def _soiling_after(standing: Standing, what: str, at: datetime) -> Soiling:
    """A mark hides nobody: a patient whom it still carries stays its soiling."""
    if standing.soiling is not None and not any(
        _cleared(done) and not done.wet_at(at) for done in standing.done
    ):
        return standing.soiling
    return Soiling(how=what, at=at)


def _not_turned(standing: Standing, fact: facts.IndicatorNotTurned) -> Standing:
    """The pack is spoilt for good; what it held goes round again."""
    if standing.item == fact.pack:
        return _set(standing, spoilt=NOT_TURNED, stopped=True)
    return _to_go_round(standing, "indicator-not-turned", fact.at)


NOT_TURNED = "one whose indicator did not turn"


def _unpacked(standing: Standing, fact: facts.Marked) -> Standing:
    """Only the pack is spoilt for good. What it held is to be packed anew: it stays clean."""
    before = tuple(done for done in standing.done if {"pack", "sterilise"}.isdisjoint(done.steps))
    soiling = _soiling_after(standing, fact.what, fact.at)
    return _set(standing, soiling=soiling, done=before, pack="", stopped=True)


def _cleared(done: Done) -> bool:
    nothing = not done.stops and (done.stops is not None or not done.load)
    return done.counts and not nothing and not {"disinfect", "sterilise"}.isdisjoint(done.steps)


def _stepped(standing: Standing, fact: facts.Stepped) -> Standing:
    if fact.step == "inspect":
        if not fact.passed:
            return _set(standing, failed_inspection=fact.at)
        standing = _set(standing, inspect="", failed_inspection=None)
    verdict: Verdict = "pass" if fact.passed else "fail"
    done = Done(
        steps=(fact.step,),
        at=fact.at,
        by=fact.by,
        verdict=verdict,
        refused=_UNRELEASED if fact.unreleased else "",
        lots=fact.lots,
        contact_s=fact.contact_s,
        agent=fact.agent,
        stops=fact.stops,
    )
    before = _cut_short(standing.done, (fact.step,), fact.at) if fact.passed else standing.done
    return _set(standing, done=_still_asked(standing.item, (*before, done)))


def _still_asked(item: str, done: tuple[Done, ...]) -> tuple[Done, ...]:
    """*done* without what nobody asks any more: a machine may serve for years without being soiled.

    What was done in the last two days stays, and of what came before it the last of each step.
    """
    if item[:1] != "D":
        return done
    since = done[-1].at - _TWO_DAYS
    before = {step: one for one in done if one.at < since for step in one.steps}
    return tuple(one for one in done if one.at >= since or one in before.values())


_TWO_DAYS = timedelta(days=2)


def _described(standing: Standing, fact: facts.LotDescribed) -> Standing:
    """What was done with the lot before is other than it was told: `settled` says how."""
    return standing


_UNRELEASED = "whoever did it may not let it go"


def _cut_short(before: tuple[Done, ...], steps: Collection[str], at: datetime) -> tuple[Done, ...]:
    """*before* once a step or a load touched the item: what was still wet then does not count.

    The same step again begins its time anew, by what it was done with this time.
    """
    return tuple(
        _set(done, refused=_too_short(done, steps, at)) if done.wet_at(at) else done
        for done in before
    )


def _too_short(done: Done, steps: Collection[str], at: datetime) -> str:
    if not set(steps).isdisjoint(done.steps):
        return "it was done again before its time was up"
    wet = exact_span((at - done.at).total_seconds())
    return f"it stayed wet for {wet} and has to for {exact_span(done.contact_s)}"


def _packed(standing: Standing, fact: facts.Packed) -> Standing:
    if standing.item == fact.pack:
        return _set(
            standing,
            type="pack",
            made=fact.at,
            members=fact.contents,
            loose=fact.loose,
            out_of="" if fact.old else fact.load if fact.loose else "",
            unsaid=fact.unsaid,
        )
    done = Done(steps=("pack",), at=fact.at, by=fact.by, verdict="pass")
    before = _cut_short(standing.done, ("pack",), fact.at)
    if standing.contents is not None:
        counted = counted_to_pack(standing)
        standing = _set(standing, contents=contents.sealed(standing.contents, counted=counted))
    return _set(standing, pack=fact.pack, done=(*before, done))


def counted_to_pack(standing: Standing) -> bool:
    """Whether a set was counted for packing since anything was done to it."""
    its = standing.contents
    last = max((done.at for done in standing.done), default=None)
    soiled = standing.soiling.at if standing.soiling is not None else None
    return its is not None and any(
        one.moment == "packing"
        and (last is None or one.at >= last)
        and (soiled is None or one.at >= soiled)
        for one in its.made
    )


def _contents(standing: Standing, fact: Fact) -> Standing:
    now = contents.after(standing.contents or Contents(), standing.item, fact)
    if isinstance(fact, facts.PieceFound):
        standing = _found(standing, fact)
    return _set(standing, contents=None if now == Contents() else now)


def _found(standing: Standing, fact: facts.PieceFound) -> Standing:
    """The piece, and the set it belongs to, go round again; a pack of them is spoilt for good."""
    if standing.made is not None:
        return _set(standing, spoilt=NOT_WHOLE)
    return _to_go_round(standing, "found", fact.at)


NOT_WHOLE = "one of a set that was not whole"


def _quarantined(standing: Standing, fact: facts.Quarantined) -> Standing:
    kept = Kept(at=fact.at, why=fact.why, how=fact.how)
    return _set(standing, quarantines=(*standing.quarantines, kept))


def _lifted(standing: Standing, fact: facts.QuarantineLifted) -> Standing:
    """One reason is lifted by itself; entries of before name none, and lifted all of them."""
    if fact.why is None:
        return _set(standing, quarantines=())
    left = tuple(
        kept
        for kept in standing.quarantines
        if kept.why != fact.why or (fact.since is not None and kept.at != fact.since)
    )
    return _set(standing, quarantines=left)


# --- loads ----------------------------------------------------------------------------------


def _in_load(standing: Standing, fact: facts.LoadAdded) -> Standing:
    return _set(standing, load=fact.load, load_state="filling", wrapped=fact.wrapped)


def _taken_out(standing: Standing, fact: facts.LoadTakenOut) -> Standing:
    return _set(standing, load="", load_state="")


def _running(standing: Standing, fact: facts.LoadStarted) -> Standing:
    return _set(standing, load_state="running")


def _ended(standing: Standing, fact: facts.LoadEnded) -> Standing:
    standing = _set(standing, load_state="ended", cycles=standing.cycles + 1)
    if standing.item == fact.machine:
        return standing  # what it did to its loads was not done to it
    done = Done(steps=fact.steps, at=fact.at, by=fact.by, load=fact.load, wrapped=standing.wrapped)
    return _set(standing, done=(*_cut_short(standing.done, fact.steps, fact.at), done))


def _taken_over(standing: Standing, fact: facts.LoadTakenOver) -> Standing:
    standing = _set(standing, cycles=standing.cycles + 1)
    if standing.item == fact.machine:
        return standing
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
    return _set(standing, done=(*_cut_short(standing.done, fact.steps, fact.at), done))


def _judged(standing: Standing, fact: facts.LoadJudged) -> Standing:
    done = _change(standing.done, fact.load, verdict=fact.verdict)
    done = tuple(_set(one, stops=fact.stops) if one.load == fact.load else one for one in done)
    return _set(standing, done=done)


def _released(standing: Standing, fact: facts.LoadReleased) -> Standing:
    if standing.item in fact.released:
        done = _change(standing.done, fact.load, released=fact.at)
    else:
        done = _change(
            standing.done, fact.load, refused="it was held back when its load was released"
        )
    return _set(_out_of(standing, fact.load), done=done)


def _rejected(standing: Standing, fact: facts.LoadRejected) -> Standing:
    return _set(
        _out_of(standing, fact.load),
        done=_change(standing.done, fact.load, refused=f"the load was rejected: {fact.reason}"),
    )


def _reference(standing: Standing, fact: facts.ReferenceChosen) -> Standing:
    if standing.item != fact.machine:
        return standing
    return _set(standing, references={**standing.references, fact.programme: fact.load})


def _out_of(standing: Standing, load: str) -> Standing:
    return _set(standing, load="", load_state="") if standing.load == load else standing


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
        step
        if step.load != load
        else _set(
            step,
            verdict=verdict or step.verdict,
            released=released or step.released,
            refused=refused or step.refused,
        )
        for step in done
    )


def doubted(standing: Standing, in_doubt: Callable[[Done], bool]) -> Standing:
    """*standing* as it is while look-backs hold some of what was done to it in doubt."""

    def seen(told: tuple[Done, ...]) -> tuple[Done, ...]:
        return tuple(
            _set(one, refused=IN_DOUBT) if not one.refused and in_doubt(one) else one
            for one in told
        )

    served = standing.served
    if served is not None:
        served = _set(served, done=seen(served.done))
    return _set(standing, done=seen(standing.done), served=served)


def contents_waiting(standing: Standing, stage: str, verdict: str, in_doubt: bool) -> Standing:
    """*standing* with the reason why the load its untagged contents came out of does not count.

    *stage* is what that load waits for, as its table has it; one of the past waits for nothing.
    """
    load = f"The load {show_tag(standing.out_of)} that its untagged contents came out of"
    if in_doubt:
        return _set(standing, contents_wait=f"{load} does not count: {IN_DOUBT}.")
    if stage in ("released", "past"):
        return standing
    if verdict == "fail":
        return _set(standing, contents_wait=f"{load} failed.")
    waits = {
        "ended": "waits for its log: hand in the log",
        "judged": "has not been released",
        "rejected": "was rejected",
    }
    return _set(standing, contents_wait=f"{load} {waits.get(stage, 'has not ended')}.")


IN_DOUBT = "an open look-back holds it in doubt"


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
    facts.LotDescribed: _described,
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
    **dict.fromkeys(contents.KINDS, _contents),
}

HANDLED: frozenset[type[Fact]] = frozenset(_HANDLERS)
"""The kinds of fact that change where an item stands."""
