"""What was measured of a thing and holds; why a duty cannot have been met on the day of it."""

from datetime import date

from equip.desk.clinic import Clinic
from equip.facts import Calibrated, ElectricallyTested
from equip.rules.upkeep.measuring import calibration_series
from equip.store.ledger.about import told_about, withdrawn

CALIBRATION = "calibration"
"""The name of the duty that a calibration meets, where the thing has one."""

ELECTRICAL = "electrical safety test"
"""That of an electrical safety test."""


def calibrations(clinic: Clinic, tag: str) -> list[Calibrated]:
    """Every calibration that holds, the oldest first."""
    told = [one.fact for one in told_about(clinic.store, tag) if isinstance(one.fact, Calibrated)]
    gone = withdrawn(clinic.store, (one.act for one in told))
    return calibration_series.in_order(
        one for one in told if one.item == tag and one.act not in gone
    )


def electrical_tests(clinic: Clinic, tag: str) -> list[ElectricallyTested]:
    """Every test that holds, the oldest first; of one day the one told last."""
    entries = told_about(clinic.store, tag)
    told = [one.fact for one in entries if isinstance(one.fact, ElectricallyTested)]
    gone = withdrawn(clinic.store, (one.act for one in told))
    held = {one.done: one for one in sorted(told, key=lambda one: one.at) if one.act not in gone}
    return [held[day] for day in sorted(held)]


def why_not_met(clinic: Clinic, tag: str, duty: str, done: date) -> str:
    """What the readings of that day say against it, whatever a certificate says; "" if nothing."""
    if duty == CALIBRATION:
        for one in calibrations(clinic, tag):
            if one.done == done and not calibration_series.goes_back_good(one.points):
                return f"its {one.quantity} went back out of tolerance"
    if duty == ELECTRICAL:
        for test in electrical_tests(clinic, tag):
            if test.done == done and test.verdict != "pass":
                return "it failed" if test.verdict == "fail" else "it could not be judged"
    return ""
