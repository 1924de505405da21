"""A check ahead of a session written down; the session ended."""

from collections.abc import Sequence
from decimal import Decimal

from equip import facts
from equip.desk.act import keep_back
from equip.desk.act.act import Act, Refused, alert
from equip.desk.act.as_told import rules_used
from equip.desk.fitness.session import lines_of, lines_today
from equip.desk.people.competence import UNASKED, Doer
from equip.desk.register.items import known
from equip.facts import AskedCheck, Checked, Told
from equip.rulebook.fitness import band_rules, check_band
from equip.rulebook.rule import Rule
from equip.rules.fitness import session
from equip.rules.fitness.session import KINDS, Band, CheckLine, CheckMade
from equip.store.readings import item_rows
from equip.typed import Mistyped

CAUTION = (
    "Water or air that is colder or warmer than the body makes people dizzy when it reaches deep "
    "into the canal. The maker’s instructions and local practice come first."
)
"""Said wherever a temperature is asked for."""


def record(
    act: Act,
    item: str,
    check: str,
    *,
    good: bool | None = None,
    read: str = "",
    unit: str = "",
    note: str = "",
    who: Doer = UNASKED,
) -> Checked:
    """Write down one check of a thing, and what stands against *who* does it.

    What is looked at is good or not by its reader. What is measured is *read* and held against
    its limits; where it has none, and wherever it says not, its reader decides. Refused with a
    sentence where it cannot be written down.
    """
    standing = known(act, item)
    asked = _asked(act, act.kind(standing).checks, check)
    kind, band = KINDS[asked.check], band_for(act, asked)
    value: Decimal | None = None
    its_unit, reasons = "", tuple[Told, ...]()
    try:
        if kind.measured and read:
            value, its_unit = session.read(asked.check, read, unit or asked.unit)
            if band is not None:
                reasons = session.outside(asked.check, value, its_unit, band)
                good = not reasons and good is not False
    except Mistyped as problem:
        raise Refused(str(problem)) from None
    if kind.measured and value is None and good is not False:
        raise Refused(f"Type what the {kind.name} reads.")
    if good is None:
        raise Refused(f"Say whether the {kind.name} is good.")
    told = act.tell(
        Checked,
        item=item,
        check=asked.check,
        passed=good,
        value=value,
        unit=its_unit,
        reasons=reasons,
        rules=rules_used(_rules(act, asked)),
        note=note,
        lapses=who.lapses,
        supervisor=who.supervisor,
    )
    if not good:
        _failed(act, item, told)
    return told


def end_session(act: Act, items: Sequence[str]) -> tuple[str, ...]:
    """The checks of those among *items* that have any in force hold no longer; which they are."""
    found = lines_today(act.clinic, item_rows.standings(act.store, items), act.at)
    covers = tuple(
        item for item, lines in found.items() if any(line.state == "in force" for line in lines)
    )
    if not covers:
        raise Refused("No check is in force that could end.")
    act.tell(facts.ChecksOver, covers=covers)
    return covers


def after_mark(act: Act, items: Sequence[str]) -> None:
    """Something happened to them: what was looked at before is not known to be so any more."""
    covers = tuple(item for item in items if act.kind(act.standing(item)).checks)
    if covers:
        act.tell(facts.ChecksOver, covers=covers, why="mark")


def band_for(act: Act, asked: AskedCheck) -> Band | None:
    """What a reading is held against at the moment of the act."""
    book = check_band(act.house.rules(act.at), asked.check)
    return session.band_of(asked, book)


def lines_now(act: Act, item: str) -> list[CheckLine]:
    """How the checks of a thing stand once this act is written down."""
    kind = act.kind(act.standing(item))
    own = [fact for fact in act.told if isinstance(fact, Checked) and fact.item == item]
    made = [
        CheckMade(fact.check, fact.at, fact.passed, " ".join(why.says for why in fact.reasons))
        for fact in own
    ]
    return lines_of(act.clinic, item, kind, act.at, made)


def _asked(act: Act, checks: Sequence[AskedCheck], check: str) -> AskedCheck:
    for asked in checks:
        if asked.check == check:
            return asked
    names = ", ".join(KINDS[asked.check].name for asked in checks)
    raise Refused(
        f"“{check[:30]}” is no check of this thing: {names}."
        if names
        else "Nothing of this thing is checked ahead of a session: its type says so, in Setup."
    )


def _rules(act: Act, asked: AskedCheck) -> list[Rule]:
    rules = act.house.rules(act.at)
    names = [f"check.{asked.check}.hours", f"check.{asked.check}.failed"]
    if asked.low is None and asked.high is None and check_band(rules, asked.check) is not None:
        names += band_rules(asked.check)
    return [rules[name] for name in names]


def _failed(act: Act, item: str, told: Checked) -> None:
    """By its rule it may only not be used, or is kept back until somebody lifts it."""
    effect = act.house.rules(act.at).text(f"check.{told.check}.failed")
    standing = act.standing(item)
    if effect != "quarantine" or any(
        kept.why.code == "check-failed" for kept in standing.quarantines
    ):
        return
    name = KINDS[told.check].name
    why = Told(code="check-failed", says=f"its {name} was not good ahead of a session")
    keep_back.quarantine(act, item, why)
    alert(
        act, f"{act.label(standing)} is in quarantine: its {name} was not good when it was checked."
    )
