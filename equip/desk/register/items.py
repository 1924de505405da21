"""The register: types, things, people, places, sets, and how a thing arrives and leaves."""

import re
import tomllib
from collections.abc import Sequence
from datetime import date
from importlib import resources
from typing import Literal

import msgspec

from equip import facts, rulebook
from equip.desk.act import keep_back
from equip.desk.act.act import Act, Refused
from equip.desk.act.rights import need
from equip.desk.register import process_checks
from equip.facts import Arrival, How, ItemType, micros
from equip.rulebook import Override
from equip.rules.fitness.counting import contents_of
from equip.rules.fitness.standing import Kept, Standing
from equip.rules.fitness.stopping import why_no_type
from equip.rules.upkeep.reminders import check_rule
from equip.scan import FIRST_TYPE_CARD, next_tag, show_tag
from equip.store.database import Store
from equip.store.kept import counters
from equip.store.readings import item_rows

ARRIVALS: dict[Arrival, str] = {
    "factory-new": "new from its maker",
    "loaned": "on loan from outside",
    "repaired": "back from repair",
    "second-hand": "second-hand",
    "go-live": "taken over on going live",
}
RIGHTS = {
    "release": "release or reject loads, and what they wipe",
    "wipe": "release what they wipe, by its timed step",
    "override": "set a refusal aside, with a reason",
    "lift": "lift a quarantine, or give a missing piece up as lost",
    "declare": "declare items fit that are taken over on going live",
    "test": "record and sign the periodic tests of machines",
    "lots": "enter lots, and take them out of use",
    "retire": "retire items",
    "undo": "take back what somebody else wrote down",
}
ROLES = ("nurse", "manager", "auditor")
_CODE = re.compile(r"[a-z][a-z0-9-]{1,39}")
_LETTERS = {"instrument": "E", "machine": "D", "set": "S"}


def starter_types() -> list[ItemType]:
    """The types a new book begins with."""
    text = resources.files("equip.desk.register").joinpath("starter.toml").read_text("utf-8")
    return msgspec.convert(tomllib.loads(text)["type"], list[ItemType])


def open_site(act: Act, name: str, zone: str, book: str) -> None:
    """A new book: the site, and the types it begins with."""
    act.tell(facts.SiteOpened, site=act.house.site, name=name, zone=zone, book=book)
    first = rulebook.load(book).on(act.house.today(act.at)).text("washer.usual-programme")
    for kind in starter_types():
        define_type(act, with_first(kind, first))


def with_first(kind: ItemType, programme: str) -> ItemType:
    """The type with *programme* ahead of its others: it is taken where nobody chooses."""
    if kind.process is None:
        return kind
    offered = sorted(kind.process.programmes, key=lambda one: one.judged_by != programme)
    process = msgspec.structs.replace(kind.process, programmes=tuple(offered))
    return msgspec.structs.replace(kind, process=process)


def define_type(act: Act, kind: ItemType) -> ItemType:
    """A new type or a change of one. An untagged type gets the next card of its own."""
    if not _CODE.fullmatch(kind.code) or not kind.name.strip():
        raise Refused(
            f"A type needs a name and a short code of small letters, digits and hyphens; "
            f"“{kind.code}” was read."
        )
    if reasons := why_no_type(kind):
        raise Refused(" ".join(reasons))
    process_checks.check(act, kind)
    _served(act, kind)
    _for_the_day(kind)
    if not kind.tagged and not kind.card:
        cards = [int(one.card[1:9]) for one in act.house.types.values() if one.card]
        card = next_tag("C", max([FIRST_TYPE_CARD - 1, *cards]))
        kind = msgspec.structs.replace(kind, card=card)
    act.tell(facts.TypeDefined, type=kind)
    return kind


def _served(act: Act, kind: ItemType) -> None:
    """Only an instrument is used with a machine, and only with one that the book knows."""
    served = [one.name for one in act.house.types.values() if one.served_by == kind.code]
    if served and kind.sort != "machine":
        raise Refused(f"{served[0]} is used with {kind.name}, so that stays a machine.")
    if not kind.served_by:
        return
    if kind.sort != "instrument":
        raise Refused(f"{kind.name} is a {kind.sort}: only an instrument is used with a machine.")
    served_by = act.house.types.get(kind.served_by)
    if served_by is not None and served_by.sort != "machine":
        raise Refused(f"{served_by.name} is no machine: choose the machine it is used with.")


def _for_the_day(kind: ItemType) -> None:
    """Only what is no instrument is shared by the patients of a day, and only by a gate."""
    if kind.holds != "day":
        return
    if kind.sort != "machine" or kind.contact == "neither":
        raise Refused(
            f"{kind.name} is no machine that touches patients or sends water or air into them: "
            "what is done to it holds until it is used."
        )
    if not any(step.stops for step in kind.route):
        raise Refused(
            f"{kind.name} has no effective decontamination on its route that could hold for a day."
        )


def add_item(
    act: Act,
    kind: ItemType,
    arrival: Arrival,
    *,
    tag: str = "",
    aliases: Sequence[str] = (),
    decontaminated: date | None = None,
    sealed: bool = False,
    **told: str,
) -> str:
    """Put an item on the register; its tag, given here unless it carries one already.

    *told* are the plain fields of `ItemAdded`, such as its name. Taken over on going live, it is
    declared fit by whoever adds it, by name, who needs the right: *decontaminated* on that day, and
    *sealed* since. From then on it ages.
    """
    if arrival == "go-live":
        _may_declare(act, decontaminated)
    elif decontaminated is not None or sealed:
        raise Refused(only_taken_over(arrival))
    if not kind.tagged:
        raise Refused(no_tag(kind))
    if tag:
        check_tag(act.store, kind, tag)
    for alias in aliases:
        if (known := item_rows.aliased(act.store, alias)) is not None:
            raise Refused(f"“{alias}” is the old name of {show_tag(known)} already.")
    if tag:
        counters.taken(act.store, tag)
    else:
        tag = counters.take(act.store, _LETTERS[kind.sort])
    act.tell(
        facts.ItemAdded,
        item=tag,
        type=kind.code,
        arrival=arrival,
        aliases=tuple(aliases),
        declared_by=act.by if arrival == "go-live" else "",
        decontaminated=decontaminated,
        sealed=sealed,
        **told,
    )
    return tag


def _may_declare(act: Act, decontaminated: date | None) -> None:
    need(act, "declare", "declare an item fit; else it comes in new and goes through its route")
    today = act.house.today(act.now)
    if decontaminated is not None and decontaminated > today:
        raise Refused(f"It was decontaminated on {decontaminated}, and that day has not come yet.")


def only_taken_over(arrival: Arrival) -> str:
    """Why nothing is declared of an item that comes in by *arrival*."""
    return (
        f"It comes in {ARRIVALS[arrival]}: a day of decontamination, and that it is sealed, are"
        f" declared of what is {ARRIVALS['go-live']} alone."
    )


def no_tag(kind: ItemType) -> str:
    """Why an item of an untagged type is not put on the register."""
    return f"{kind.name} carries no tag: it is known by the pack it is in."


def check_tag(store: Store, kind: ItemType, tag: str) -> None:
    """Refused unless *tag* is free and of the letter that items of *kind* have."""
    letter = _LETTERS[kind.sort]
    if tag[0] != letter:
        raise Refused(f"{show_tag(tag)} is no tag for {kind.name.lower()}: it needs {letter}.")
    if item_rows.item_row(store, tag) is not None:
        raise Refused(f"{show_tag(tag)} is on the register already.")


def known(act: Act, tag: str) -> Standing:
    """Where a registered thing stands; Refused if the register does not have it."""
    if item_rows.item_row(act.store, tag) is None:
        raise Refused(f"{show_tag(tag) if len(tag) == 10 else tag} is not on the register.")
    return act.standing(tag)


def arrive(act: Act, tag: str, arrival: Arrival, sender: str = "") -> None:
    """It came in from outside: it goes through its whole route before anybody uses it."""
    known(act, tag)
    act.tell(facts.Arrived, item=tag, arrival=arrival, sender=sender)


def send_out(act: Act, tag: str, receiver: str, why: Literal["loan", "repair", "service"]) -> None:
    stands = known(act, tag)
    if stands.where != "here":
        raise Refused(f"{show_tag(tag)} is {stands.where} already.")
    if not receiver.strip():
        raise Refused("Say who gets it.")
    act.tell(facts.SentOut, item=tag, receiver=receiver.strip(), why=why)


def retire(act: Act, tag: str, why: str) -> None:
    need(act, "retire", "retire items")
    if contents_of(known(act, tag)).searches:
        raise Refused("A piece is missing: say first that it was found, or give it up as lost.")
    if not why.strip():
        raise Refused("Say why it is retired: it is read years later.")
    act.tell(facts.Retired, item=tag, why=why.strip())


def join(act: Act, set_tag: str, tag: str) -> None:
    """A thing becomes part of a set; of one set at a time."""
    chosen, stands = known(act, set_tag), known(act, tag)
    if act.kind(chosen).sort != "set":
        raise Refused(f"{show_tag(set_tag)} is no set.")
    for other in item_rows.standings_of_type(act.store, chosen.type):
        if tag in other.members and other.item != set_tag:
            raise Refused(f"{act.label(stands)} belongs to set {show_tag(other.item)}.")
    act.tell(facts.Joined, set=set_tag, item=tag)


def join_new(act: Act, set_tag: str, tag: str) -> None:
    """The same in the act that puts both on the register."""
    act.tell(facts.Joined, set=set_tag, item=tag)


def leave(act: Act, set_tag: str, tag: str) -> None:
    if tag not in known(act, set_tag).members:
        raise Refused(f"{show_tag(tag)} does not belong to this set.")
    act.tell(facts.Left, set=set_tag, item=tag)


def quarantine(act: Act, tag: str, why: str, how: How) -> None:
    known(act, tag)
    if not why.strip():
        raise Refused("Say why it is kept back.")
    keep_back.quarantine(act, tag, facts.Told(code="by-hand", says=why.strip()), how)


def lift(act: Act, tag: str, reason: str, which: str = "", confirmed_by: str = "") -> None:
    """Somebody with the right lifts one reason to keep an item back; whatever else does stands.

    *which* is that reason as the item's page names it; it may be left out where there is one.
    """
    stands = known(act, tag)
    if not stands.quarantines:
        raise Refused(f"{show_tag(tag)} is not in quarantine.")
    chosen = [kept for kept in stands.quarantines if which in ("", name_of(kept))]
    if not chosen:
        raise Refused("It is not kept back for that reason any more: load the page again.")
    if len(chosen) > 1:
        raise Refused(f"{len(chosen)} reasons keep it back: say which of them is lifted.")
    keep_back.lift(act, tag, chosen[0], reason, confirmed_by)


def name_of(kept: Kept) -> str:
    """One reason to keep an item back, as a form names it: its moment and its code."""
    return f"{micros(kept.at)} {kept.why.code}"


def add_place(act: Act, name: str, sort: str) -> str:
    if not name.strip():
        raise Refused("A place needs a name.")
    if sort not in ("clinical", "clean-room", "store", "bench"):
        raise Refused(f"“{sort}” is no sort of place: clinical, clean-room, store or bench.")
    place = counters.take(act.store, "R")
    act.tell(facts.PlaceAdded, place=place, name=name.strip(), sort=sort)
    return place


def add_person(
    act: Act, name: str, role: str, rights: Sequence[str], *, tag: str = "", active: bool = True
) -> str:
    """A person by badge, or a change of one. Passwords are kept elsewhere, never told."""
    if not name.strip():
        raise Refused("A person needs a name.")
    if role not in ROLES:
        raise Refused(f"“{role}” is no role: nurse, manager or auditor.")
    if role == "auditor" and rights:
        raise Refused("An auditor reads everything and changes nothing: no rights.")
    if unknown := set(rights) - RIGHTS.keys():
        raise Refused(f"“{min(unknown)}” is no right: {', '.join(RIGHTS)}.")
    person = tag or counters.take(act.store, "B")
    act.tell(
        facts.PersonAdded,
        person=person,
        name=name.strip(),
        role=role,
        rights=tuple(sorted(rights)),
        active=active,
    )
    return person


def set_rule(act: Act, rule: str, value: str, reason: str, since: date) -> None:
    """The clinic overrides a rule; the book says at once whether the value can be one."""
    if not reason.strip():
        raise Refused("An override needs a reason: it is printed beside the value.")
    try:
        act.house.book.overridden(
            [Override(rule=rule, value=value, reason=reason, since=since, by=act.by)]
        )
        check_rule(rule, value.strip())
    except ValueError as problem:
        raise Refused(str(problem)) from None
    act.tell(facts.RuleSet, rule=rule, value=value, reason=reason.strip(), since=since)
