"""What a bench has in hand: a fold of its stream of scans, each step a pure function.

The context is kept with every act, so a scan that is told again, or late, meets the context it
was made in. It forgets what is idle: a patient, a load and a half-made pack sooner than a badge.
"""

from datetime import datetime, timedelta
from typing import Literal

import msgspec

from equip.acts import Mode
from equip.facts import CountMoment, Ear, Loose, Step

Asks = Literal[
    "",
    "patient-to-move-to",
    "cycle-number",
    "reason",
    "count",
    "loads-machine",
    "bath-lot",
    "competence",
    "check",
    "piece",
    "where",
    "whose",
    "undo",
    "when",
]


class Timer(msgspec.Struct, frozen=True, omit_defaults=True):
    """A contact time that was started at this bench, by *act*."""

    item: str
    until: datetime
    act: str


class Vouched(msgspec.Struct, frozen=True, omit_defaults=True):
    """Why *who* goes on although they are not competent, by task; or who stands beside them."""

    who: str
    at: datetime
    supervisor: str = ""
    reasons: dict[str, str] = {}


class Context(msgspec.Struct, frozen=True, omit_defaults=True):
    """Everything the next scan at this bench is read against.

    *signed* is who was signed in on the device that scanned last. *lapsed* is a badge that counts
    no longer, as long as nobody said who works on; its time ran out at *lapsed_at*.
    *lots* are what each step is done with, by step; *lot* waits for the step to be named.
    *by_hand* are the steps that were done by hand to the untagged instruments that lie ready.
    *to_check* are the checks of *item* that are asked about next, one after the other.
    *no_patient* was scanned after “finish”, and waits for the patient whom it was used on.
    *offered* are the acts that may be taken back now, the newest first, as they were named.
    *earlier* is when what is told now has happened; None is now.
    *counting* is the set that is being counted; *seen* are its tagged pieces that were scanned,
    *seen_loose* how many of an untagged type.
    """

    at: datetime | None = None
    badge: str = ""
    badge_at: datetime | None = None
    signed: str = ""
    lapsed: str = ""
    lapsed_at: datetime | None = None
    place: str = ""
    mode: Mode = ""
    patient: str = ""
    use: str = ""
    ear: Ear = ""
    used: tuple[str, ...] = ()
    finished: bool = False
    no_patient: tuple[str, ...] = ()
    step: Step | Literal[""] = ""
    passed: bool = True
    load: str = ""
    pack: str = ""
    contents: tuple[str, ...] = ()
    loose: tuple[Loose, ...] = ()
    out_of: str = ""
    by_hand: tuple[Step, ...] = ()
    item: str = ""
    refused: bool = False
    undoable: tuple[str, ...] = ()
    asks: Asks = ""
    lot: str = ""
    lots: dict[str, str] = {}
    timers: tuple[Timer, ...] = ()
    vouched: Vouched | None = None
    asked_for: str = ""
    asked_of: str = ""
    offered: tuple[str, ...] = ()
    earlier: datetime | None = None
    to_check: tuple[str, ...] = ()
    counting: str = ""
    count_at: CountMoment | Literal[""] = ""
    seen: tuple[str, ...] = ()
    seen_loose: dict[str, int] = {}


_set = msgspec.structs.replace
_UNDO_DEPTH = 20


def at_moment(context: Context, now: datetime, idle: timedelta, badge_idle: timedelta) -> Context:
    """*context* as it still holds at *now*: what was idle too long is gone."""
    if context.badge and context.badge_at is not None and now - context.badge_at > badge_idle:
        ended = context.badge_at + badge_idle
        context = _set(context, badge="", badge_at=None, lapsed=context.badge, lapsed_at=ended)
    if context.at is not None and now - context.at > idle:
        context = _set(over(context), undoable=(), earlier=None)
    if context.vouched is not None and now - context.vouched.at > badge_idle:
        context = _set(context, vouched=None)
    timers = tuple(timer for timer in context.timers if now - timer.until <= idle)
    return _set(context, at=now, timers=timers)


def with_badge(context: Context, badge: str, now: datetime) -> Context:
    """Another person works here now; a patient or load in hand stays in hand."""
    return _set(context, badge=badge, badge_at=now, lapsed="", lapsed_at=None)


def signed_in(context: Context, person: str) -> Context:
    """*person* is signed in on the device that scans; who works there is the badge's to say.

    Whoever signed in since, or had lapsed themselves, need not say that they work on.
    """
    is_new = bool(context.signed) and context.signed != person
    context = _set(context, signed=person)
    return taken_up(context) if is_new or context.lapsed == person else context


def taken_up(context: Context) -> Context:
    """Whoever is signed in works on here; the badge that lapsed is forgotten."""
    return _set(context, lapsed="", lapsed_at=None)


def with_patient(context: Context, patient: str) -> Context:
    """A patient is in hand. Scans now tell what was used, until somebody starts a use."""
    if context.patient == patient:
        return more(context)
    earlier = None if context.patient else context.earlier
    return _set(over(context), mode="tell", patient=patient, earlier=earlier)


def whose(context: Context, item: str) -> Context:
    """The use in hand is finished: of *item* the next scan says whom it was used on."""
    waiting = tuple(dict.fromkeys((*context.no_patient, item)))
    return _set(context, item=item, refused=False, no_patient=waiting, asks="whose")


def nobodys(context: Context) -> Context:
    """What waited for its patient waits no longer."""
    return _set(context, no_patient=())


def more(context: Context) -> Context:
    """What waits for a patient, or is scanned next, belongs to the one who was in hand."""
    return _set(context, finished=False, no_patient=(), asks="")


def using(context: Context, use: str) -> Context:
    """The use in hand has a name, because something of it was written down."""
    return _set(context, use=use)


def noticed(context: Context, item: str, *, refused: bool = False) -> Context:
    """The thing scanned last is in hand: marks that follow are about it."""
    return _set(context, item=item, refused=refused)


def unknown(context: Context) -> Context:
    """What was scanned could not be read: what was scanned before it is meant no longer."""
    return _set(context, item="", refused=False)


def used(context: Context, item: str, covers: tuple[str, ...]) -> Context:
    """A thing, and what it was packed with, belongs to the use in hand."""
    every = tuple(dict.fromkeys((*context.used, item, *covers)))
    return _set(context, used=every, item=item, refused=False)


def eared(context: Context, ear: Ear) -> Context:
    """The ear this use is about."""
    return _set(context, ear=ear)


def asking(context: Context, asks: Asks, about: str = "") -> Context:
    """The next text is the answer to a question, *about* something where that is named."""
    return _set(context, asks=asks, to_check=(), asked_for=about, offered=())


def asked_of_competence(context: Context, task: str, who: str) -> Context:
    """The next text is why *who* does *task* all the same, the next badge is a supervisor's."""
    return _set(context, asks="competence", asked_for=task, asked_of=who)


def checks(context: Context) -> Context:
    """Ahead of a session: what is scanned now is checked."""
    return _set(_anew(context), mode="check")


def checking(context: Context, item: str, to_check: tuple[str, ...]) -> Context:
    """The next text says how *item* was found; nothing is asked once *to_check* is empty."""
    asks: Asks = "check" if to_check else ""
    return _set(context, item=item, refused=False, asks=asks, to_check=to_check)


def counting(context: Context, set_tag: str, moment: CountMoment) -> Context:
    """A set is counted from now on, piece by piece, until it is all there."""
    return _set(
        context, item=set_tag, counting=set_tag, count_at=moment, seen=(), seen_loose={}, asks=""
    )


def piece_seen(context: Context, item: str) -> Context:
    """A tagged piece of the set is there."""
    return _set(context, seen=tuple(dict.fromkeys((*context.seen, item))), asks="")


def loose_seen(context: Context, code: str) -> Context:
    """One more untagged piece of a type is there."""
    number = context.seen_loose.get(code, 0) + 1
    return _set(context, seen_loose={**context.seen_loose, code: number}, asks="")


def not_counting(context: Context) -> Context:
    """The count is over, or something else was scanned before it was done."""
    return _set(context, counting="", count_at="", seen=(), seen_loose={})


def vouched(context: Context, who: str, at: datetime, supervisor: str, reason: str) -> Context:
    """The question about *who* is answered, for as long as a badge counts."""
    before = context.vouched if context.vouched and context.vouched.who == who else None
    reasons = dict(before.reasons) if before else {}
    if reason:
        reasons[context.asked_for] = reason
    beside = supervisor or (before.supervisor if before else "")
    now = Vouched(who, at, beside, reasons)
    return _set(context, vouched=now, asks="", asked_for="", asked_of="")


def started(context: Context) -> Context:
    """From now on a scan asks first, and a yes is a use."""
    return _set(context, mode="use", finished=False)


def finished(context: Context) -> Context:
    """The patient has gone: what is scanned now asks for its patient."""
    return _set(context, mode="tell", finished=True)


def laying_up(context: Context) -> Context:
    """Before the list: a scan only asks."""
    return _set(_anew(context), mode="lay-up")


def stepping(context: Context, step: Step, passed: bool = True) -> Context:
    """Each thing scanned now went through *step*, with the lot that was scanned for it."""
    lots = {**context.lots, step: context.lot} if context.lot else context.lots
    return _set(_anew(context), mode="step", step=step, passed=passed, lot="", lots=lots)


def with_lot(context: Context, lot: str) -> Context:
    """What the step in hand is done with, until another lot; without a step, of the next one."""
    if context.mode == "step":
        return _set(context, lots={**context.lots, context.step: lot})
    return _set(context, lot=lot)


def lot_in_hand(context: Context) -> str:
    """The lot that the step in hand is done with, or that waits for a step; "" if none."""
    return context.lots.get(context.step, "") if context.mode == "step" else context.lot


def waiting(context: Context, item: str, until: datetime, act: str) -> Context:
    """The contact time of *item* runs; *act* started it."""
    others = touched(context, item).timers
    return _set(context, timers=(*others, Timer(item, until, act)))


def touched(context: Context, item: str) -> Context:
    """*item* waits no longer: something else was done to it."""
    return _set(context, timers=tuple(one for one in context.timers if one.item != item))


def storing(context: Context) -> Context:
    """Each thing scanned now is put away where the last place scanned says."""
    return _set(_anew(context), mode="store", place=context.place)


def packing(context: Context) -> Context:
    """The next pack scanned is made, then filled by what is scanned after it."""
    return _set(_anew(context), mode="pack")


def loading(context: Context, load: str) -> Context:
    """Each thing scanned now goes into *load*."""
    return _set(_anew(context), mode="load", load=load)


def taking_out(context: Context) -> Context:
    """The next thing scanned leaves the load in hand."""
    return _set(context, mode="take-out")


def at_place(context: Context, place: str) -> Context:
    """What is scanned now happens here, or goes here."""
    return _set(context, place=place)


def since(context: Context, at: datetime, *, begun_after: bool) -> Context:
    """What is told from here on happened at *at*. *begun_after*: the use in hand began later.

    What has happened is told, not asked about; and loads and packs are told when they happen.
    """
    if context.mode not in ("tell", "use", "step"):
        context = over(context)
    elif context.mode == "use":
        context = _set(context, mode="tell")
    if begun_after:
        context = _set(context, use="", used=(), ear="", finished=False, no_patient=())
    return _set(context, earlier=at, item="", refused=False, asks="")


def from_now(context: Context) -> Context:
    """What is told from here on happens now."""
    return _set(context, earlier=None, asks="")


def over(context: Context) -> Context:
    """Start over: only who works here, and where, stays, and what may still be taken back.

    What is wet stays wet; the time that is told of stays until somebody says “now”.
    """
    return Context(
        at=context.at,
        badge=context.badge,
        badge_at=context.badge_at,
        signed=context.signed,
        lapsed=context.lapsed,
        lapsed_at=context.lapsed_at,
        place=context.place,
        undoable=context.undoable,
        timers=context.timers,
        vouched=context.vouched,
        earlier=context.earlier,
    )


def _anew(context: Context) -> Context:
    """Something else begins; the lots stay in hand until others are scanned, or "start over"."""
    return _set(over(context), lot=context.lot, lots=context.lots)


def told(context: Context, act: str) -> Context:
    """*act* wrote something down here and may be taken back."""
    return _set(context, undoable=(*context.undoable, act)[-_UNDO_DEPTH:])


def offering(context: Context, acts: tuple[str, ...]) -> Context:
    """*acts* are named, the newest first: the next word takes them back, or leaves them."""
    return _set(asking(context, "undo"), offered=acts)


def untold(
    context: Context,
    act: str,
    gone: tuple[str, ...],
    was: Context | None = None,
    left: Context | None = None,
) -> Context:
    """*act* was taken back: what it brought in is in hand no longer, nor a load that it opened.

    *was* is what was in hand before it, *left* what it left in hand. What it changed for the
    patient in hand, and nothing changed since, is again as it was.
    """
    begun = context.use == act
    if was is not None and left is not None:
        context = _as_it_was(context, was, left)
    if context.load in gone:
        context = _set(context, load="", mode="")
    return _set(
        context,
        undoable=tuple(one for one in context.undoable if one != act),
        use="" if begun else context.use,
        used=() if begun else tuple(one for one in context.used if one not in gone),
        item="",
        asks="",
        offered=(),
        timers=tuple(one for one in context.timers if one.act != act),
    )


_GIVEN_BACK = (
    *("mode", "use", "ear", "used", "finished", "step", "passed", "load", "contents", "loose"),
    *("out_of", "by_hand", "counting", "count_at", "seen", "seen_loose"),
)


def _as_it_was(context: Context, was: Context, left: Context) -> Context:
    if not was.patient == left.patient == context.patient:
        return context
    return _set(
        context,
        **{
            name: getattr(was, name)
            for name in _GIVEN_BACK
            if getattr(context, name) == getattr(left, name)
        },
    )


def not_moved(context: Context, use: str, patient: str) -> Context:
    """The use in hand was not moved after all: it is of *patient*, and so is the next scan."""
    return _set(context, patient=patient) if context.use == use else context


def moved(context: Context, patient: str) -> Context:
    """The use in hand belongs to *patient*."""
    return _set(context, patient=patient, asks="")


def packed_with(context: Context, items: tuple[str, ...]) -> Context:
    """One more thing lies ready for the next pack."""
    every = tuple(dict.fromkeys((*context.contents, *items)))
    return _set(context, contents=every, item=items[0] if items else context.item)


def counted(context: Context, code: str, count: int | None = None) -> Context:
    """One more untagged instrument lies ready for the next pack, or exactly *count* of them."""
    before = {loose.type: loose.count for loose in context.loose}
    so_far = before.pop(code, 0)  # the one counted last stands last: a count typed next is its own
    before[code] = so_far + 1 if count is None else count
    loose = tuple(Loose(type=kind, count=number) for kind, number in before.items() if number)
    return _set(context, loose=loose, item="", asks="")


def out_of(context: Context, load: str) -> Context:
    """The untagged instruments that lie ready, and those of the next packs, came out of *load*."""
    return _set(context, out_of=load, item="")


def done_by_hand(context: Context, step: Step) -> Context:
    """*step* was done by hand to what lies ready untagged, and to what goes in the next packs."""
    return _set(context, by_hand=tuple(dict.fromkeys((*context.by_hand, step))), item="")


def sealed(context: Context, pack: str) -> Context:
    """The pack is closed; the next one starts empty, out of the same load."""
    return _set(context, contents=(), loose=(), item=pack)
