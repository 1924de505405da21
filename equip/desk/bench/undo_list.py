"""What may be taken back at a bench: its last acts, the newest first, each in words.

It keeps to the patient in hand. Acts of somebody else are on the list only where that was said.
"""

import re
from collections.abc import Collection
from dataclasses import dataclass

import msgspec

from equip import facts
from equip.desk.act.act import Act
from equip.desk.act.answer import Answer, refused
from equip.facts import Fact
from equip.rules.bench.transitions import Context
from equip.rules.fitness.standing import settled
from equip.rules.logbook.lines import tell
from equip.rules.logbook.names import Names
from equip.rules.wording import when
from equip.scan import show_tag
from equip.store.ledger import ledger
from equip.store.ledger.about import told_about
from equip.store.ledger.ledger import Entry
from equip.store.readings import act_rows
from equip.store.readings.act_rows import ActRow

_MOST = 6
"""As many acts stand on the list at once; the next ones come once these are taken back."""


@dataclass(frozen=True, slots=True)
class Undoable:
    """An act of this bench: what it wrote down, what it left in hand, its place in the stream."""

    act: str
    seq: int
    row: ActRow
    left: Context
    entries: tuple[Entry, ...]

    @property
    def told(self) -> tuple[Fact, ...]:
        return tuple(entry.fact for entry in self.entries)

    @property
    def by(self) -> str:
        """Whose act it is."""
        return self.entries[0].fact.by


_context_from = msgspec.json.Decoder(Context).decode


def undoable(act: Act, one: str) -> Undoable | None:
    """The act *one* with all that it wrote down; None if it wrote nothing."""
    row, span = act_rows.act_of(act.store, one), act_rows.act_span(act.store, one)
    if row is None or span is None:
        return None
    entries = tuple(ledger.entries(act.store, *span))
    return Undoable(one, row.seq, row, _context_from(row.context), entries)


def in_hand_before(act: Act, one: Undoable) -> Context:
    """What was in hand before it."""
    row = act_rows.act_before(act.store, one.row)
    return _context_from(row.context) if row is not None and row.context else Context()


def listed(act: Act, context: Context, *, everybody: bool) -> list[Undoable]:
    """What may be taken back now, the newest first: of the patient in hand, or of *everybody*."""
    found: list[Undoable] = []
    for one in reversed(context.undoable):
        told = undoable(act, one)
        if told is not None and (everybody or _in_hand(context, told)):
            found.append(told)
        if len(found) == _MOST:
            break
    return found


def _in_hand(context: Context, one: Undoable) -> bool:
    """Whether it is of the patient in hand, by now; of nobody, where nobody is in hand."""
    return one.left.patient == context.patient or (
        context.use != "" and one.left.use == context.use
    )


def why_it_stays(act: Act, one: Undoable, taken: Collection[str]) -> Answer | None:
    """Why it cannot be taken back once the acts *taken* are; None if it can."""
    load = _gone_on(act, one, taken)
    if not load:
        return None
    return refused(
        f"Load {show_tag(load)} has gone on since: that act stays.",
        "Take out what does not belong in it, or end it and reject it.",
    )


# --- in words ---------------------------------------------------------------------------------

_BESIDE = (
    facts.UseBegun,
    facts.Quarantined,
    facts.ChecksOver,
    facts.LotOpened,
    facts.Overridden,
)
"""What an act tells beside what it is about."""

_TAG = re.compile(r"\b[EDPSLT][0-9]{8}[0-9A-Z]\b")


def in_words(act: Act, one: Undoable) -> str:
    """What, on whom, when and by whom; patients by their tokens."""
    names = Names(kind=lambda code: act.house.kind(code).name, place=act.house.place_name)
    main = [fact for fact in one.told if not isinstance(fact, _BESIDE)] or list(one.told[:1])
    says = " ".join(dict.fromkeys(tell(_bare(fact), names) for fact in main))
    at = when(one.told[0].at, act.now, act.house.zone)
    return f"{at}, {act.house.person_name(one.by)}: {_TAG.sub(lambda t: _called(act, t[0]), says)}"


def _bare(fact: Fact) -> Fact:
    """A use without the reasons that stood against it: which use it was is said by less."""
    if not isinstance(fact, facts.Used):
        return fact
    return msgspec.structs.replace(fact, reasons=(), lapses=(), supervisor="")


def _called(act: Act, tag: str) -> str:
    return show_tag(tag) if act.row(tag) is None else act.label(act.standing(tag))


# --- loads that went on -----------------------------------------------------------------------

_CARRIES_A_LOAD_ON = (
    facts.LotPut,
    facts.SporeTestPut,
    facts.LoadStarted,
    facts.LoadEnded,
    facts.EvidenceConfirmed,
    facts.LoadJudged,
    facts.StagesCorrected,
    facts.IndicatorRead,
    facts.LoadReleased,
    facts.LoadRejected,
)


def _gone_on(act: Act, one: Undoable, taken: Collection[str]) -> str:
    """A load whose opening, start or end this is and that another act has carried on since.

    Without it what was told of the load later would hang in the air: things in a load of no
    machine.
    """
    steps = facts.LoadOpened | facts.LoadStarted | facts.LoadEnded
    for load in dict.fromkeys(fact.load for fact in one.told if isinstance(fact, steps)):
        told = [entry for entry in told_about(act.store, load) if entry.fact.act not in taken]
        last, inside = one.entries[-1], set[str]()
        for index, fact in settled([entry.fact for entry in told]):
            if (told[index].site, told[index].position) <= (last.site, last.position):
                continue
            if isinstance(fact, facts.LoadAdded):
                inside.add(fact.item)
            elif isinstance(fact, facts.LoadTakenOut):
                inside.discard(fact.item)
            elif isinstance(fact, _CARRIES_A_LOAD_ON):
                return load
        if inside:
            return load
    return ""
