"""A scan at a bench: its place in the stream, the context it was made in, one transaction."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import msgspec

from equip import facts
from equip.desk.act.act import begin, keep_act
from equip.desk.act.answer import Answer
from equip.desk.bench import behind, exposed_answer
from equip.desk.bench.dispatch import answered
from equip.desk.clinic import Clinic, House
from equip.rules.bench import transitions as bench
from equip.rules.bench.transitions import Context
from equip.store.ledger import ledger
from equip.store.readings import act_rows

_NOTHING_TO_UNDO = (facts.Withdrawn, facts.Asked, facts.StepRefused, facts.LapseExplained)
_ONE_SCAN = timedelta(seconds=1.5)


class OtherText(ValueError):
    """An act's id was used before for another scan."""


class OutOfTurn(ValueError):
    """A place in a bench's stream is taken by another scan already."""


@dataclass(frozen=True, slots=True)
class Scan:
    """One scan as a bench sends it: an id it made, its place in the stream, the text, the time.

    *after* is the act whose answer its screen showed, or the scan this device sent before it.
    """

    id: str
    bench: str
    text: str
    at: datetime | None = None
    seq: int | None = None
    after: str | None = None


@dataclass(frozen=True, slots=True)
class Reply:
    """The answer, what is in hand after it, and whether it was answered before."""

    act: str
    seq: int
    answer: Answer
    context: Context
    replayed: bool = False


_answer_from = msgspec.json.Decoder(Answer).decode
_context_from = msgspec.json.Decoder(Context).decode
_encode = msgspec.json.Encoder().encode


def scan(clinic: Clinic, order: Scan, signed: str) -> Reply:
    """Decide, write down and answer one scan; *signed* is who is signed in on this device.

    The same id with the same text answers the same; with another text it raises `OtherText`.
    On a screen that is behind it raises `BehindError`, and nothing is written down.
    """
    with clinic.store.writing():
        ledger.lock(clinic.store, [clinic.settings.site])
        digest = clinic.vault.payload_hash(f"{order.bench}\n{order.text}")
        prior = act_rows.act_of(clinic.store, order.id)
        if prior is not None:
            return _again(prior, digest)
        now = clinic.clock()
        last = act_rows.last_act(clinic.store, order.bench)
        seq = _seq(last, order)
        behind.refuse(clinic, order.bench, order.after, order.text, last, signed)
        if last is not None and _bounced(last, digest, order.at or now):
            act = begin(clinic, signed, act=order.id, at=order.at or now, now=now)
            keep_act(
                act,
                bench=order.bench,
                seq=seq,
                payload_hash=digest,
                reading="",
                answer=last.answer,
                context=last.context,
            )
            return Reply(order.id, seq, _answer_from(last.answer), _context_from(last.context))
        return _fresh(clinic, order, signed, last, seq, digest, now)


def newest(clinic: Clinic, where: str) -> str:
    """The id of the newest act of this bench, "" before the first: a screen shows its answer."""
    last = act_rows.last_act(clinic.store, where)
    return "" if last is None else last.id


def in_hand(clinic: Clinic, where: str, now: datetime) -> Context:
    """What this bench has in hand at *now*: the fold of its stream so far, less what is idle."""
    last = act_rows.last_act(clinic.store, where)
    before = Context() if last is None or not last.context else _context_from(last.context)
    return bench.at_moment(before, now, *_idle(clinic.house, now))


def _idle(house: House, now: datetime) -> tuple[timedelta, timedelta]:
    """How long a bench keeps what it has in hand, and how long a badge."""
    rules = house.rules(now)
    return (
        timedelta(minutes=rules.number("bench.idle-minutes")),
        timedelta(minutes=rules.number("bench.badge-idle-minutes")),
    )


def _again(prior: act_rows.ActRow, digest: bytes) -> Reply:
    if prior.payload_hash != digest:
        raise OtherText("This scan's id was used before for another scan: make a new id.")
    return Reply(
        prior.id, prior.seq, _answer_from(prior.answer), _context_from(prior.context), True
    )


def _seq(last: act_rows.ActRow | None, order: Scan) -> int:
    after = 0 if last is None else last.seq
    if order.seq is None:
        return after + 1
    if order.seq <= after:
        raise OutOfTurn(f"Scan {order.seq} of this bench was sent before; the next is {after + 1}.")
    return order.seq


def _bounced(last: act_rows.ActRow, digest: bytes, at: datetime) -> bool:
    """A scanner that fires twice: the same text within a moment is one scan."""
    return last.payload_hash == digest and abs(at - last.at) < _ONE_SCAN


def _fresh(
    clinic: Clinic,
    order: Scan,
    signed: str,
    last: act_rows.ActRow | None,
    seq: int,
    digest: bytes,
    now: datetime,
) -> Reply:
    at = order.at or now
    act = begin(clinic, signed, act=order.id, at=at, now=now, signed=signed, bench=order.bench)
    before = Context() if last is None or not last.context else _context_from(last.context)
    context = bench.at_moment(before, act.at, *_idle(act.house, now))
    context = bench.signed_in(context, signed)
    act.by = context.badge or signed
    kept, context, answer = answered(act, context, order.text)
    act.commit()
    answer = exposed_answer.with_exposure(act, answer)
    if act.told and not any(isinstance(f, _NOTHING_TO_UNDO) for f in act.told):
        context = bench.told(context, act.id)
    keep_act(
        act,
        bench=order.bench,
        seq=seq,
        payload_hash=digest,
        reading=kept,
        answer=_encode(answer).decode(),
        context=_encode(context).decode(),
    )
    return Reply(order.id, seq, answer, context)
