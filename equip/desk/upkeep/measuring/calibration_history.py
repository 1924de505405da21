"""The calibrations of a thing one after the other: drift, the interval advised, what to do next."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from equip.desk.clinic import Clinic
from equip.desk.upkeep.measuring.in_force import CALIBRATION, calibrations
from equip.facts import Calibrated
from equip.rulebook.measuring import interval_now, interval_rules
from equip.rules.days import add_months
from equip.rules.upkeep.measuring import calibration_series
from equip.rules.upkeep.measuring.calibration_series import Drift
from equip.rules.verdict import Reason
from equip.store.readings import duty_rows, item_rows


@dataclass(frozen=True, slots=True)
class Next:
    """What an out-of-tolerance result touches, and where a person goes on from there.

    *since* is the last day it was known to be in tolerance; *offset_k* corrects its readings.
    """

    way: Literal["judge-again", "machine", "uses"]
    since: date | None
    until: date
    offset_k: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Advice:
    """How long until the next calibration, and the day that comes to."""

    advice: str
    months: int
    of_months: int
    by: date
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity of a thing: its calibrations, the newest last, and what follows from them."""

    name: str
    unit: str
    told: tuple[Calibrated, ...]
    drift: Drift | None
    advice: Advice | None
    why_no_advice: str
    next: Next | None

    @property
    def newest(self) -> Calibrated:
        return self.told[-1]

    def share(self, one: Calibrated) -> Decimal | None:
        """The as-found error of *one* as a percentage of its limit."""
        share = calibration_series.as_found_share(one)
        return None if share is None else share * 100


def quantities(clinic: Clinic, tag: str, today: date) -> list[Quantity]:
    """What a thing was calibrated in, the quantity calibrated last first."""
    told = calibrations(clinic, tag)
    names = dict.fromkeys(one.quantity for one in reversed(told))
    return [
        _quantity(clinic, tag, [one for one in told if one.quantity == name], today)
        for name in names
    ]


def _quantity(clinic: Clinic, tag: str, its: Sequence[Calibrated], today: date) -> Quantity:
    rules = clinic.house.rules_on(today)
    advice, why_not = _advice(clinic, tag, its, today)
    newest = its[-1]
    return Quantity(
        newest.quantity,
        newest.unit,
        tuple(its),
        calibration_series.drift(its, interval_rules(rules).fewest),
        advice,
        why_not,
        _next(clinic, tag, its) if calibration_series.found_out(newest) else None,
    )


def _advice(
    clinic: Clinic, tag: str, its: Sequence[Calibrated], today: date
) -> tuple[Advice | None, str]:
    rules = clinic.house.rules_on(today)
    rows = duty_rows.duties_of(clinic.store, tag)
    row = next((row for row in rows if row.duty == CALIBRATION), None)
    months_now = row.goes_by.every_months if row is not None else None
    if not months_now:
        return None, (
            f"No interval is advised: it has no duty “{CALIBRATION}” that comes round in months."
        )
    now = interval_now(rules, months_now)
    found = calibration_series.advise(its, now, interval_rules(rules))
    if found is None:
        return None, "No interval is advised: the newest calibration has no as-found reading."
    advised, months = found
    by = add_months(its[-1].done, months)
    return Advice(advised.advice, months, months_now, by, advised.reasons), ""


def _next(clinic: Clinic, tag: str, its: Sequence[Calibrated]) -> Next:
    """Cycles are judged again by the sensor's error; of anything else its uses are looked at."""
    newest = its[-1]
    since = calibration_series.last_in_tolerance(its, newest)
    stands = item_rows.standing_of(clinic.store, tag)
    process = clinic.house.kind(stands.type).process if stands else None
    if process is None or not process.programmes:
        return Next("uses", since, newest.done)
    offset = calibration_series.offset_k(newest)
    return Next("machine" if offset is None else "judge-again", since, newest.done, offset)
