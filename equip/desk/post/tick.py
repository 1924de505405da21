"""The tick: decides which letters are to be written, writes each once, and sends what is due.

Nothing is kept in memory. Each kind of letter is written in one transaction with the marks of
what it tells, so a crash at any instant leaves both or neither, and of several processes one wins.
"""

import hashlib
from collections.abc import Callable, Iterable
from datetime import datetime, time

from equip.deliver.post import letters
from equip.deliver.post.mail import Mailer
from equip.desk.act.links import Links
from equip.desk.clinic import Clinic
from equip.desk.lookback.cases import rehearsal
from equip.desk.post import send
from equip.desk.post.due_reminders import Ahead, reach
from equip.desk.post.house_letter import house_letter
from equip.desk.post.readers import Reader, alert_readers, house_readers, people_readers, works
from equip.desk.post.recheck import letter_line
from equip.desk.upkeep.due_line import Due
from equip.rules.upkeep import reminders
from equip.rules.upkeep.reminders import Works
from equip.store.post import agenda, recipients
from equip.store.post.agenda import Job
from equip.store.post.letters import keep_lines

_Written = tuple[Job, list[Due]]
"""A letter and what it tells of."""


def tick(
    clinic: Clinic,
    mailer: Mailer | None,
    keep_heads: Callable[[datetime], None],
    links: Links | None = None,
) -> int:
    """Write what letters are to be written by now and send what is due; how many were sent."""
    now = clinic.clock()
    _keep_heads_once_a_day(clinic, now, keep_heads)
    sent = 0 if mailer is None else _letters(clinic, mailer, now, links)
    rehearsal.run_if_due(clinic, now)  # last: no mail waits for it
    return sent


def _letters(clinic: Clinic, mailer: Mailer, now: datetime, links: Links | None) -> int:
    """What is to be written now, and what waits, sent; how many."""
    try:
        plan(clinic, now, links)
    finally:  # what is written already leaves, whatever is wrong with the rest
        sent = send.send_due(clinic, mailer, links)
    return sent


def plan(clinic: Clinic, now: datetime, links: Links | None = None) -> int:
    """Write the letters that are to be written by *now*; how many there were."""
    written = _about_events(clinic, now)
    written += _house_digests(clinic, now)
    # Where nobody has an address of their own, the house's stands in for what cannot wait.
    people = people_readers(clinic) or house_readers(clinic)
    works_on = works(clinic, now)
    today = clinic.house.today(now)
    if not people or not works_on(today) or _quiet_until(clinic, now) > now:
        return written
    ahead = reach(clinic, now)
    for reader in people:
        mine = [one for one in ahead if reader.is_told_of(one.site, one.person)]
        written += _what_stops(clinic, now, reader, mine, works_on)
        if reader.person and not reader.stopped and now >= _digest_time(clinic, now):
            written += _personal_digest(clinic, now, reader, mine, links)
    return written


# --- the house's own ------------------------------------------------------------------------


def _keep_heads_once_a_day(
    clinic: Clinic, now: datetime, keep_heads: Callable[[datetime], None]
) -> None:
    if now < _digest_time(clinic, now):
        return
    key = f"heads:{clinic.house.site}:{clinic.house.today(now)}"
    if not agenda.exists(clinic.store, key):
        keep_heads(now)
        with clinic.store.writing():
            agenda.put_nothing(clinic.store, key, now)


def _house_digests(clinic: Clinic, now: datetime) -> int:
    """One digest a day to each address of the settings, working day or not: it has the seals."""
    if now < _digest_time(clinic, now):
        return 0
    day = clinic.house.today(now)
    keys = {
        f"digest:{clinic.house.site}:{day}:{one.address}": one.address
        for one in house_readers(clinic)
    }
    if not (missing := [key for key in keys if not agenda.exists(clinic.store, key)]):
        return 0
    subject, text, lines = house_letter(clinic, day, now)
    with clinic.store.writing():
        return sum(
            _put(clinic, Job(key, "digest", text, 0, "", keys[key], subject), lines, now)
            for key in missing
        )


def _about_events(clinic: Clinic, now: datetime) -> int:
    """Letters about what acts told of, at any hour; an event waits until there is a reader."""
    readers = alert_readers(clinic)
    events = agenda.events(clinic.store) if readers else []
    written = 0
    for event in events:
        with clinic.store.writing():
            if not agenda.written_about(clinic.store, event.key, now):
                continue
            for one in readers:
                subject, text = letters.alert(
                    clinic.house.name, event.payload, stopped=one.stopped is not None
                )
                key = f"{event.key}:{one.name}"
                letter = Job(key, "alert", text, 0, one.person, one.address, subject)
                written += agenda.put_letter(clinic.store, letter, now)
    return written


# --- people ---------------------------------------------------------------------------------


def _what_stops(
    clinic: Clinic, now: datetime, reader: Reader, ahead: Iterable[Ahead], works_on: Works
) -> int:
    """A letter at once about what may not be used, also to those who stopped their reminders."""
    today = clinic.house.today(now)
    reached = [
        (one, step)
        for one in ahead
        if one.stops
        and (step := reminders.stop_reached(one.due.next_due, today, works_on)) is not None
    ]

    def write(new: list[tuple[Ahead, int]]) -> _Written:
        soon = [one.line for one, step in new if step == reminders.STOPS_SOON]
        over = [one.line for one, step in new if step == reminders.STOPS]
        subject, text = letters.stopping(
            clinic.house.name, soon, over, stopped=reader.stopped is not None
        )
        told = repr([(one.key, step) for one, step in new])
        number = hashlib.sha256(told.encode()).hexdigest()[:20]
        key = f"stops:{reader.name}:{number}"
        letter = Job(key, "stops", text, 0, reader.person, reader.address, subject)
        return letter, [one.due for one, _ in new]

    return _write_once(clinic, now, reader, "stops", reached, write)


def _personal_digest(
    clinic: Clinic, now: datetime, reader: Reader, ahead: list[Ahead], links: Links | None
) -> int:
    """At most one a day and only if something is new; the day counts as told either way."""
    today = clinic.house.today(now)
    key = f"digest:{today}:{reader.name}"  # one a day, from however many sites
    if agenda.exists(clinic.store, key):
        return 0
    reached = [
        (one, step) for one in ahead if (step := one.step(today, first=reader.first)) is not None
    ]

    def write(new: list[tuple[Ahead, int]]) -> _Written:
        keys = {one.key for one, _ in new}
        lines = [one.line for one, _ in new]
        rest = [one for one, _ in reached if one.key not in keys]
        still = [one for one in rest if one.due.standing == "overdue"]
        stop = links.stop(reader.person, reader.address) if links else ""
        subject, text = letters.personal(
            today, clinic.house.name, lines, [one.line for one in still], stop
        )
        letter = Job(key, "digest", text, 0, reader.person, reader.address, subject)
        return letter, [one.due for one in (*(one for one, _ in new), *still)]

    if written := _write_once(clinic, now, reader, "digest", reached, write):
        return written
    with clinic.store.writing():
        agenda.put_nothing(clinic.store, key, now)
    return 0


def _write_once(
    clinic: Clinic,
    now: datetime,
    reader: Reader,
    sort: str,
    reached: list[tuple[Ahead, int]],
    write: Callable[[list[tuple[Ahead, int]]], _Written],
) -> int:
    """One letter of the steps that this reader was not told of, marked in the same transaction."""
    if not reached:
        return 0
    since = min(one.due.next_due for one, _ in reached)
    known = recipients.told(clinic.store, reader.name, sort, since)
    new = [(one, step) for one, step in reached if known.get(one.key, step - 1) < step]
    if not new:
        return 0
    with clinic.store.writing():
        told = set(
            recipients.tell(clinic.store, reader.name, sort, [(one.key, step) for one, step in new])
        )
        mine = [(one, step) for one, step in new if one.key in told]
        return int(bool(mine)) and _put(clinic, *write(mine), now)


def _put(clinic: Clinic, letter: Job, about: Iterable[Due], now: datetime) -> int:
    """The letter and what it tells of, in the transaction of its marks; whether it is new."""
    if not agenda.put_letter(clinic.store, letter, now):
        return 0
    keep_lines(clinic.store, letter.key, map(letter_line, about))
    return 1


# --- hours ----------------------------------------------------------------------------------


def _digest_time(clinic: Clinic, now: datetime) -> datetime:
    zone = clinic.house.zone
    hour = time.fromisoformat(clinic.settings.digest_at)
    return datetime.combine(clinic.house.today(now), hour, zone)


def _quiet_until(clinic: Clinic, now: datetime) -> datetime:
    """*now*, or when the quiet hours end that it falls into."""
    rules = clinic.house.rules(now)
    hours = [time.fromisoformat(rules.text(f"remind.quiet-{end}")) for end in ("from", "until")]
    return reminders.after_quiet(now, hours[0], hours[1], clinic.house.zone)
