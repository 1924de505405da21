"""The outbox: what left, what waits, what failed and why; and who is written to."""

from datetime import timedelta

from flask import Blueprint, flash, g, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Refused, acting
from equip.desk.post import calendars, readers, send, timings
from equip.store.post import agenda, letters, recipients
from equip.store.readings import clinic_rows
from equip.web.request.forms import chosen, maybe_whole, needed, text
from equip.web.request.guard import NotAllowed, anybody, manager, writer
from equip.web.setup.letters import links

bp = Blueprint("outbox", __name__, url_prefix="/setup")

_LATE = timedelta(minutes=5)


@bp.get("/outbox")
def outbox_page() -> ResponseReturnValue:
    anybody()
    store = g.clinic.store
    beats = recipients.beats(store)
    return render_template(
        "outbox.html",
        waiting=agenda.waiting(store, 200),
        stuck=agenda.stuck(store),
        left=agenda.left(store, 100),
        withdrawn=agenda.withdrawn(store),
        beats=beats,
        late=bool(beats) and g.now - beats[0].at > _LATE,
        has_server=g.clinic.settings.smtp is not None,
    )


@bp.post("/outbox/again")
def again() -> ResponseReturnValue:
    manager()
    send.again(g.clinic, needed("key"), g.now)
    flash("It is tried with the next round of the post, within half a minute.")
    return redirect(url_for("outbox.outbox_page"), code=303)


@bp.post("/outbox/put-away")
def put_away() -> ResponseReturnValue:
    """A letter that failed was seen and dealt with: it stands here no longer."""
    manager()
    if not letters.put_away(g.clinic.store, needed("key")):
        raise Refused("Only a letter that failed is put away.")
    return redirect(url_for("outbox.outbox_page"), code=303)


@bp.get("/reminders")
def reminders() -> ResponseReturnValue:
    person = anybody()
    rules = g.clinic.house.rules(g.now)
    return render_template(
        "reminders.html",
        people={one.person: one for one in recipients.recipients(g.clinic.store)},
        sites=clinic_rows.sites(g.clinic.store),
        calendars=calendars.addresses(g.clinic, links(), person.tag),
        house_addresses=g.clinic.settings.mail_to,
        rules={name: rules[name].value for name in rules if name.startswith("remind.")},
    )


@bp.post("/reminders")
def keep() -> ResponseReturnValue:
    """Where a person's mail goes: a manager says it for anybody, everybody for themselves."""
    person = writer()
    who = needed("person")
    if who != person.tag and not person.manages:
        raise NotAllowed("A practice manager changes where other people's mail goes.")
    sites = tuple(site for site in text("sites").upper().replace(",", " ").split() if site)
    first = chosen("told", ("first", "late")) == "first"
    readers.keep(g.clinic, who, text("address"), sites, first=first)
    if who == person.tag and text("again"):
        recipients.stop(g.clinic.store, who, None)
    return redirect(url_for("outbox.reminders"), code=303)


@bp.get("/reminders/<item>")
def of_thing(item: str) -> ResponseReturnValue:
    anybody()
    return render_template(
        "timings.html",
        item=item,
        timings=timings.timings(g.clinic, item),
        rules=g.clinic.house.rules(g.now),
    )


@bp.post("/reminders/<item>")
def keep_timing(item: str) -> ResponseReturnValue:
    """Own days for one duty of a thing; a field left empty gives it back to the rule."""
    person = manager()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        timings.set_timing(
            act, item, needed("duty"), maybe_whole("lead_days"), maybe_whole("escalate_days")
        )
    return redirect(url_for("outbox.of_thing", item=item), code=303)


@bp.post("/reminders/calendar")
def calendar() -> ResponseReturnValue:
    person = writer()
    subject = needed("subject")
    if subject != person.tag and not person.manages:
        raise NotAllowed("A practice manager renews the address of a site's calendar.")
    calendars.change(g.clinic, subject, is_open=chosen("how", ("renew", "close")) == "renew")
    return redirect(url_for("outbox.reminders"), code=303)
