"""A thing's own meter: what its readings come to, and why one cannot be.

Whoever reads a meter writes down what it shows. It may only go up; that it was replaced, went
round or was read wrongly has to be said in so many words.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from equip.facts import MeterRead
from equip.rules.upkeep.words import METERS

TENTHS = 10
"""Gains are kept as whole tenths: the finest that such a meter shows."""


@dataclass(frozen=True, slots=True)
class Gain:
    """How far it went, in tenths, from the reading before up to this one."""

    at: datetime
    tenths: int


class BadReading(ValueError):
    """A reading that cannot be; the message says what was read and what to do."""


def counted_readings(told: Iterable[MeterRead]) -> list[MeterRead]:
    """Readings in order of time without those that a later one corrects."""
    kept: list[MeterRead] = []
    for fact in told:
        if fact.how == "corrects" and kept:
            before = kept.pop()
            if before.how != "read":  # a new meter stays a new meter, whatever it showed
                fact = _as(before, fact)
        kept.append(fact)
    return kept


def _as(before: MeterRead, fact: MeterRead) -> MeterRead:
    return MeterRead(
        at=fact.at,
        by=fact.by,
        act=fact.act,
        item=fact.item,
        meter=fact.meter,
        reading=fact.reading,
        how=before.how,
        ended=before.ended,
        began=before.began,
    )


def gains(told: Iterable[MeterRead]) -> list[Gain]:
    """What each reading adds to the one before; the first adds nothing, for nobody knows."""
    found = []
    last: Decimal | None = None
    for fact in counted_readings(told):
        gained = Decimal(0) if last is None else _gained(fact, last)
        found.append(Gain(fact.at, max(0, int(gained * TENTHS))))
        last = fact.reading
    return found


def _gained(fact: MeterRead, last: Decimal) -> Decimal:
    match fact.how:
        case "replaced":
            old = Decimal(0) if fact.ended is None else fact.ended - last
            return old + fact.reading - (fact.began or Decimal(0))
        case "rolled-over":
            return (fact.ended or last) - last + fact.reading
        case _:
            return fact.reading - last


def check(fact: MeterRead, before: Sequence[MeterRead], after: Sequence[MeterRead]) -> None:
    """Whether *fact* can stand between those *before* it and *after* it; BadReading if not."""
    name = METERS[fact.meter]
    if fact.reading < 0 or any(
        value is not None and value < 0 for value in (fact.ended, fact.began)
    ):
        raise BadReading(f"A {name} shows nothing below nought; {fact.reading} was read.")
    if fact.reading != round(fact.reading, 1):
        raise BadReading(
            f"{fact.reading} was read: write what the {name} shows, to a tenth at most."
        )
    known = counted_readings(before)
    if fact.how != "read" and not known:
        raise BadReading(f"No reading of this {name} is in the book yet: write it down as read.")
    if fact.how == "corrects":
        if known[-1].how != "read":
            fact = _as(known[-1], fact)
        known = known[:-1]
    last = known[-1].reading if known else Decimal(0)
    _check_word(fact, name, last)
    if after:
        _check_later(fact, name, after[0])


def _check_later(fact: MeterRead, name: str, later: MeterRead) -> None:
    """Told late: what was read after it has to be possible after it."""
    match later.how:
        case "corrects":
            raise BadReading(
                f"The reading ahead of it was corrected to {later.reading} later on, and one in"
                " between would be corrected in its place: write it down as of today."
            )
        case "replaced" | "rolled-over" if later.ended is not None and later.ended < fact.reading:
            raise BadReading(
                f"{fact.reading} was read for an earlier day than the one on which the {name} had"
                f" come to {later.ended} at most: look at the day and at the figure."
            )
        case "read" if later.reading < fact.reading:
            raise BadReading(
                f"{fact.reading} was read for an earlier day than {later.reading}, which is lower:"
                " look at the day and at the figure."
            )
        case _:
            pass


def _check_word(fact: MeterRead, name: str, last: Decimal) -> None:
    match fact.how:
        case "replaced":
            if fact.ended is not None and fact.ended < last:
                raise BadReading(
                    f"The old {name} cannot have shown {fact.ended} last: it showed {last} before."
                )
            if fact.reading < (fact.began or Decimal(0)):
                raise BadReading(
                    f"The new {name} shows {fact.reading}, less than the {fact.began} it began at."
                )
        case "rolled-over":
            if fact.ended is None or fact.ended < last:
                raise BadReading(
                    f"Say where the {name} begins again at nought, such as 10000; it has to be"
                    f" {last} or more, which it showed before."
                )
            if fact.reading >= last:
                raise BadReading(
                    f"It shows {fact.reading}, no less than the {last} before: it did not go round."
                )
        case _ if fact.reading < last:
            raise BadReading(
                f"{fact.reading} was read; the {name} showed {last} before, and only goes up. If"
                " the meter was replaced or went round, or the reading before was a slip, say so."
            )
        case _:
            pass
