"""Lots come in, are opened, and are taken out of use."""

from collections.abc import Sequence
from datetime import date

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.act.as_told import rules_used
from equip.desk.act.rights import need
from equip.facts import LotSort, Stated
from equip.rulebook import Rules
from equip.rulebook.fitness import agent_names
from equip.rulebook.stopping import agents_known, stopped_by
from equip.rules.fitness.lots import Lot, why_not_serve
from equip.rules.fitness.stopping import in_words
from equip.rules.loads.load import Load
from equip.scan import show_tag
from equip.store.kept import counters
from equip.store.ledger.about import told_about
from equip.store.readings import lot_rows

SORTS: dict[LotSort, str] = {
    "wipe": "disinfecting wipes",
    "agent": "soaking agent",
    "detergent": "detergent or cleaning wipes",
    "test-strip": "test strips",
    "chemical-indicator": "chemical indicators",
    "spore-test": "spore tests",
    "waterline": "waterline disinfectant",
    "other": "other, such as rinsing wipes",
}

_MOST_SECONDS, _MOST_DAYS, _MOST_HOURS, _MOST_PERCENT = 86_400, 3_660, 1_000, 10


def agents(rules: Rules) -> tuple[str, ...]:
    """The agents of wipes and baths of which the rule book says what they stop."""
    return tuple(sorted(agents_known(rules)))


def stops_in_words(rules: Rules, lot: Lot) -> str:
    """What a wipe or an agent stops by the rules in force, as it is said with the lot."""
    if not lot.stated.agent:
        return "nobody told its agent: it stops nothing"
    stops, _ = stopped_by(rules, lot.stated.agent)
    return f"stops {in_words(stops)}" if stops else "stops less than bacteria and viruses"


def add(
    act: Act,
    sort: LotSort,
    name: str,
    number: str,
    *,
    expires: date | None = None,
    stated: Stated | None = None,
) -> str:
    """A lot comes in; its tag. A lot with the same number of the same name is refused."""
    need(act, "lots", "enter lots")
    if not name.strip() or not number.strip():
        raise Refused("A lot needs a name and its maker's lot number: both stand on the packet.")
    stated = stated or Stated()
    rules = act.house.rules(act.at)
    of_its_sort = sorted(agent_names(rules)) if sort == "agent" else agents(rules)
    _expect_possible(sort, stated, of_its_sort)
    for known in lot_rows.lots(act.store):
        if (known.sort, known.name, known.number) == (sort, name.strip(), number.strip()):
            raise Refused(f"That lot is on the register already: {show_tag(known.tag)}.")
    tag = counters.take(act.store, "T")
    act.tell(
        facts.LotAdded,
        lot=tag,
        sort=sort,
        name=name.strip(),
        number=number.strip(),
        expires=expires,
        stated=stated,
    )
    return tag


def _expect_possible(sort: LotSort, stated: Stated, agents: Sequence[str]) -> None:
    if sort == "agent" and not stated.agent:
        raise Refused(f"Say which agent it is: {', '.join(agents)}.")
    if stated.agent and stated.agent not in agents:
        raise Refused(f"“{stated.agent}” is no agent of the rule book: {', '.join(agents)}.")
    if sort == "wipe" and stated.contact_s is None:
        raise Refused("Wipes need their contact time: how many seconds the surface stays wet.")
    if sort == "waterline" and not (stated.agent and stated.contact_s and stated.percent):
        raise Refused(
            "A waterline disinfectant needs its agent, the strength of the solution that its "
            "packet makes, in per cent, and how many seconds it is left in."
        )
    if stated.percent is not None and not 0 < stated.percent <= _MOST_PERCENT:
        raise Refused(f"A strength of {stated.percent} % was read: give more than 0 and up to 10.")
    if stated.contact_s is not None and not 0 < stated.contact_s <= _MOST_SECONDS:
        raise Refused(f"A contact time of {stated.contact_s} s was read: give 1 to 86,400 s.")
    if stated.open_days is not None and not 0 < stated.open_days <= _MOST_DAYS:
        raise Refused(f"{stated.open_days} days of use were read: give 1 to 3,660 days.")
    if stated.incubate_h is not None and not 0 < stated.incubate_h <= _MOST_HOURS:
        raise Refused(f"{stated.incubate_h} h of incubation were read: give 1 to 1,000 h.")
    if stated.type is not None and stated.type not in range(1, 7):
        raise Refused(f"Type {stated.type} was read: chemical indicators have types 1 to 6.")


def describe(act: Act, tag: str, agent: str) -> Lot:
    """Somebody says what is in a packet of wipes of which nobody told its agent.

    What was disinfected with it before counts by that from then on.
    """
    lot, rules = known(act, tag), act.house.rules(act.at)
    if lot.sort != "wipe" or lot.stated.agent:
        raise Refused(f"What lot {lot.number} of {lot.name} holds is told already.")
    if agent not in agents(rules):
        raise Refused(f"“{agent}” is no agent of the rule book: {', '.join(agents(rules))}.")
    stops, used = stopped_by(rules, agent)
    steps = (entry.fact for entry in told_about(act.store, tag))
    wiped = [
        item
        for step in steps
        if isinstance(step, facts.Stepped) and step.stops is None
        for item in (step.item, *step.covers)
    ]
    act.tell(
        facts.LotDescribed,
        lot=tag,
        agent=agent,
        stops=stops,
        rules=rules_used(used),
        covers=tuple(dict.fromkeys(wiped)),
    )
    return lot


def open_lot(act: Act, tag: str) -> Lot:
    """It was opened now; once only."""
    lot = known(act, tag)
    if lot.finished:
        raise Refused(f"{show_tag(tag)} was taken out of use: {lot.finished}.")
    if lot.opened is not None:
        raise Refused(f"{show_tag(tag)} was opened on {lot.opened} already.")
    act.tell(facts.LotOpened, lot=tag)
    return lot


def finish(act: Act, tag: str, why: str) -> None:
    """Nothing of it is used from now on."""
    need(act, "lots", "take lots out of use")
    lot = known(act, tag)
    if lot.finished:
        raise Refused(f"{show_tag(tag)} was taken out of use already: {lot.finished}.")
    if not why.strip():
        raise Refused("Say why: used up, expired, recalled.")
    act.tell(facts.LotFinished, lot=tag, why=why.strip())


def serve(act: Act, tag: str, sorts: Sequence[LotSort]) -> Lot:
    """The lot, about to be used: Refused if it may not serve. Its first use opens it."""
    lot = known(act, tag)
    if lot.sort not in sorts:
        wanted = " or ".join(SORTS[sort] for sort in sorts)
        raise Refused(f"Lot {lot.number} of {lot.name} is {SORTS[lot.sort]}, not {wanted}.")
    reasons = why_not_serve(lot, act.house.today(act.at))
    if reasons:
        raise Refused(" ".join(reason.says for reason in reasons))
    if lot.opened is None:
        act.tell(facts.LotOpened, lot=tag)
    return lot


def put_with(act: Act, load: Load, tag: str, sorts: Sequence[LotSort]) -> Lot:
    """Something of a lot serves a load that has not ended."""
    if load.state not in ("filling", "running"):
        raise Refused(f"Load {show_tag(load.load)} has ended: no lot is put with it any more.")
    if tag in load.lots:
        raise Refused(f"{show_tag(tag)} is with load {show_tag(load.load)} already.")
    lot = serve(act, tag, sorts)
    act.tell(facts.LotPut, load=load.load, lot=tag)
    return lot


def known(act: Act, tag: str) -> Lot:
    """The lot of that tag; Refused if there is none."""
    lot = lot_rows.lot_of(act.store, tag, act.house.zone)
    if lot is None:
        raise Refused(f"{show_tag(tag) if len(tag) == 10 else tag} is no lot in this book.")
    return lot
