"""An electrical safety test judged and written down; those of a thing beside their reference."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from equip.desk.act.act import Act, Refused
from equip.desk.act.as_told import rules_used
from equip.desk.people import competence
from equip.desk.register import items
from equip.desk.upkeep import certificates, duty_acts
from equip.desk.upkeep.certificates import Paper
from equip.desk.upkeep.measuring import in_force
from equip.desk.upkeep.measuring.in_force import ELECTRICAL
from equip.facts import ElectricallyTested, Told
from equip.rulebook.book import Rules
from equip.rulebook.measuring import electrical_limits
from equip.rules.upkeep.measuring import electrical
from equip.rules.upkeep.measuring.electrical import Class, Cord, Method, Part, Test
from equip.rules.verdict import Reason, worst
from equip.scan import show_tag

_RISE = "electrical.rise-share"


@dataclass(frozen=True, slots=True)
class Given:
    """A test as its report has it; of earth one reading, or two with the poles reversed."""

    protection: Class
    done: date
    cord: Cord | None = None
    method: Method | None = None
    part: Part | None = None
    earth: Sequence[Decimal] = ()
    cord_ohm: Decimal | None = None
    leakage_ua: Decimal | None = None
    applied_ua: Decimal | None = None
    paper: Paper | None = None
    person: str = ""
    firm: str = ""
    note: str = ""
    meets: bool = False


def record(act: Act, tag: str, given: Given) -> ElectricallyTested:
    """Judged by the rules of the day it was done, and written down; it may meet the duty."""
    if items.known(act, tag).where == "retired":
        raise Refused(f"{show_tag(tag)} was retired: nothing is measured on it any more.")
    _check(act, given)
    rules = act.house.rules_on(given.done)
    told = in_force.electrical_tests(act.clinic, tag)
    reasons, used = _judged(given, rules)
    verdict = worst(reasons)
    reasons += _risen(
        given, reference([one for one in told if one.done < given.done], given), rules
    )
    before = next((one for one in told if one.done == given.done), None)
    known = (before.certificate, before.certificate_name) if before else ("", "")
    digest, named = certificates.kept(act, given.paper, known)
    return act.tell(
        ElectricallyTested,
        item=tag,
        protection=given.protection,
        done=given.done,
        verdict=verdict,
        cord=given.cord or "",
        method=given.method or "",
        part=given.part or "",
        earth_readings=tuple(given.earth),
        earth_ohm=_earth(given),
        cord_ohm=given.cord_ohm,
        leakage_ua=given.leakage_ua,
        applied_ua=given.applied_ua,
        person=given.person,
        firm=given.firm.strip(),
        reasons=tuple(Told(code=one.code, says=one.says) for one in reasons),
        rules=rules_used(rules[name] for name in used),
        certificate=digest,
        certificate_name=named,
        duty=_met(act, tag, given, verdict == "pass", before, digest),
        note=given.note.strip(),
        lapses=competence.against(act, given.person, "measure", given.done),
    )


def _earth(given: Given) -> Decimal | None:
    return electrical.kept_of(given.earth) if given.earth else None


def _check(act: Act, given: Given) -> None:
    if given.done > act.house.today(act.now):
        raise Refused(f"{given.done} has not come yet: give the day it was tested.")
    if bool(given.person) == bool(given.firm.strip()):
        raise Refused("Say who tested it: a person who works here, or a firm, one of the two.")
    if given.person and given.person not in act.house.staff:
        raise Refused("Nobody who works here goes by that badge.")
    for value in (*given.earth, given.cord_ohm, given.leakage_ua, given.applied_ua):
        if value is not None and value < 0:
            raise Refused(f"{value} was read: a resistance or a current is never below nought.")
    if given.cord == "fixed" and given.cord_ohm is not None:
        raise Refused("A fixed cord is measured with its equipment: leave its own value out.")
    if given.applied_ua is not None and given.part not in ("BF", "CF"):
        raise Refused("A leakage at an applied part was given: say whether it is type BF or CF.")


def _judged(given: Given, rules: Rules) -> tuple[list[Reason], list[str]]:
    """The equipment and its applied part, each by its own reading."""
    limits = electrical_limits(rules)
    whole = Test(
        cord=given.cord,
        earth_ohm=_earth(given),
        cord_ohm=given.cord_ohm,
        protection=given.protection,
        leakage_ua=given.leakage_ua,
        method=given.method,
    )
    tests = [whole]
    if given.applied_ua is not None:
        tests.append(Test(leakage_ua=given.applied_ua, part=given.part))
        if whole.earth_ohm is whole.cord_ohm is whole.leakage_ua is None:
            tests = tests[1:]
    found = [electrical.judge(test, limits) for test in tests]
    reasons = [reason for one in found for reason in one.reasons]
    return reasons, list(dict.fromkeys(rule for one in found for rule in one.rules))


def _risen(given: Given, known: ElectricallyTested | None, rules: Rules) -> Iterator[Reason]:
    """What rose beside the reference value of the same method."""
    now, before = given.leakage_ua, known.leakage_ua if known else None
    if now is None or before is None or given.method is None:
        return
    limit = electrical_limits(rules).leakage_ua[given.protection, given.method].value
    share = rules.decimal(_RISE) / 100
    yield from electrical.why_changed("Its leakage current in µA", now, before, limit, share)


def _met(
    act: Act,
    tag: str,
    given: Given,
    passed: bool,
    before: ElectricallyTested | None,
    digest: str,
) -> str:
    """The duty that this meets; told again it has been met already."""
    if before is not None and before.duty:
        return before.duty
    if not given.meets:
        return ""
    if not passed:
        raise Refused(
            "It did not pass, so this does not meet its duty: take the tick away and write down"
            " what was read."
        )
    duty_acts.meet_duty(act, tag, ELECTRICAL, given.done, "electrically tested", certificate=digest)
    return ELECTRICAL


def reference(
    told: Sequence[ElectricallyTested], like: Given | ElectricallyTested
) -> ElectricallyTested | None:
    """The first test that passed, of the same class and method: what later ones are held beside."""
    method = like.method or ""
    return next(
        (
            one
            for one in told
            if one.verdict == "pass"
            and (one.protection, one.method) == (like.protection, method)
            and one.leakage_ua is not None
        ),
        None,
    )
