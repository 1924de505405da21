"""Links that need no signing in, the outbox, and calendars as other programs read them."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import icalendar
import pytest
from flask import Flask
from flask.testing import FlaskClient

from equip.desk.act.act import acting
from equip.desk.act.links import Links
from equip.desk.post import readers
from equip.desk.upkeep import duties, duty_acts
from equip.store.post import agenda, letters, recipients
from equip.store.post.agenda import Job
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
NELL = "nell@clinic.example"


@pytest.fixture
def links(play: Play) -> Links:
    return Links("", b"secret of the tests")


@pytest.fixture
def stop(play: Play, links: Links) -> str:
    """The nurse's own link."""
    readers.keep(play.clinic, play.people["nurse"], NELL, (), first=True)
    return links.stop(play.people["nurse"], NELL)


def stopped(play: Play) -> bool:
    return recipients.recipients(play.clinic.store)[0].stopped is not None


# --- stopping -----------------------------------------------------------------------------------


def test_looking_at_the_link_stops_nothing_and_its_button_stops_reminders_without_signing_in(
    app: Flask, play: Play, stop: str
) -> None:
    app.config["WTF_CSRF_ENABLED"] = True
    browser = app.test_client()

    asked = browser.get(stop)
    looked = stopped(play)
    done = browser.post(stop, data={"List-Unsubscribe": "One-Click"})

    assert (asked.status_code, looked, stopped(play)) == (200, False, True)
    assert "What may not be used" in asked.text and "is told all the same" in done.text
    browser.post(stop, data={"again": "yes"})
    assert not stopped(play)


def test_a_link_for_another_person_or_an_old_address_opens_nothing(
    app: Flask, play: Play, stop: str
) -> None:
    browser = app.test_client()
    other = stop.replace(play.people["nurse"], play.people["manager"])
    readers.keep(play.clinic, play.people["manager"], "mo@clinic.example", (), first=True)
    readers.keep(play.clinic, play.people["nurse"], "nell.ash@clinic.example", (), first=True)

    answers = [browser.post(one).status_code for one in (stop, other, stop[:-1] + "x", stop + "é")]

    assert answers == [404, 404, 404, 404]
    assert not stopped(play)


def test_an_address_that_is_none_is_refused_with_a_sentence(signed_in: SignIn, play: Play) -> None:
    form = {"person": play.people["nurse"], "address": "nell at home", "told": "first"}

    answer = signed_in("nurse").post("/setup/reminders", data=form)

    assert answer.status_code == 400
    assert "is no mail address" in answer.text


def test_a_nurse_sets_her_own_address_and_nobody_elses(signed_in: SignIn, play: Play) -> None:
    nurse = signed_in("nurse")
    form = {"address": NELL, "told": "first"}

    own = nurse.post("/setup/reminders", data={"person": play.people["nurse"], **form})
    other = nurse.post("/setup/reminders", data={"person": play.people["manager"], **form})

    assert (own.status_code, other.status_code) == (303, 403)
    assert [one.address for one in recipients.recipients(play.clinic.store)] == [NELL]


# --- the outbox ----------------------------------------------------------------------------------


def test_the_outbox_says_what_left_waits_and_failed_and_tries_again_by_hand(
    signed_in: SignIn, play: Play
) -> None:
    store, now = play.clinic.store, play.clock.now
    with store.writing():
        for key in ("left", "waits", "failed"):
            letter = Job(key, "digest", f"text of {key}", 0, "", NELL, f"Subject {key}")
            agenda.put_letter(store, letter, now + timedelta(hours=key == "waits"))
    agenda.done(store, "left", now)
    agenda.given_up(store, "failed", now, "550 no such mailbox")
    recipients.keep_beat(store, "clinic:7", now - timedelta(minutes=6), 1)
    manager = signed_in("manager")

    page = manager.get("/setup/outbox").text
    answer = manager.post("/setup/outbox/again", data={"key": "failed"})

    failed, waits, left = re.split("<h2>(?:Waiting|Left)</h2>", page)
    assert "550 no such mailbox" in failed and "Subject waits" in waits and "Subject left" in left
    assert "No round of the post for over five minutes" in page
    assert answer.status_code == 303
    assert agenda.stuck(store) == []
    again = manager.post("/setup/outbox/again", data={"key": "left"})
    assert (again.status_code, "is not sent twice" in again.text) == (400, True)


def test_a_letter_that_failed_is_put_away_by_a_manager_and_no_other_letter_is(
    signed_in: SignIn, play: Play
) -> None:
    store, now = play.clinic.store, play.clock.now
    with store.writing():
        for key in ("waits", "failed"):
            agenda.put_letter(store, Job(key, "digest", "text", 0, "", NELL, "Subject"), now)
    agenda.given_up(store, "failed", now, "550 no such mailbox")

    nurse = signed_in("nurse").post("/setup/outbox/put-away", data={"key": "failed"})
    manager = signed_in("manager")
    done = manager.post("/setup/outbox/put-away", data={"key": "failed"})
    twice = manager.post("/setup/outbox/put-away", data={"key": "failed"})
    waits = manager.post("/setup/outbox/put-away", data={"key": "waits"})

    answers = [one.status_code for one in (nurse, done, twice, waits)]
    assert answers == [403, 303, 400, 400]
    assert agenda.stuck(store) == []
    assert [one.key for one in agenda.waiting(store)] == ["waits"]


def test_a_letter_that_was_withdrawn_stands_apart_with_its_reason(
    signed_in: SignIn, play: Play
) -> None:
    store, now = play.clinic.store, play.clock.now
    with store.writing():
        agenda.put_letter(store, Job("k", "digest", "text", 0, "", NELL, "Subject gone"), now)
    letters.withdraw(store, "k", now, "Withdrawn: what it told of is no longer due.", [], NELL)
    manager = signed_in("manager")

    waits, withdrawn = manager.get("/setup/outbox").text.split("<h2>Withdrawn</h2>")
    again = manager.post("/setup/outbox/again", data={"key": "k"})

    assert "Subject gone" in withdrawn and "no longer due" in withdrawn
    assert "Nothing waits." in waits and again.status_code == 400


# --- calendars -----------------------------------------------------------------------------------


def feed(app: Flask, play: Play, links: Links, subject: str, number: int = 1) -> icalendar.Calendar:
    answer = app.test_client().get(links.calendar(subject, number))
    assert answer.status_code == 200
    assert answer.content_type == "text/calendar; charset=utf-8"
    assert all(len(line) <= 75 for line in answer.data.split(b"\r\n"))
    return icalendar.Calendar.from_ical(answer.data)


def a_duty(play: Play, on: date, name: str = "service") -> str:
    pump = play.add("suction-pump")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, pump, name, on, every_months=1, grounds=True)
    return pump


def test_a_calendar_read_by_another_reader_keeps_its_uid_and_raises_its_sequence(
    app: Flask, play: Play, links: Links, signed_in: SignIn
) -> None:
    pump = a_duty(play, date(2026, 3, 31), "service; filter, hose — “the long one” " + "ä" * 60)
    signed_in("manager").post(
        "/setup/reminders/calendar", data={"subject": "site-TEST", "how": "renew"}
    )

    [first] = feed(app, play, links, "site-TEST").events
    play.clock.passes(days=1)
    [same] = feed(app, play, links, "site-TEST").events
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty = duties.due(play.clinic, date(2026, 3, 5))[0].duty
        duty_acts.meet_duty(act, pump, duty, date(2026, 3, 5))
    [moved] = feed(app, play, links, "site-TEST").events

    assert first["SUMMARY"].startswith("Service; filter, hose — “the long one” ää")
    assert first["DTSTART"].dt == date(2026, 3, 31)
    assert "may not be used" in first["DESCRIPTION"]
    assert (first["SEQUENCE"], same["SEQUENCE"], moved["SEQUENCE"]) == (0, 0, 1)
    assert first["UID"] == moved["UID"]
    assert first["DTSTAMP"].dt == same["DTSTAMP"].dt < moved["DTSTAMP"].dt
    assert moved["DTSTART"].dt == date(2026, 4, 30)


def test_what_did_not_change_is_not_sent_again(
    app: Flask, play: Play, links: Links, signed_in: SignIn
) -> None:
    a_duty(play, date(2026, 3, 31))
    signed_in("nurse").post(
        "/setup/reminders/calendar", data={"subject": play.people["nurse"], "how": "renew"}
    )
    browser, link = app.test_client(), links.calendar(play.people["nurse"], 1)
    tag = browser.get(link).headers["ETag"]
    play.clock.passes(hours=5)

    same = browser.get(link, headers={"If-None-Match": tag})
    a_duty(play, date(2026, 4, 1))
    other = browser.get(link, headers={"If-None-Match": tag})

    assert (same.status_code, same.data, other.status_code) == (304, b"", 200)


def test_a_renewed_address_ends_the_old_one_and_a_closed_one_ends_both(
    app: Flask, play: Play, links: Links, signed_in: SignIn
) -> None:
    nurse, me = signed_in("nurse"), play.people["nurse"]
    for _ in range(2):
        nurse.post("/setup/reminders/calendar", data={"subject": me, "how": "renew"})
    browser = app.test_client()
    seen = [browser.get(links.calendar(me, number)).status_code for number in (0, 1, 2, 3)]

    nurse.post("/setup/reminders/calendar", data={"subject": me, "how": "close"})

    assert seen == [404, 404, 200, 404]
    assert browser.get(links.calendar(me, 2)).status_code == 404
    assert browser.get(links.calendar(me, -2)).status_code == 404


def test_a_calendar_never_opened_is_closed_also_to_its_right_signature(
    app: Flask, play: Play, links: Links
) -> None:
    assert app.test_client().get(links.calendar("site-TEST", 0)).status_code == 404


def test_whoever_left_reads_no_calendar_any_more(
    app: Flask, play: Play, links: Links, signed_in: SignIn
) -> None:
    me = play.people["nurse"]
    signed_in("nurse").post("/setup/reminders/calendar", data={"subject": me, "how": "renew"})
    form = {"tag": me, "name": "Nell Ash", "role": "nurse", "left": "yes"}
    signed_in("manager").post("/setup/people", data=form)

    assert app.test_client().get(links.calendar(me, 1)).status_code == 404


def test_a_person_reads_of_their_sites_alone(
    app: Flask, play: Play, links: Links, signed_in: SignIn
) -> None:
    a_duty(play, date(2026, 3, 31))
    me = play.people["nurse"]
    signed_in("nurse").post("/setup/reminders/calendar", data={"subject": me, "how": "renew"})
    one = recipients.Recipient(me, NELL, ("OTHER",))
    recipients.keep(play.clinic.store, one)
    none = len(feed(app, play, links, me).events)
    recipients.keep(play.clinic.store, replace(one, sites=("TEST",)))

    assert (none, len(feed(app, play, links, me).events)) == (0, 1)
