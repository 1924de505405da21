"""Whether a thing may be used, computed each time it is asked and never stored.

`why_not_use` gives every reason against it, not only the first: whoever holds the thing sees
them all. `AUTHORITY` is the one published table of what nobody can override and what a named
person with the right may, with a reason.
"""

from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from equip.facts import ItemType
from equip.rules.fitness.clocks import why_wait
from equip.rules.fitness.counting import searched_for
from equip.rules.fitness.day_gate import why_not_today
from equip.rules.fitness.gates import (
    Asking,
    Member,
    declared_lapse,
    gate_step,
    lapse,
    missing_after,
    missing_steps,
    proof,
    proof_inside,
    skipped_steps,
    unproven_steps,
)
from equip.rules.fitness.held import to_do
from equip.rules.fitness.standing import Declared, Done, Standing
from equip.rules.fitness.stopping import enough, meets_patients, why_too_little
from equip.rules.wording import several, span
from equip.scan import show_tag

Fault = Literal["item", "pack", "shelf", "upkeep", "session"]

_NOBODY, _NAMED = False, True

# code: (whose fault it is, whether a named authority may override it). Only a fault of the item
# keeps it back after it was used all the same.
AUTHORITY: dict[str, tuple[Fault, bool]] = {
    "retired": ("item", _NOBODY),
    "sent-out": ("item", _NOBODY),
    "quarantined": ("item", _NOBODY),
    "in-look-back": ("item", _NOBODY),
    "piece-missing": ("item", _NOBODY),
    "single-use-again": ("item", _NOBODY),
    "other-patient": ("item", _NOBODY),
    "which-patient": ("session", _NOBODY),
    "waterline-due": ("item", _NOBODY),
    "never-processed": ("item", _NOBODY),
    "soiled": ("item", _NOBODY),
    "load-not-finished": ("item", _NOBODY),
    "load-not-released": ("item", _NOBODY),
    "load-failed": ("item", _NOBODY),
    "load-undecided": ("item", _NOBODY),
    "load-refused": ("item", _NOBODY),
    "still-wet": ("item", _NOBODY),
    "step-refused": ("item", _NOBODY),
    "stops-too-little": ("item", _NOBODY),
    "nothing-effective": ("item", _NOBODY),
    "step-missing": ("item", _NOBODY),
    "step-unproven": ("item", _NOBODY),
    "inspection-failed": ("item", _NOBODY),
    "inspection-due": ("item", _NAMED),
    "use-limit": ("item", _NAMED),
    "cycle-limit": ("item", _NAMED),
    "shelf-life-over": ("shelf", _NAMED),
    "pack-spoilt": ("pack", _NOBODY),
    "pack-opened": ("pack", _NOBODY),
    "in-a-pack": ("pack", _NOBODY),
    "set-incomplete": ("pack", _NAMED),
    "service-overdue": ("upkeep", _NAMED),
    "check-missing": ("session", _NAMED),
    "check-failed": ("session", _NOBODY),
    "machine-unchecked": ("session", _NAMED),
    "machine-failed": ("session", _NOBODY),
    "machine-not-fit": ("session", _NAMED),
    "machine-not-to-run": ("session", _NOBODY),
}


@dataclass(frozen=True, slots=True)
class Why:
    """One reason against using a thing."""

    code: str
    says: str

    @property
    def fault(self) -> Fault:
        return AUTHORITY[self.code][0]

    @property
    def overridable(self) -> bool:
        return AUTHORITY[self.code][1]


def why_not_use(
    standing: Standing, kind: ItemType, asking: Asking, members: Sequence[Member] = ()
) -> list[Why]:
    """Every reason why this thing may not be used now, on this patient; empty means yes.

    *members* are what a pack or a set holds. A thing already told for the use in hand (its pack
    was opened for it) is asked nothing more.
    """
    reasons = _whereabouts(standing) + _held(standing)
    reasons += [Why("piece-missing", says) for says in searched_for(standing, members, asking.when)]
    if told_already(standing, asking):
        return reasons
    reasons += _reuse(standing, kind, asking)
    if kind.sort == "set" and not standing.made:
        empty = Why("set-incomplete", "Nothing is recorded as belonging to this set.")
        inside = _set_reasons(members, asking) if members else [empty]
        return reasons + _packing(standing, asking) + inside
    emptied = standing.opened is not None and not standing.loose
    if not _used_up(standing, kind) and not emptied:
        reasons += _decontamination(standing, kind, asking, members)
    reasons += _inspection(standing, asking)
    reasons += _limits(standing, kind)
    reasons += _packing(standing, asking)
    if standing.opened is not None:
        return reasons + _set_reasons(members, asking)
    return reasons + _contents(standing, members, asking, {why.code for why in reasons})


def told_already(standing: Standing, asking: Asking) -> bool:
    """Of the use in hand already; stopped since, it is asked anew while it may still be used."""
    soiling = standing.soiling
    if not asking.use or soiling is None or soiling.use != asking.use:
        return False
    return asking.telling or not standing.stopped


def _skipped(step: str) -> str:
    return f"Nobody recorded the step “{step}” since it was last used."


def service_overdue(duty: str, since: date) -> str:
    """The sentence about a duty that grounds its thing."""
    return f"{duty.capitalize()} has been due since {since}."


def item_at_fault(reasons: Iterable[Why]) -> list[Why]:
    """The reasons that lie in the thing itself and keep it back once it was used all the same."""
    return [why for why in reasons if why.fault == "item"]


# --- the reasons, family by family -----------------------------------------------------------


def _whereabouts(standing: Standing) -> list[Why]:
    if standing.where == "retired":
        return [Why("retired", "It was retired and must not be used any more.")]
    if standing.where == "sent out":
        return [Why("sent-out", "It is recorded as sent out and has not been received back.")]
    return []


def _held(standing: Standing) -> list[Why]:
    """Every quarantine of it, and the look-back that holds it in doubt, said once."""
    do = to_do(standing.quarantines)
    held = [
        Why("quarantined", f"In quarantine ({do}): {one.why.says.rstrip('.')}.")
        for one in standing.quarantines
    ]
    if standing.in_case and all(one.why.code != "in-look-back" for one in standing.quarantines):
        says = f"Look-back {standing.in_case} holds it in doubt: only its decision lets it go."
        held.append(Why("in-look-back", says))
    return held


def _used_up(standing: Standing, kind: ItemType) -> bool:
    return kind.reuse == "single-use" and standing.soiling is not None


def _reuse(standing: Standing, kind: ItemType, asking: Asking) -> list[Why]:
    if _used_up(standing, kind):
        return [Why("single-use-again", "It is for one use only and has been used or opened.")]
    if kind.reuse == "single-patient" and standing.owner:
        if not asking.patient:
            says = "It belongs to one patient only: scan the patient first."
            return [Why("which-patient", says)]
        if asking.patient != standing.owner:
            return [Why("other-patient", "It belongs to one patient only, and not to this one.")]
    return []


def _decontamination(
    standing: Standing, kind: ItemType, asking: Asking, members: Sequence[Member]
) -> list[Why]:
    if gate_step(kind) is None:
        return [_nothing_effective(kind)] if _passes_on(standing, kind) else []
    if kind.holds == "day":
        return [Why(why.code, why.says) for why in why_not_today(standing, kind, asking)]
    if (waits := why_wait(standing, asking.at, asking.zone)) is not None:
        return [Why(waits.code, waits.says)]
    done = proof(standing, kind, asking.at)
    if done is None and not any(one.load for one in standing.done):
        done = proof_inside(standing, members)
    if done is None or overtaken(standing, kind, done):
        return _not_proven(standing, kind, asking)
    reasons = _steps_ahead(standing, kind, done)
    reasons += [Why("step-missing", _skipped(step)) for step in missing_after(standing, kind, done)]
    lapses = lapse(standing, kind, done, asking)
    if lapses is not None and asking.at >= lapses:
        over = span((asking.at - lapses).total_seconds())
        says = f"Processed {asking.when(done.at)}; its time ran out {over} ago."
        reasons.append(Why("shelf-life-over", says))
    return reasons


def _passes_on(standing: Standing, kind: ItemType) -> bool:
    """Whether it goes from one patient to another, or came from elsewhere, with nothing between."""
    outside = standing.soiling is not None and standing.soiling.how == "outside"
    return meets_patients(kind) or (kind.reuse == "single-patient" and outside)


def _nothing_effective(kind: ItemType) -> Why:
    says = (
        f"Nothing on the route of {kind.name.lower()} is an effective decontamination: "
        "mend its type in Setup."
    )
    return Why("nothing-effective", says)


def _steps_ahead(standing: Standing, kind: ItemType, done: Done) -> list[Why]:
    """Required steps before *done* that nobody recorded, or that do not count or not yet."""
    unproven = unproven_steps(standing, kind, done.at)
    skipped = skipped_steps(standing, kind, done.at)
    reasons = [Why("step-missing", _skipped(step)) for step in skipped]
    reasons += [Why("step-unproven", _before_that(one, kind)) for one in unproven]
    if standing.unsaid:
        reasons.append(Why("step-missing", _unsaid(standing.unsaid)))
    if standing.contents_wait:
        reasons.append(Why("step-unproven", standing.contents_wait))
    return reasons


def waits_ahead(standing: Standing, kind: ItemType, at: datetime) -> list[str]:
    """What was done by *at* for a required step and does not count, or not yet: what is done next
    rests on nothing until it does."""
    return [_earlier_step(one, kind) for one in unproven_steps(standing, kind, at)]


def _unsaid(steps: Sequence[str]) -> str:
    named = several([f"“{step}”" for step in steps])
    return (
        f"Nobody recorded {named} of its untagged contents: open it, clean them, pack them anew,"
        " and scan the machine that washed them."
    )


def _before_that(done: Done, kind: ItemType) -> str:
    says = _earlier_step(done, kind)
    known = done.counts or done.void or not done.load
    return f"Before its last decontamination: {says}" if known else says


def _earlier_step(done: Done, kind: ItemType) -> str:
    """Why a step that comes before its last decontamination does not count, or not yet."""
    if done.counts:
        least = next(one for one in kind.route if one.step in done.steps and not enough(one, done))
        return why_too_little(least, done)
    if not done.load or done.void:
        return _why_it_does_not_count(done).says
    load = show_tag(done.load)
    steps = several([f"“{step}”" for step in done.steps])
    its = "Its step" if len(done.steps) == 1 else "Its steps"
    wait = "waits" if len(done.steps) == 1 else "wait"
    if done.verdict is None:
        return f"{its} {steps} {wait} for the log of load {load}: hand in the log."
    return f"{its} {steps} {wait} for the release of load {load}."


def overtaken(standing: Standing, kind: ItemType, done: Done) -> bool:
    """Whether a later load decides: one it is in now, or one that does not count (yet)."""
    if standing.load and standing.load_state in ("filling", "running"):
        return True
    gate = gate_step(kind)
    if done not in standing.done:
        return False
    later = standing.done[standing.done.index(done) + 1 :]
    return any(one.load and gate and gate.step in one.steps and not one.counts for one in later)


def _not_proven(standing: Standing, kind: ItemType, asking: Asking) -> list[Why]:
    """Why no effective decontamination counts, most telling first."""
    gate = gate_step(kind)
    tried = [
        done
        for done in standing.done
        if gate and gate.step in done.steps
        if done.load or done.refused or not enough(gate, done)
    ]
    if standing.load and standing.load_state in ("filling", "running"):
        says = f"It is in load {show_tag(standing.load)}, which has not finished."
        return [Why("load-not-finished", says)]
    if tried and gate and tried[-1].counts and not enough(gate, tried[-1]):
        return [Why("stops-too-little", why_too_little(gate, tried[-1]))]
    if tried and gate and tried[-1].counts:
        says = f"It was washed anew after load {show_tag(tried[-1].load)}; now {gate.step} it."
        return [Why("soiled", says)]
    if tried:
        return [_why_it_does_not_count(tried[-1])]
    if standing.soiling is not None:
        return [Why("soiled", _soiled_says(standing, kind, asking))]
    if standing.declared is not None and standing.arrival == "go-live":
        return _declared_over(standing.declared, kind, asking)
    return [Why("never-processed", "It is new here and has not been through its route yet.")]


def _declared_over(declared: Declared, kind: ItemType, asking: Asking) -> list[Why]:
    """What was declared fit on going live ages as what went through a load of ours does."""
    lapses = declared_lapse(declared, kind, asking)
    if lapses is None or asking.at < lapses:
        return []
    over = span((asking.at - lapses).total_seconds())
    day = f", decontaminated on {declared.day}" if declared.day else ""
    says = f"Declared fit on going live{day}; its time ran out {over} ago."
    return [Why("shelf-life-over", says)]


def _why_it_does_not_count(done: Done) -> Why:
    if not done.load:
        step = done.steps[-1]
        return Why("step-refused", f"Its step “{step}” does not count: {done.refused}.")
    load = show_tag(done.load)
    if done.refused:
        return Why("load-refused", f"Load {load} does not count for it: {done.refused}.")
    if done.verdict == "fail":
        return Why("load-failed", f"Its last load {load} failed.")
    if done.verdict == "undecided":
        return Why(
            "load-undecided",
            f"Its last load {load} cannot be judged: it is treated as not passed.",
        )
    return Why("load-not-released", f"Its last load {load} has not been released.")


_HOW = {
    "used": "It was used on a patient",
    "opened": "It was opened for a patient",
    "unused": "It was opened for a patient and not used",
    "outside": "It came in from outside",
    "dropped": "It was dropped",
    "use-taken-back": "It was opened or used, and that was taken back",
    "found": "A missing piece of it was found",
}


def _soiled_says(standing: Standing, kind: ItemType, asking: Asking) -> str:
    soiling = standing.soiling
    assert soiling is not None  # noqa: S101 — only called for a soiled item
    what = _HOW.get(soiling.how, f"It was marked “{_mark(soiling.how)}”")
    if any(kept.how == "bag-it" for kept in standing.quarantines):
        return f"{what} ({asking.when(soiling.at)})."
    gate = gate_step(kind)
    open_steps = missing_steps(standing, kind, asking.at)
    if gate is not None:
        open_steps = [*open_steps, gate.step]
    return f"{what} ({asking.when(soiling.at)}); still to do: {several(open_steps)}."


def _mark(what: str) -> str:
    return what.replace("-", " ")


def _inspection(standing: Standing, asking: Asking) -> list[Why]:
    if standing.failed_inspection is not None:
        says = f"It failed inspection ({asking.when(standing.failed_inspection)})."
        return [Why("inspection-failed", says)]
    if standing.inspect:
        says = f"Nobody has inspected it since it was marked “{_mark(standing.inspect)}”."
        return [Why("inspection-due", says)]
    return []


def _limits(standing: Standing, kind: ItemType) -> list[Why]:
    reasons = []
    if kind.use_limit is not None and standing.uses >= kind.use_limit:
        says = f"It has been used {standing.uses} times; its maker allows {kind.use_limit}."
        reasons.append(Why("use-limit", says))
    if kind.cycle_limit is not None and standing.cycles >= kind.cycle_limit:
        says = f"It has been through {standing.cycles} cycles; its maker allows {kind.cycle_limit}."
        reasons.append(Why("cycle-limit", says))
    return reasons


def _packing(standing: Standing, asking: Asking) -> list[Why]:
    reasons = []
    if standing.spoilt:
        reasons.append(
            Why("pack-spoilt", f"The pack is {standing.spoilt}: unpack and do it again.")
        )
    if standing.opened is not None:
        says = f"The pack was opened {asking.when(standing.opened)}."
        reasons.append(Why("pack-opened", says))
    if standing.pack:
        says = f"It is sealed in pack {show_tag(standing.pack)}: scan the pack."
        reasons.append(Why("in-a-pack", says))
    return reasons


def _contents(
    pack: Standing, members: Sequence[Member], asking: Asking, known: Set[str]
) -> list[Why]:
    """What a pack's contents say against it; how long they keep is the pack's own question.

    What the pack says of itself (*known*) is not said again of what it holds.
    """
    return [
        Why(why.code, f"Inside, {kind.name.lower()} {show_tag(standing.item)}: {why.says}")
        for standing, kind in members
        for why in _inside(pack, standing, kind, asking, known)
    ]


def _inside(
    pack: Standing, standing: Standing, kind: ItemType, asking: Asking, known: Set[str]
) -> list[Why]:
    left = pack.made is not None and standing.pack != pack.item and "pack-opened" not in known
    return [
        *([Why("pack-opened", "It is not in this pack any more.")] if left else []),
        *_whereabouts(standing),
        *_held(standing),
        *_reuse(standing, kind, asking),
        *_fit_inside(standing, kind, asking, known),
        *_inspection(standing, asking),
        *_limits(standing, kind),
    ]


def _fit_inside(standing: Standing, kind: ItemType, asking: Asking, known: Set[str]) -> list[Why]:
    """What one of the contents lacks by its own route, whatever its pack went through."""
    if kind.sort == "set" or _used_up(standing, kind):
        return []
    if gate_step(kind) is None:
        return [_nothing_effective(kind)] if _passes_on(standing, kind) else []
    done = proof(standing, kind, asking.at)
    if done is not None:
        return _steps_ahead(standing, kind, done)
    return [why for why in _not_proven(standing, kind, asking) if why.code not in known]


def _set_reasons(members: Sequence[Member], asking: Asking) -> list[Why]:
    """What each thing of a set, or of a pack that was opened, says against itself."""
    reasons = []
    for standing, kind in members:
        if kind.sort == "set":
            continue  # a set in a pack: its things are in the pack as well
        reasons += [
            Why(why.code, f"{kind.name} {show_tag(standing.item)}: {why.says}")
            for why in why_not_use(standing, kind, asking)
            if why.code != "in-a-pack"
        ]
    return reasons
