"""Checks of soaking, mixing, keeping and waiting: `soak dilution pack scope wait due`."""

from datetime import timedelta
from typing import cast

from equip.cli.check import reading as read
from equip.cli.check.answering import Answer, Checks, judged
from equip.cli.check.reading import Given, Unreadable
from equip.rulebook import Rules
from equip.rulebook.fitness import SHELF, agent, agent_names, behind_agent, shelf_limits
from equip.rules.fitness import agents, clocks, shelf
from equip.rules.upkeep.due_check import check_due
from equip.rules.verdict import Reason

_PLACES = ("store", "clinical", "clean-room")


# --- liquids ------------------------------------------------------------------------------


def soak(given: Given, rules: Rules) -> Answer:
    """Whether a soak disinfected: contact time, heat, age of the solution, test strip."""
    read.only(given, "agent", "celsius", "minutes", "automated", "day_of_use", "strip", "basis")
    name = read.word_needed(given, "agent", agent_names(rules))
    done = agents.Soak(
        celsius=read.exact(given, "celsius", least=0, most=100),
        minutes=read.exact(given, "minutes", least=0),
        automated=read.flag(given, "automated"),
        day_of_use=read.whole(given, "day_of_use", least=0),
        strip=cast(agents.Strip | None, read.word(given, "strip", ("pass", "fail", "none"))),
    )
    basis = read.word(given, "basis", ("label", "society"))
    needed = rules.flag("soak.strip-each-load")
    reasons = agents.why_not_disinfected(done, agent(rules, name), basis, strip_needed=needed)
    return judged(reasons, [*behind_agent(rules, name), rules["soak.strip-each-load"]])


def dilution(given: Given) -> Answer:
    """Strength of a mixture from its volumes, or the volumes for a strength."""
    read.only(given, "stock_percent", "stock_ml", "water_ml", "target_ppm", "total_ml")
    percent = read.exact_needed(given, "stock_percent", above=0, most=100)
    mixing = _asked(given, "stock_ml", "water_ml")
    if mixing == _asked(given, "target_ppm", "total_ml"):
        raise Unreadable(
            "Give either “stock_ml” and “water_ml”, or “target_ppm” and “total_ml”: "
            "one pair of the two."
        )
    if mixing:
        stock = read.exact_needed(given, "stock_ml", above=0)
        water = read.exact_needed(given, "water_ml", least=0)
        return {"ppm": float(agents.strength_ppm(percent, stock, water))}
    target = read.exact_needed(given, "target_ppm", above=0)
    total = read.exact_needed(given, "total_ml", above=0)
    try:
        stock_ml, water_ml = agents.volumes_ml(percent, target, total)
    except agents.TooWeak as fault:
        raise Unreadable(str(fault)) from fault
    return {"stock_ml": float(stock_ml), "water_ml": float(water_ml)}


def _asked(given: Given, *names: str) -> bool:
    return any(given.get(name) is not None for name in names)


# --- keeping ------------------------------------------------------------------------------


def pack(given: Given, rules: Rules) -> Answer:
    """The last day of a pack, and whether the day of use is still within it."""
    read.only(given, "made", "wrapped", "place", "steriliser", "at")
    made = read.day_or_stamp(given, "made")
    if made is None:
        raise Unreadable("“made” is missing; give the day it was sterilised as YYYY-MM-DD.")
    at = read.day_or_stamp(given, "at")
    made_on, at_on = read.day_of(made), None if at is None else read.day_of(at)
    if at_on is not None and at_on < made_on:
        raise Unreadable("“at” is a day before “made”; mend one of them.")
    wrapped = read.flag_needed(given, "wrapped")
    place = read.word(given, "place", _PLACES) or ""
    steriliser = read.word(given, "steriliser", ("vacuum", "none"))
    if wrapped and steriliser is None:
        raise Unreadable("“steriliser” is missing; give one of vacuum, none for a wrapped pack.")
    try:
        use_by = shelf.last_day(
            made_on,
            wrapped=wrapped,
            place=place,
            limits=shelf_limits(rules),
            packed_after=wrapped and steriliser == "none",
        )
    except OverflowError as fault:
        raise Unreadable("“made” is too near the end of the calendar; mend it.") from fault
    return judged(
        [*_wrapping(wrapped, steriliser), *shelf.why_pack_stale(use_by, at_on)],
        [rules[_pack_rule(wrapped, place, steriliser)]],
        use_by=None if use_by is None else use_by.isoformat(),
    )


def _wrapping(wrapped: bool, steriliser: str | None) -> list[Reason]:
    if not (wrapped and steriliser == "none"):
        return []
    says = "Without a vacuum it was wrapped after sterilising, not before: the limit is for that."
    return [Reason("wrapped-after", says, spoils="pass")]


def _pack_rule(wrapped: bool, place: str, steriliser: str | None) -> str:
    if wrapped:
        return SHELF["packed_after_days" if steriliser == "none" else "wrapped_days"]
    in_clean_room = place in ("store", "clean-room")
    return SHELF["unwrapped_clean_days" if in_clean_room else "unwrapped_clinical_days"]


def scope(given: Given, rules: Rules) -> Answer:
    """Whether a processed scope may be used now or needs processing first."""
    read.only(given, "optic", "finished", "used", "cabinet", "processed")
    optic = read.word_needed(given, "optic", ("flexible", "rigid"))
    finished, used = read.stamp(given, "finished"), read.stamp(given, "used")
    if used < finished:
        raise Unreadable("“used” is before “finished”; mend one of them.")
    processed = read.word_needed(given, "processed", ("disinfected", "sterilised-wrapped"))
    wrapped = processed == "sterilised-wrapped"
    try:
        reasons = shelf.why_scope_stale(
            optic,
            finished,
            used,
            in_cabinet=bool(read.flag(given, "cabinet")),
            sterilised_wrapped=wrapped,
            limits=shelf_limits(rules),
        )
    except OverflowError as fault:
        raise Unreadable("“finished” is too near the end of the calendar; mend it.") from fault
    limit = "wrapped_days" if wrapped else f"{optic}_hours"
    return judged(reasons, [rules[SHELF[limit]]])


# --- waiting and falling due --------------------------------------------------------------


def wait(given: Given, rules: Rules) -> Answer:
    """Whether cleaning began soon enough after use."""
    read.only(given, "ended", "cleaning_started", "kept_moist")
    ended, started = read.stamp(given, "ended"), read.stamp(given, "cleaning_started")
    if started < ended:
        raise Unreadable("“cleaning_started” is before “ended”; mend one of them.")
    moist = bool(read.flag(given, "kept_moist"))
    rule = "wait.use-to-clean-moist-minutes" if moist else "wait.use-to-clean-minutes"
    return judged(
        clocks.why_too_late(ended, started, rules.whole(rule)),
        [rules[rule]],
        minutes=(started - ended) / timedelta(minutes=1),
    )


def due(given: Given) -> Answer:
    """The next due day of a duty that comes round, and how it stands."""
    try:
        return check_due(given)
    except ValueError as fault:
        raise Unreadable(str(fault)) from fault


CHECKS = Checks(
    figures={"dilution": dilution, "due": due},
    by_rules={"soak": soak, "pack": pack, "scope": scope, "wait": wait},
)
