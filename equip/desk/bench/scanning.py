"""A scan at a bench: its place in the stream, the context it was made in, one transaction."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import msgspec

from equip import facts
from equip.desk.act.act import begin, keep_act
from equip.desk.act.answer import Answer
from equip.desk.bench import behind, exposed_answer, fired_twice, lapses
from equip.desk.bench.dispatch import answered
from equip.desk.clinic import Clinic, House
from equip.rules.bench import transitions as bench
from equip.rules.bench.transitions import Context
from equip.rules.fitness.clocks import left_s
from equip.store.ledger import ledger
from equip.store.readings import act_rows

_NOTHING_TO_UNDO = (facts.Withdrawn, facts.Asked, facts.StepRefused, facts.LapseExplained)


class OtherText(ValueError):
    """An act's id was used before for another scan."""


class OutOfTurn(ValueError):
    """A place in a bench's stream is taken by another scan already."""


@dataclass(frozen=True, slots=True)
class Scan:
    """One scan as a bench sends it: an id it made, its place in the stream, the text, the time.

    *after* is the act whose answer its screen showed, or the scan this device sent before it;
    *repeats* the scan that the scanner fired twice, by the device's clock ("": none).
    """

    id: str
    bench: str
    text: str
    at: datetime | None = None
    seq: int | None = None
    after: str | None = None
    repeats: str | None = None


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
        at = order.at or now
        if last is not None and fired_twice.is_one_scan(
            clinic, last, digest, order.text, at, order.repeats
        ):
            return _counted_once(clinic, order, signed, last, seq, digest, now)
        return _fresh(clinic, order, signed, last, seq, digest, now)


@dataclass(frozen=True, slots=True)
class Sight:
    """What a screen shows that opens now: what is in hand, after which act, what ran out.

    *after* is "" before the first act of the bench.
    """

    context: Context
    after: str
    ended: Answer | None


def sight(clinic: Clinic, where: str, now: datetime) -> Sight:
    """What this bench has in hand at *now*: the fold of its stream so far, less what is idle."""
    last = act_rows.last_act(clinic.store, where)
    if last is None:
        return Sight(Context(), "", None)
    before = _context_from(last.context) if last.context else Context()
    idle, badge_idle = _idle(clinic.house, now)
    context = bench.at_moment(before, now, idle, badge_idle)
    ended = lapses.ended(clinic.house, before, context, idle)
    # A look is no scan: what runs out runs on from the last one.
    return Sight(msgspec.structs.replace(context, at=before.at), last.id, ended)


def runs_out(clinic: Clinic, context: Context, now: datetime) -> tuple[int | None, int | None]:
    """In how many seconds what is in hand, and the badge, run out without another scan."""
    idle, badge_idle = _idle(clinic.house, now)
    has_begun = context.mode not in ("", "lay-up") or bool(context.patient)
    use_s = left_s(context.at + idle, now) if context.at and has_begun else None
    badged = context.badge_at if context.badge else None
    return use_s, left_s(badged + badge_idle, now) if badged else None


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


def _counted_once(
    clinic: Clinic,
    order: Scan,
    signed: str,
    last: act_rows.ActRow,
    seq: int,
    digest: bytes,
    now: datetime,
) -> Reply:
    """The scanner fired twice: an act of its own that writes nothing down."""
    answer = fired_twice.told(_answer_from(last.answer))
    act = begin(clinic, signed, act=order.id, at=order.at or now, now=now)
    keep_act(
        act,
        bench=order.bench,
        seq=seq,
        payload_hash=digest,
        reading="",
        answer=_encode(answer).decode(),
        context=last.context,
    )
    return Reply(order.id, seq, answer, _context_from(last.context))


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
    idle, badge_idle = _idle(act.house, now)
    context = bench.signed_in(bench.at_moment(before, act.at, idle, badge_idle), signed)
    act.by = context.badge or signed
    kept, context, answer = answered(act, context, order.text, before, idle)
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
