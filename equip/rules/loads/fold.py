"""The facts of one load folded, oldest first: a small function for each kind that changes it."""

from collections.abc import Callable, Iterable
from typing import Any

import msgspec

from equip import facts
from equip.facts import Fact
from equip.rules.loads.load import (
    Correction,
    IndicatorReading,
    Load,
    Put,
    ReadAgain,
    SporeTest,
)

_set = msgspec.structs.replace


def fold(load: str, told: Iterable[Fact]) -> Load:
    """Fold *told*, which is everything about *load* in order of time, from nothing."""
    listed = list(told)
    gone = {fact.withdrawn for fact in listed if isinstance(fact, facts.Withdrawn)}
    folded = Load(load=load)
    for fact in listed:
        if fact.act not in gone:
            folded = after(folded, fact)
    return folded


def after(load: Load, fact: Fact) -> Load:
    """*load* once *fact* has happened to it as well."""
    handler = _HANDLERS.get(type(fact))
    return load if handler is None else _set(handler(load, fact), at=fact.at)


# --- what goes in -----------------------------------------------------------------------------


def _opened(load: Load, fact: facts.LoadOpened) -> Load:
    opened = load.opened or fact.at
    return _set(load, machine=fact.machine, programme=fact.programme, opened=opened)


def _added(load: Load, fact: facts.LoadAdded) -> Load:
    put = Put(item=fact.item, by=fact.by, wrapped=fact.wrapped, covers=fact.covers)
    return _set(load, inside=(*load.inside, put))


def _taken_out(load: Load, fact: facts.LoadTakenOut) -> Load:
    return _set(load, inside=tuple(put for put in load.inside if put.item != fact.item))


def _lot_put(load: Load, fact: facts.LotPut) -> Load:
    return _set(load, lots=tuple(dict.fromkeys((*load.lots, fact.lot))))


# --- its cycle --------------------------------------------------------------------------------


def _started(load: Load, fact: facts.LoadStarted) -> Load:
    return _set(
        load,
        state="running",
        programme=fact.programme,
        typed=fact.typed,
        started=fact.at,
        started_by=fact.by,
    )


def _ended(load: Load, fact: facts.LoadEnded) -> Load:
    return _set(
        load,
        state="ended",
        ended=fact.at,
        cycle_no=fact.cycle_no,
        log=fact.log,
        typed={**load.typed, **fact.typed},
        second_reader=fact.second_reader,
        photo=fact.photo,
    )


def _read_again(load: Load, fact: facts.EvidenceConfirmed) -> Load:
    read = ReadAgain(by=fact.by, at=fact.at, typed=fact.typed, differs=fact.differs)
    return _set(load, again=(*load.again, read))


def _judged(load: Load, fact: facts.LoadJudged) -> Load:
    """What its evidence came to; a log that was judged before stays where this one has none."""
    return _set(
        load,
        state="judged" if load.state in ("ended", "judged") else load.state,
        programme=fact.programme,
        verdict=fact.verdict,
        reasons=fact.reasons,
        figures=fact.figures,
        rules=fact.rules,
        book=fact.book,
        judge=fact.judge,
        log=fact.log or load.log,
        layout=fact.layout if fact.log else load.layout,
        log_started=fact.log_started if fact.log else load.log_started,
        cycle_no=fact.cycle_no or load.cycle_no,
        photo=fact.photo or load.photo,
        readers=fact.readers,
        stops=fact.stops,
    )


def _stages_corrected(load: Load, fact: facts.StagesCorrected) -> Load:
    return _set(
        load,
        corrected=Correction(fact.by, fact.at, fact.reason, fact.boundaries),
        as_found=load.as_found or load.verdict,
        correctors=tuple(dict.fromkeys((*load.correctors, fact.by))),
    )


# --- what is decided --------------------------------------------------------------------------


def _released(load: Load, fact: facts.LoadReleased) -> Load:
    return _set(
        load,
        state="released",
        released=fact.released,
        held=fact.held,
        decided=fact.at,
        decided_by=fact.by,
        note=fact.note,
        asked=fact.asked,
        answer=fact.answer,
        lapses=fact.lapses,
        alone=fact.alone,
        stated=fact.stated,
    )


def _rejected(load: Load, fact: facts.LoadRejected) -> Load:
    return _set(load, state="rejected", decided=fact.at, decided_by=fact.by, note=fact.reason)


def _taken_over(load: Load, fact: facts.LoadTakenOver) -> Load:
    """A load of the past has run, and was let go if it passed; nothing about it waits."""
    known = {put.item for put in load.inside}
    inside = (Put(item=item, by=fact.by) for item in fact.covers if item not in known)
    return _set(
        load,
        machine=fact.machine,
        programme=fact.programme,
        state={"pass": "released", None: "ended"}.get(fact.verdict, "rejected"),
        past=True,
        opened=load.opened or fact.at,
        ended=fact.at,
        inside=(*load.inside, *inside),
        verdict=fact.verdict,
        released=fact.covers if fact.verdict == "pass" else (),
        decided=fact.at if fact.verdict else None,
        decided_by=fact.by,
        note="brought in from the time before this book",
    )


# --- what is read beside its cycle ------------------------------------------------------------


def _indicator_read(load: Load, fact: facts.IndicatorRead) -> Load:
    """With one reading more; a second look takes the place of the unclear one."""
    new = IndicatorReading(
        lot=fact.lot,
        where=fact.where,
        result=fact.result,
        by=fact.by,
        at=fact.at,
        pack=fact.pack,
        reasons=fact.reasons,
    )
    readings = list(load.indicators)
    if fact.again:
        for index, reading in enumerate(readings):
            place = (reading.lot, reading.where, reading.pack)
            if reading.result == "unclear" and place == (fact.lot, fact.where, fact.pack):
                readings[index] = new
                return _set(load, indicators=tuple(readings))
    return _set(load, indicators=(*readings, new))


def _spore_test_put(load: Load, fact: facts.SporeTestPut) -> Load:
    test = SporeTest(lot=fact.lot, put=fact.at, by=fact.by, with_control=fact.with_control)
    return _set(load, spores=(*load.spores, test))


def _spore_test_read(load: Load, fact: facts.SporeTestRead) -> Load:
    return _set(load, spores=tuple(_grown(test, fact) for test in load.spores))


def _grown(test: SporeTest, fact: facts.SporeTestRead) -> SporeTest:
    """*test* as it was read; once spores have grown, no later reading ungrows them."""
    if test.lot != fact.lot or test.result == "positive":
        return test
    return msgspec.structs.replace(
        test,
        result=fact.result,
        read=fact.at,
        read_by=fact.by,
        control_grew=fact.control_grew,
        reasons=fact.reasons,
    )


_HANDLERS: dict[type[Fact], Callable[[Load, Any], Load]] = {
    facts.LoadOpened: _opened,
    facts.LoadAdded: _added,
    facts.LoadTakenOut: _taken_out,
    facts.LotPut: _lot_put,
    facts.LoadStarted: _started,
    facts.LoadEnded: _ended,
    facts.EvidenceConfirmed: _read_again,
    facts.LoadJudged: _judged,
    facts.StagesCorrected: _stages_corrected,
    facts.LoadReleased: _released,
    facts.LoadRejected: _rejected,
    facts.LoadTakenOver: _taken_over,
    facts.IndicatorRead: _indicator_read,
    facts.SporeTestPut: _spore_test_put,
    facts.SporeTestRead: _spore_test_read,
}
