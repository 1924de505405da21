"""The rehearsal of the night: a load that was let go is taken to have been bad, for practice.

Nothing is put in doubt and nobody is told: the list that a look-back would give is worked out as
a question, and what it came to is written down with the missing answers that would settle most
patients. Which load it is follows from the site and the day alone, and the day's entry is made
once: the site's head is locked, then it is looked whether it is there.
"""

from datetime import date, datetime, time, timedelta
from decimal import Decimal

from equip import facts
from equip.desk.act.act import acting
from equip.desk.clinic import Clinic
from equip.desk.lookback.cases import exposed_list, missing_answers
from equip.desk.lookback.exposure_answer import ExposureAnswer, Scope, look_back
from equip.facts import WeakLink
from equip.rules.lookback.missing_answers import chosen
from equip.store.readings import case_rows, load_rows

_MILLI = Decimal("0.001")
_LINKS = 5


class _DoneAlready(Exception):
    """Another process wrote the day's rehearsal down first."""


def run_if_due(clinic: Clinic, now: datetime) -> facts.RehearsalRun | None:
    """Tonight's rehearsal if its hour has come and it was not run yet; else None."""
    local = now.astimezone(clinic.house.zone)
    day, site = local.date(), clinic.house.site
    if local.hour < clinic.house.rules(now).number("rehearsal.hour"):
        return None
    if case_rows.rehearsed(clinic.store, site, day):
        return None
    load = chosen(site, day.isoformat(), candidates(clinic, day, now))
    if load is None:
        return None
    began = clinic.clock()
    answer = look_back(clinic, Scope(loads=(load,)))
    found = missing_answers.weakest(clinic, answer)
    took = Decimal(str((clinic.clock() - began).total_seconds())).quantize(_MILLI)
    try:
        with acting(clinic, by="") as act:
            if case_rows.rehearsed(clinic.store, site, day):
                raise _DoneAlready
            return act.tell(
                facts.RehearsalRun,
                load=load,
                day=day,
                seconds=took,
                **_counts(answer),
                unproven=found.unproven,
                unprovable=found.patients,
                links=tuple(_as_told(one) for one in found.asked[:_LINKS]),
            )
    except _DoneAlready:
        return None


def candidates(clinic: Clinic, day: date, now: datetime) -> list[str]:
    """Loads of the last days, before *day*, that were let go and are in no look-back."""
    midnight = datetime.combine(day, time(), clinic.house.zone)
    days = clinic.house.rules(now).number("rehearsal.days")
    loads = load_rows.loads_let_go(clinic.store, midnight - timedelta(days=days), midnight)
    doubted = {
        load for one in case_rows.doubts(clinic.store) if not one.unfounded for load in one.loads
    }
    return [load for load in loads if load not in doubted]


def _counts(answer: ExposureAnswer) -> dict[str, object]:
    share = answer.traceable
    return {
        "uses": len(answer.exposures),
        "patients": exposed_list.patients_in(answer.exposures),
        "gaps": exposed_list.gap_uses(answer.gaps),
        "looked_at": answer.uses_looked_at,
        "traceable": None if share is None else Decimal(str(share)).quantize(_MILLI),
    }


def _as_told(asked: missing_answers.OpenQuestion) -> WeakLink:
    question = asked.link.question
    return WeakLink(
        sort=question.sort,
        about=question.about,
        item=question.item,
        says=asked.says,
        settles=asked.link.settles,
        bears_on=asked.link.bears_on,
    )
