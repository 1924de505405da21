"""A calibration judged and written down; what cannot be is refused with a sentence."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from equip.desk.act.act import Act, Refused
from equip.desk.act.as_told import rules_used
from equip.desk.people import competence
from equip.desk.register import items
from equip.desk.upkeep import certificates, duty_acts
from equip.desk.upkeep.certificates import Paper
from equip.desk.upkeep.measuring import in_force
from equip.desk.upkeep.measuring.in_force import CALIBRATION
from equip.facts import Calibrated, PointMeasured, Told
from equip.rules.upkeep.measuring import calibration_series
from equip.rules.upkeep.measuring.decision_rule import DecisionRule
from equip.scan import show_tag

MOST_POINTS = 12
"""The lines of the form."""


@dataclass(frozen=True, slots=True)
class Given:
    """A calibration as its certificate has it; *meets* says that it meets the thing's duty."""

    quantity: str
    unit: str
    points: Sequence[PointMeasured]
    decides: DecisionRule
    done: date
    person: str = ""
    firm: str = ""
    paper: Paper | None = None
    issued: date | None = None
    not_after: date | None = None
    note: str = ""
    meets: bool = False


def record(act: Act, tag: str, given: Given) -> Calibrated:
    """Judged by the rules of the day it was done, and written down; it may meet the duty."""
    if items.known(act, tag).where == "retired":
        raise Refused(f"{show_tag(tag)} was retired: nothing is measured on it any more.")
    told = in_force.calibrations(act.clinic, tag)
    quantity, unit = _named(given, told)
    _check_points(given, unit)
    _check_days(given, act.house.today(act.now))
    _check_who(act, given)
    rule = act.house.rules_on(given.done)[f"conformity.{given.decides}"]
    share = act.house.rules_on(given.done).decimal(rule.id)
    judged = calibration_series.judge(given.points, unit, given.decides, share)
    before = next((one for one in told if (one.quantity, one.done) == (quantity, given.done)), None)
    known = (before.certificate, before.certificate_name) if before else ("", "")
    digest, named = certificates.kept(act, given.paper, known)
    return act.tell(
        Calibrated,
        item=tag,
        quantity=quantity,
        unit=unit,
        points=judged.points,
        decides=given.decides,
        done=given.done,
        person=given.person,
        firm=given.firm.strip(),
        found_is=judged.found or "",
        left_is=judged.left or "",
        reasons=tuple(Told(code=one.code, says=one.says) for one in judged.reasons),
        rules=rules_used([rule]),
        certificate=digest,
        certificate_name=named,
        issued=given.issued,
        not_after=given.not_after,
        duty=_met(act, tag, given, judged.points, before, digest),
        note=given.note.strip(),
        lapses=competence.against(act, given.person, "measure", given.done),
    )


def _met(
    act: Act,
    tag: str,
    given: Given,
    points: Sequence[PointMeasured],
    before: Calibrated | None,
    digest: str,
) -> str:
    """The duty that this meets; told again it has been met already."""
    if before is not None and before.duty:
        return before.duty
    if not given.meets:
        return ""
    if not calibration_series.goes_back_good(points):
        raise Refused(
            "It went back out of tolerance, so this does not meet its duty: have it adjusted, or"
            " take the tick away and write down what was found."
        )
    row = duty_acts.duty_of(act, tag, CALIBRATION)
    end = given.not_after if row.terms.certificate else None
    note = f"calibrated: {given.quantity}"
    duty_acts.meet_duty(act, tag, CALIBRATION, given.done, note, not_after=end, certificate=digest)
    return CALIBRATION


def _named(given: Given, told: Sequence[Calibrated]) -> tuple[str, str]:
    """The quantity as it was spelled before, with the unit it has always been told in."""
    quantity, unit = " ".join(given.quantity.split()), given.unit.strip()
    if not quantity or not unit:
        raise Refused("Say what was measured and in which unit, such as temperature in °C.")
    for one in told:
        if one.quantity.casefold() != quantity.casefold():
            continue
        if one.unit != unit:
            raise Refused(
                f"Its {one.quantity} stands in this book in {one.unit}, and {unit} was read:"
                f" give it in {one.unit}, or its results cannot be compared."
            )
        return one.quantity, unit
    return quantity, unit


def _check_points(given: Given, unit: str) -> None:
    if not given.points:
        raise Refused("No point was given: write down at least one with what it read.")
    if len({point.nominal for point in given.points}) < len(given.points):
        raise Refused("The same nominal value stands twice: keep one line for each.")
    for point in given.points:
        where = f"At {point.nominal} {unit}"
        if point.limit <= 0:
            raise Refused(f"{where} the limit is {point.limit}: give how far off it may be.")
        if point.found is None and point.left is None:
            raise Refused(f"{where} nothing was read: give as found, as left, or leave it out.")
        if point.expanded_u is not None and point.expanded_u < 0:
            raise Refused(f"{where} the uncertainty is {point.expanded_u}, below nought.")
        if point.k <= 0:
            raise Refused(f"The coverage factor k is {point.k}; certificates state 2 as a rule.")
        if point.expanded_u is None and given.decides != "simple":
            raise Refused(
                f"{where} no uncertainty was given, and this decision rule needs one: copy U from"
                " the certificate, or choose the rule without a guard band."
            )


def _check_days(given: Given, today: date) -> None:
    if given.done > today:
        raise Refused(f"{given.done} has not come yet: give the day it was calibrated.")
    if given.issued is not None and not given.done <= given.issued <= today:
        raise Refused(
            f"The certificate is of {given.issued}, which is not between {given.done}, when it was"
            f" calibrated, and today: look at both days."
        )
    if given.not_after is not None and given.not_after < given.done:
        raise Refused(
            f"The certificate ends on {given.not_after}, before {given.done}, when it was"
            " calibrated: look at both days."
        )


def _check_who(act: Act, given: Given) -> None:
    if bool(given.person) == bool(given.firm.strip()):
        raise Refused("Say who calibrated it: a person who works here, or a firm, one of the two.")
    if given.person and given.person not in act.house.staff:
        raise Refused("Nobody who works here goes by that badge.")
