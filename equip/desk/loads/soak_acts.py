"""A soak from start to verdict: timed by the clock, judged by the rules of its agent."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import ROUND_FLOOR, Decimal
from typing import Any, cast

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.act.as_told import rules_used, told_of
from equip.desk.clinic import Clinic, House
from equip.desk.machines import baths, lots
from equip.desk.machines.contact_times import Running, timed
from equip.facts import Told
from equip.rulebook import Rules
from equip.rulebook.fitness import agent, behind_agent
from equip.rulebook.stopping import stopped_by
from equip.rules.cycles.typed.fields import BadValue, read_decimal
from equip.rules.fitness import agents
from equip.rules.fitness.agents import Soak, Strip, agent_of
from equip.rules.fitness.bath import Filling
from equip.rules.fitness.clocks import left_s
from equip.rules.fitness.lots import Lot, why_not_serve
from equip.rules.loads.load import Load
from equip.rules.verdict import judgement, worst
from equip.rules.wording import clock, span
from equip.scan import show_tag
from equip.store.readings import load_rows, lot_rows, machine_rows

_VERSION = "soak-1"
_HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class SoakShown:
    """What the page of a soak shows and asks for."""

    filling: Filling | None
    day: int
    days: int
    minutes: Decimal
    running: Running | None
    why_not: tuple[Told, ...]
    strip_percent: Decimal | None
    asks_strip: bool
    strips: tuple[Lot, ...]

    @property
    def over(self) -> bool:
        return self.running is None or not self.running.left_s


def shown(clinic: Clinic, load: Load, now: datetime) -> SoakShown | None:
    """A soak as its page shows it; None for any other load."""
    name = agent_of(load.programme)
    if not name:
        return None
    house = clinic.house
    at = load.started or now
    rules = house.rules(at)
    limits = agent(rules, name)
    now_in = baths.filling(clinic, load.machine, at)
    strips = [lot for lot in lot_rows.lots(clinic.store, house.zone) if lot.sort == "test-strip"]
    waiting = load.state == "filling"
    return SoakShown(
        filling=now_in,
        day=now_in.day_of_use(at, house.zone) if now_in else 0,
        days=limits.reuse_days,
        minutes=agents.minutes_by_hand(limits, rules.text("soak.basis")),
        running=next((one for one in running(clinic, now) if one.tag == load.load), None),
        why_not=tuple(baths.why_not(clinic, load.machine, name, now)) if waiting else (),
        strip_percent=limits.strip_percent,
        asks_strip=strip_needed(rules, name),
        strips=tuple(lot for lot in strips if not why_not_serve(lot, house.today(now))),
    )


def is_soak(load: Load) -> bool:
    return bool(agent_of(load.programme))


def ready_at(house: House, load: Load) -> datetime | None:
    """When a soak that runs is over; None for any other load."""
    if load.state != "running" or load.started is None or not is_soak(load):
        return None
    rules = house.rules(load.started)
    limits = agent(rules, agent_of(load.programme))
    minutes = agents.minutes_by_hand(limits, rules.text("soak.basis"))
    return load.started + timedelta(minutes=float(minutes))


def running(clinic: Clinic, now: datetime) -> list[Running]:
    """Every soak that runs in this house."""
    found = []
    for load in load_rows.open_loads(clinic.store):
        until = ready_at(clinic.house, load)
        if until is not None:
            what = f"{show_tag(load.load)} in the bath"
            over = "Time is up: take it out."
            found.append(timed(clinic, what, load.load, until, now, over))
    return found


def strip_needed(rules: Rules, name: str) -> bool:
    """Whether each load of that agent needs a test strip of its own."""
    return agent(rules, name).strip_percent is not None and rules.flag("soak.strip-each-load")


def before_start(act: Act, load: Load, typed: Mapping[str, str], strip_lot: str) -> dict[str, str]:
    """What was read before the start. Refused if the bath is not fit to soak anything."""
    reasons = baths.why_not(act.clinic, load.machine, agent_of(load.programme), act.at)
    if reasons:
        raise Refused(" ".join(reason.says for reason in reasons))
    values = _read(typed)
    if values.get("strip") == "fail":
        raise Refused("The strip failed: the solution is spent. Fill the bath anew.")
    now_in = baths.filling(act.clinic, load.machine, act.at)
    if now_in is not None and now_in.lot.tag not in load.lots:
        act.tell(facts.LotPut, load=load.load, lot=now_in.lot.tag)
    _put_strip(act, load, strip_lot)
    return values


def expect_over(act: Act, load: Load, *, early: bool) -> None:
    """Refused where the soak was never started, or its time runs and nobody owns to that."""
    if load.state == "filling":
        raise Refused("Its time is measured from the start: say “start the load” first.")
    until = ready_at(act.house, load)
    if until is not None and act.at < until and not early:
        more = span(left_s(until, act.at))
        raise Refused(f"{more} more: it has to stay in until {clock(until, act.house.zone)}.")


def judged(
    act: Act, load: Load, typed: Mapping[str, str], strip_lot: str = ""
) -> tuple[dict[str, str], dict[str, Any] | None]:
    """What was typed, and the fields of a judgement; None while what it needs is missing.

    Whatever was typed at the end without all that is needed is refused, by name. A soak that
    failed by its time alone needs no more to be said.
    """
    given = _read(typed)
    _put_strip(act, load, strip_lot)
    values = {**load.typed, **given}
    started, ended = load.started or act.at, load.ended or act.at
    rules = act.house.rules(started)
    name = agent_of(load.programme)
    limits = agent(rules, name)
    told = cast(Strip | None, values.get("strip"))
    strip = told or _strip_of_the_day(act, load, rules, ended)
    soak = _soak(act, load, values, strip)
    basis = rules.text("soak.basis") if len(limits.contacts) > 1 else None
    asked = ("soak.strip-each-load", *(("soak.basis",) if basis is not None else ()))
    needed = strip_needed(rules, name)
    reasons = agents.why_not_disinfected(soak, limits, basis, strip_needed=needed)
    verdict = worst(reasons)
    missing = _missing(soak, needed)
    if verdict != "fail" and missing:
        if given:
            raise Refused(f"{' '.join(missing)} Without that it cannot be judged.")
        return given, None
    stops, by = stopped_by(rules, name, soak.minutes)
    filled = soak.day_of_use is not None
    return given, {
        "verdict": verdict,
        "reasons": told_of(judgement(reasons, {}).reasons),
        "figures": _figures(soak),
        "rules": rules_used([*behind_agent(rules, name), *(rules[rule] for rule in asked), *by]),
        "stops": stops if filled else (),
        "book": act.house.book.digest,
        "judge": _VERSION,
    }


def _soak(act: Act, load: Load, values: Mapping[str, str], strip: Strip | None) -> Soak:
    started, ended = load.started or act.at, load.ended or act.at
    now_in = baths.filling(act.clinic, load.machine, started)
    minutes = Decimal((ended - started) // timedelta(microseconds=1)) / 60_000_000
    return Soak(
        celsius=Decimal(values["celsius"]) if values.get("celsius") else None,
        # Never rounded up: a time that was missed by a moment is not said to have been kept.
        minutes=minutes.quantize(_HUNDREDTH, ROUND_FLOOR),
        automated=False,
        day_of_use=now_in.day_of_use(started, act.house.zone) if now_in else None,
        strip=strip,
    )


def _missing(soak: Soak, strip_needed: bool) -> list[str]:
    missing = []
    if soak.celsius is None:
        missing.append("Type the temperature of the solution.")
    if strip_needed and soak.strip is None:
        missing.append("Read a test strip of the solution, and say whether it passed.")
    return missing


def _strip_of_the_day(act: Act, load: Load, rules: Rules, ended: datetime) -> Strip | None:
    """The newest strip on the bath's sheet of that day, where the rule book lets it serve."""
    if rules.flag("soak.strip-each-load"):
        return None
    day = act.house.today(ended)
    done = [
        one
        for one in machine_rows.tests_of(act.store, load.machine)
        if one.test == "strip" and one.at <= ended and act.house.today(one.at) == day
    ]
    if not done:
        return None
    return "pass" if done[-1].verdict == "pass" else "fail"


def _figures(soak: Soak) -> dict[str, str]:
    figures = {
        "soak_min": soak.minutes,
        "celsius": soak.celsius,
        "day_of_use": soak.day_of_use,
        "strip": soak.strip,
    }
    return {name: str(value) for name, value in figures.items() if value is not None}


def _read(typed: Mapping[str, str]) -> dict[str, str]:
    """The temperature and the strip as they were typed; what is left empty is left out."""
    try:
        celsius = read_decimal(typed.get("celsius", ""), "Temperature of the solution")
    except BadValue as problem:
        raise Refused(str(problem)) from None
    strip = typed.get("strip", "")
    if strip not in ("", "pass", "fail"):
        raise Refused("Strip: choose passed or failed.")
    values = {"celsius": "" if celsius is None else str(celsius), "strip": strip}
    return {name: value for name, value in values.items() if value}


def _put_strip(act: Act, load: Load, tag: str) -> None:
    if not tag or tag in load.lots:
        return
    lots.serve(act, tag, ("test-strip",))
    act.tell(facts.LotPut, load=load.load, lot=tag)
