"""Checks ahead of a session: what is still to do today, written down a thing at a time."""

from datetime import UTC, datetime, time

from flask import Blueprint, abort, flash, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip import typed
from equip.desk.act.act import Refused, acting
from equip.desk.bench import session_acts, session_rooms
from equip.desk.bench.session_today import checks_of, checks_today
from equip.desk.bench.unfinished import unfinished
from equip.desk.people import competence
from equip.rules.fitness.session import KINDS
from equip.rules.wording import several
from equip.web.request.forms import read, text
from equip.web.request.guard import anybody, writer

bp = Blueprint("checks", __name__)


@bp.get("/checks")
def checks_page() -> ResponseReturnValue:
    person = anybody()
    place = request.args.get("place", "")
    found = checks_today(g.clinic, g.now, place)
    return render_template(
        "checks.html",
        found=found,
        place=place,
        places=list(g.clinic.house.places.values()),
        left=unfinished(g.clinic, place, g.now) if any(one.begun for one in found) else (),
        caution=session_acts.CAUTION,
        why=competence.asks_why(g.clinic, person.tag, "check", g.now),
    )


@bp.post("/checks/<tag>")
def record(tag: str) -> ResponseReturnValue:
    """All that was typed of one thing, as one act: one reading that cannot be refuses all."""
    person = writer()
    found = checks_of(g.clinic, tag, g.now)
    if found is None:
        abort(404)
    with acting(g.clinic, person.tag, signed=person.tag, at=_when()) as act:
        who = competence.by_reason(act, "check", text("all_the_same"))
        told = 0
        for asked in found.checks:
            check = asked.line.asked.check
            said, read = text(f"{check}_good"), text(f"{check}_read", 20)
            if not said and not read:
                continue
            good = None if not said else said == "yes"
            if good is None and KINDS[check].measured:
                good = True
            session_acts.record(
                act,
                tag,
                check,
                good=good,
                read=read,
                unit=text(f"{check}_unit"),
                note=text("note"),
                who=who,
            )
            told += 1
        if not told:
            raise Refused("Nothing was filled in: say what was looked at, type what was read.")
    return redirect(url_for("checks.checks_page", place=text("place"), _anchor=tag), code=303)


@bp.post("/checks/over")
def over() -> ResponseReturnValue:
    """The session is over, in one place or everywhere."""
    person = writer()
    place = text("place")
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        if others := session_rooms.benches_with_patient(g.clinic, place, g.now):
            raise Refused(f"A patient is in hand at {several(others)}: finish there first.")
        covered = session_rooms.checked_for(g.clinic, place, "", g.now)
        ended = session_acts.end_session(act, [one.item for one in covered])
    things = "1 thing is" if len(ended) == 1 else f"{len(ended)} things are"
    flash(f"The session is over: {things} to be checked before the next one.")
    return redirect(url_for("checks.checks_page", place=place), code=303)


def _when() -> datetime | None:
    """When it was checked today, by the site's clock; None is now."""
    given = text("when", 5)
    if not given:
        return None
    here = g.now.astimezone(g.clinic.house.zone)
    hour, minute = divmod(read("when", given, typed.minute_of_day), 60)
    at = datetime.combine(here.date(), time(hour, minute), here.tzinfo)
    if at > here:
        raise Refused(f"{given} is still to come: say when it was checked today.")
    return at.astimezone(UTC)
