"""Somebody was hurt by an instrument: whom it may carry, at once; nobody cleans it now.

Which patients it may carry is the question of a look-back asked the other way round, and answered
by the same sweep: all that a thing carries since it was last made fit, through mixing too.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from equip import facts
from equip.desk.act import keep_back
from equip.desk.act.act import Act, alert
from equip.desk.act.answer import Answer, refused, remarks
from equip.desk.clinic import Clinic
from equip.desk.lookback import gate_words
from equip.facts import MayCarry, Told, micros, moment
from equip.rules import wording
from equip.rules.bench.transitions import Context
from equip.rules.fitness.standing import Standing
from equip.rules.lookback import carried as rules_carried
from equip.rules.lookback.reach import upstream
from equip.rules.lookback.sweep import Contact
from equip.scan import show_tag
from equip.store.fold.met import Contacts, clears
from equip.store.readings import item_rows, load_rows

FIRST_AID = (
    "Wash the wound with soap and running water; do not suck or scrub it. Cover it, then report "
    "it at once."
)
"""The usual first aid; common practice. Local policy comes first, and the screen says so."""
_NEXT = (
    "Your local policy comes first; occupational health decides what follows, so do not wait. "
    "Bag the instrument as it is; do not clean it."
)


@dataclass(frozen=True, slots=True)
class CarriedBy:
    """What a thing may carry, and all that happened since it was last made fit."""

    items: tuple[str, ...]
    carried: tuple[MayCarry, ...]
    not_known: tuple[str, ...]
    between: tuple[Contact, ...]


def hurt(act: Act, context: Context) -> tuple[Context, Answer]:
    """The instrument in hand hurt somebody; or an untagged one of the pack or load in hand."""
    tag = context.item or context.load
    if not tag:
        return context, refused(
            "Which instrument?",
            f"{FIRST_AID} Then scan it, or the pack or load it came from, and say “I was hurt”.",
        )
    found = may_carry(act.clinic, tag, act.at)
    act.tell(
        facts.Hurt,
        person=act.by,
        item=tag,
        sources=tuple(dict.fromkeys(one.patient for one in found.carried if one.patient)),
        carried=found.carried,
        not_known=found.not_known,
    )
    if not tag.startswith("L"):
        why = Told(code="hurt", says="somebody was hurt by it")
        keep_back.quarantine(act, tag, why, "bag-it")
    label = name(act, tag)
    alert(act, f"{act.house.person_name(act.by)} was hurt by {label}.")
    says = [f"{label[0].upper()}{label[1:]}.", *told(act.clinic, found, act.at)]
    way = _NEXT
    if tag.startswith("L"):
        way += " It has no tag, so mark the bag."
    return context, Answer(
        "warn",
        "Hurt",
        FIRST_AID,
        item="" if tag.startswith("L") else tag,
        reasons=remarks(says),
        next=way,
        sheet=tag,
    )


def name(act: Act, tag: str) -> str:
    """What hurt somebody, as people call it."""
    if tag.startswith("L"):
        return f"an untagged instrument of load {show_tag(tag)}"
    return act.label(act.standing(tag))


# --- whom it may carry ------------------------------------------------------------------------


def may_carry(clinic: Clinic, tag: str, at: datetime) -> CarriedBy:
    """Every earlier use that a thing may carry at *at*; of a pack or load, that any part may."""
    history = Contacts(clinic.store)
    standing = _parts(clinic, history, tag)
    items = tuple(one.item for one in standing)
    met = sorted(upstream(history, [(item, micros(at)) for item in items], clears))
    reached = {one.item for one in met}
    every = item_rows.standings(clinic.store, tuple(reached | set(items)))
    arrivals = {one.item: one.arrival for one in every}
    return CarriedBy(
        items=items,
        carried=tuple(_as_told(one) for one in rules_carried.carried(met, items)),
        not_known=tuple(rules_carried.not_known(met, items, arrivals)),
        between=tuple(met),
    )


def _parts(clinic: Clinic, history: Contacts, tag: str) -> list[Standing]:
    """What may have hurt: the thing, what a pack or set holds, all of a load or made out of it."""
    if tag.startswith("L"):
        load = load_rows.load_of(clinic.store, tag)
        inside = load.covers if load else ()
        tags = [*inside, *(made.item for made in history.out_of(tag))]
    else:
        standing = item_rows.standing_of(clinic.store, tag)
        tags = [tag, *(standing.members if standing else ())]
    every = item_rows.standings(clinic.store, tuple(dict.fromkeys(tags)))
    return [one for one in every if _carries(clinic, one)]


def _carries(clinic: Clinic, standing: Standing) -> bool:
    """A pump carries nothing; a set, or a pack of tagged things, carries what they carry."""
    kind = clinic.house.kind(standing.type)
    if kind.contact == "neither" or kind.sort == "set":
        return False
    return standing.made is None or bool(standing.loose)


def _as_told(carried: rules_carried.Carried) -> MayCarry:
    return MayCarry(
        use=carried.use,
        at=moment(carried.at),
        item=carried.item,
        patient=carried.patient,
        certainty=carried.certainty.word,  # type: ignore[arg-type]
        share=str(carried.share),
    )


# --- in words ---------------------------------------------------------------------------------


def told(clinic: Clinic, found: CarriedBy, at: datetime) -> list[str]:
    """What is known of it, a sentence each: the last time it was made fit, whom it may carry."""

    def when(moment: datetime) -> str:
        return wording.when(moment, at, clinic.house.zone)

    says = [_since(found, item, when) for item in found.items[:1]]
    if len(found.items) > 1:
        says = [f"Any of {len(found.items)} things may have been it: what each carries is listed."]
    says += [_carries_whom(one, when) for one in found.carried]
    says += [unknown(item) for item in found.not_known]
    if not found.items:
        says.append("By its type it touches no patient: nothing is carried by it.")
    elif not found.carried and not found.not_known:
        says.append("Nobody is recorded on it since then.")
    return says


def _since(found: CarriedBy, item: str, when: Callable[[datetime], str]) -> str:
    gate = rules_carried.last_gate(found.between, item)
    if gate is None:
        return "No effective decontamination of it is recorded."
    return f"Last effective decontamination: {gate_words.name(gate)}, {when(moment(gate.at))}."


_SURE = {
    "certain": "nothing recorded lies between",
    "no-proof": "no proof that what was done between did anything",
    "possible": "possible, for it lay mixed with others",
}


def _carries_whom(carried: MayCarry, when: Callable[[datetime], str]) -> str:
    sure = _SURE[carried.certainty]
    if not carried.patient:
        return (
            f"It came in from outside {when(carried.at)}: whom it met there is not known; {sure}."
        )
    share = Fraction(carried.share)
    part = "" if share == 1 else f", {share_says(share)}"
    return f"It may carry patient {carried.patient}, used {when(carried.at)}: {sure}{part}."


def share_says(share: Fraction) -> str:
    """What part of the untagged contents may carry it."""
    return f"{share.numerator} of {share.denominator} of what lay together"


def unknown(item: str) -> str:
    """That whom a thing met before is not known."""
    return f"Whom {show_tag(item)} met before this book knew it is not known."
