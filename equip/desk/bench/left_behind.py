"""What an act that is taken back leaves: what it kept back goes, what was opened stays opened."""

from datetime import datetime
from typing import Literal

from equip import facts
from equip.desk.act.act import Act
from equip.desk.bench.undo_list import Undoable
from equip.rules.fitness.standing import Standing
from equip.scan import show_tag
from equip.store.ledger.about import told_about, withdrawn

_STANDS = ("hurt", "indicator-not-turned")
"""Codes of reasons to keep back that no undo lifts: a person looks at what they tell of."""


def cleared(act: Act, one: Undoable, taken: set[str], marked: set[str]) -> list[str]:
    """Whatever *one* kept back is let go, what is open is marked so; what people must know of it.

    *taken* are all the acts that are taken back now, *marked* what is marked for them already.
    """
    says = []
    for fact in one.told:
        match fact:
            case facts.Quarantined():
                says.append(_kept_back(act, fact, taken))
            case facts.PieceMissing():
                says.append("The search stands: if nothing is missing, say “found”.")
            case facts.Used():
                says.append(_stays_used(act, fact, marked))
            case facts.IndicatorNotTurned():
                says.append(_stays_open(act, act.standing(fact.pack), fact.at, marked))
            case facts.LotOpened():
                says.append(f"Lot {show_tag(fact.lot)} stays opened.")
            case _:
                pass
    return list(filter(None, says))


# --- what is let go ---------------------------------------------------------------------------


def _kept_back(act: Act, fact: facts.Quarantined, taken: set[str]) -> str:
    """Its quarantine goes with it, unless somebody lifted it, or something else asks for it."""
    standing = act.standing(fact.item)
    if not any((kept.at, kept.why) == (fact.at, fact.why) for kept in standing.quarantines):
        return ""
    if fact.why.code in _STANDS or _failed_again(act, fact, taken):
        return f"Its quarantine stands: {fact.why.says}"
    act.tell(
        facts.QuarantineLifted,
        item=fact.item,
        reason="the act that caused it was taken back",
        why=fact.why,
        since=fact.at,
        at=max(act.at, fact.at),
    )
    return f"{act.label(standing)}: the quarantine of that act is lifted with it."


def _failed_again(act: Act, kept: facts.Quarantined, taken: set[str]) -> bool:
    """Whether another check failed while this kept the item back, and so kept it back no more."""
    if kept.why.code != "check-failed":
        return False
    failed = {
        entry.fact.act
        for entry in told_about(act.store, kept.item)
        if isinstance(entry.fact, facts.Checked)
        if not entry.fact.passed and entry.fact.at >= kept.at
    }
    return bool(failed - taken - withdrawn(act.store, failed))


# --- what stays opened ------------------------------------------------------------------------


def _stays_used(act: Act, used: facts.Used, marked: set[str]) -> str:
    """What was unwrapped or used stays so although its use is withdrawn: it meets nobody before it
    has gone round again. What was made fit since is left as it is."""
    whole = [act.standing(tag) for tag in dict.fromkeys((used.item, *used.covers))]
    pack = next((one for one in whole if one.made is not None), None)
    chosen = pack or whole[0]
    label = act.label(chosen)
    if chosen.item in marked:
        return ""
    if chosen.soiling is None or chosen.soiling.use != used.use:
        return f"{label} has gone on since: it is left as it stands."
    if pack is not None:
        return _stays_open(act, pack, used.at, marked)
    if act.kind(chosen).holds == "day":
        return ""  # its patients share it: a use never ended its fitness for the day
    _mark(act, chosen, "soil", used.at, marked)
    if act.kind(chosen).reuse == "single-use":
        return f"{label} stays used: throw it away."
    return f"{label} stays used: send it round again."


def _stays_open(act: Act, pack: Standing, at: datetime, marked: set[str]) -> str:
    """A pouch that was opened does not close because a scan was taken back."""
    if pack.item in marked:
        return ""
    _mark(act, pack, "unpack", at, marked)
    return f"{act.label(pack)} stays opened: pack its contents anew."


def _mark(
    act: Act,
    standing: Standing,
    effect: Literal["soil", "unpack"],
    at: datetime,
    marked: set[str],
) -> None:
    """It is open from *at* on: cleaning that was done since counts."""
    act.tell(
        facts.Marked,
        at=at,
        item=standing.item,
        what="use-taken-back",
        effect=effect,
        covers=standing.members,
    )
    marked.update((standing.item, *standing.members))
