"""The tick: decides which letters are to be written, writes each once, and sends what is due.

It begins at `beat`, which writes down how the tick went. Nothing is kept in memory. Each kind of
letter is written in one transaction with the marks of what it tells, so a crash at any instant
leaves both or neither, and of several processes one wins.
"""

import hashlib
from collections.abc import Callable, Iterable
from datetime import date, datetime, time

from equip.deliver.post import letters
from equip.deliver.post.digest import HeadLine, digest
from equip.deliver.post.mail import Mailer
from equip.desk.act.links import Links
from equip.desk.clinic import Clinic
from equip.desk.cycles import charts
from equip.desk.lookback.cases import rehearsal
from equip.desk.machines import spores
from equip.desk.post import send
from equip.desk.post.due_reminders import DutyInReach, due_line, reach
from equip.desk.post.readers import Reader, alert_readers, clinic_readers, people_readers, works
from equip.desk.post.recheck import letter_line
from equip.desk.register.stock import stock
from equip.desk.upkeep.due_line import Due
from equip.desk.upkeep.duties import due
from equip.rules.upkeep import reminders
from equip.rules.upkeep.reminders import Works
from equip.scan import show_tag
from equip.store.ledger import ledger
from equip.store.post import agenda, recipients
from equip.store.post.agenda import Job
from equip.store.post.letters import keep_lines
from equip.store.readings import item_rows

_Written = tuple[Job, list[Due]]
"""A letter and what it tells of."""
DutyAtStep = tuple[DutyInReach, int]
"""A duty and the last step of its reminders that today reaches."""


def beat(clinic: Clinic, do: Callable[[], int]) -> int:
    """Do the tick and write down how it went, so that every process and page can see it."""
    try:
        sent = do()
    except Exception as problem:
        says = f"{type(problem).__name__}: {problem}"
        recipients.keep_beat(clinic.store, send.process_name(), clinic.clock(), 0, says)
        raise
    recipients.keep_beat(clinic.store, send.process_name(), clinic.clock(), sent)
    return sent


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
    written += _clinic_digests(clinic, now)
    # Where nobody has an address of their own, the clinic's stands in for what cannot wait.
    people = people_readers(clinic) or clinic_readers(clinic)
    works_on = works(clinic, now)
    today = clinic.house.today(now)
    if not people or not works_on(today) or _quiet_until(clinic, now) > now:
        return written
    in_reach = reach(clinic, now)
    for reader in people:
        mine = [duty for duty in in_reach if reader.is_told_of(duty.site, duty.person)]
        written += _what_stops(clinic, now, reader, mine, works_on)
        if reader.person and not reader.stopped and now >= _digest_time(clinic, now):
            written += _personal_digest(clinic, now, reader, mine, links)
    return written


# --- the clinic's own -----------------------------------------------------------------------


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


def _clinic_digests(clinic: Clinic, now: datetime) -> int:
    """One digest a day to each address of the settings, working day or not: it has the seals."""
    if now < _digest_time(clinic, now):
        return 0
    day = clinic.house.today(now)
    keys = {
        f"digest:{clinic.house.site}:{day}:{reader.address}": reader.address
        for reader in clinic_readers(clinic)
    }
    if not (missing := [key for key in keys if not agenda.exists(clinic.store, key)]):
        return 0
    subject, text, lines = _clinic_letter(clinic, day, now)
    with clinic.store.writing():
        return sum(
            _put(clinic, Job(key, "digest", text, 0, "", keys[key], subject), lines, now)
            for key in missing
        )


def _clinic_letter(clinic: Clinic, day: date, now: datetime) -> tuple[str, str, list[Due]]:
    """The day's letter: what is due, what is odd, the newest seals; and the duties it tells of."""
    found = due(clinic, day, within_days=14)
    heads = [
        HeadLine(site, head.position, head.seal.hex())
        for site, head in sorted(ledger.heads(clinic.store).items())
    ]
    shelf = stock(clinic, now)
    alerts = [f"{len(shelf.lapsing)} things run out of time within a day."] if shelf.lapsing else []
    alerts += spores.late_lines(clinic, now)
    alerts += _odd_machines(clinic, now)
    if stuck := len(agenda.stuck(clinic.store)):
        letters = "1 letter was" if stuck == 1 else f"{stuck} letters were"
        alerts.append(f"{letters} not delivered: the outbox, under Setup, says why.")
    lines = [due_line(duty) for duty in found]
    return *digest(day, clinic.house.name, lines, heads, alerts), found


def _odd_machines(clinic: Clinic, now: datetime) -> list[str]:
    """What the control charts warn of, before a limit is broken."""
    says = []
    for row in item_rows.items(clinic.store):
        if clinic.house.kind(row.type).process is not None:
            name = f"{clinic.house.kind(row.type).name} {show_tag(row.tag)}"
            found = charts.signals(charts.charts(clinic, row.tag, now))
            says += [f"{name}: {signal}" for signal in found]
    return says


def _about_events(clinic: Clinic, now: datetime) -> int:
    """Letters about what acts told of, at any hour; an event waits until there is a reader."""
    readers = alert_readers(clinic)
    events = agenda.events(clinic.store) if readers else []
    written = 0
    for event in events:
        with clinic.store.writing():
            if not agenda.written_about(clinic.store, event.key, now):
                continue
            for reader in readers:
                subject, text = letters.alert(
                    clinic.house.name, event.payload, stopped=reader.stopped is not None
                )
                key = f"{event.key}:{reader.name}"
                letter = Job(key, "alert", text, 0, reader.person, reader.address, subject)
                written += agenda.put_letter(clinic.store, letter, now)
    return written


# --- people ---------------------------------------------------------------------------------


def _what_stops(
    clinic: Clinic, now: datetime, reader: Reader, in_reach: Iterable[DutyInReach], works_on: Works
) -> int:
    """A letter at once about what may not be used, also to those who stopped their reminders."""
    today = clinic.house.today(now)
    reached = [
        (duty, step)
        for duty in in_reach
        if duty.stops
        and (step := reminders.stop_reached(duty.due.next_due, today, works_on)) is not None
    ]

    def write(new: list[DutyAtStep]) -> _Written:
        soon = [duty.line for duty, step in new if step == reminders.STOPS_SOON]
        over = [duty.line for duty, step in new if step == reminders.STOPS]
        subject, text = letters.stopping(
            clinic.house.name, soon, over, stopped=reader.stopped is not None
        )
        told = repr([(duty.key, step) for duty, step in new])
        number = hashlib.sha256(told.encode()).hexdigest()[:20]
        key = f"stops:{reader.name}:{number}"
        letter = Job(key, "stops", text, 0, reader.person, reader.address, subject)
        return letter, [duty.due for duty, _ in new]

    return _write_once(clinic, now, reader, "stops", reached, write)


def _personal_digest(
    clinic: Clinic, now: datetime, reader: Reader, in_reach: list[DutyInReach], links: Links | None
) -> int:
    """At most one a day and only if something is new; the day counts as told either way."""
    today = clinic.house.today(now)
    key = f"digest:{today}:{reader.name}"  # one a day, from however many sites
    if agenda.exists(clinic.store, key):
        return 0
    reached = [
        (duty, step)
        for duty in in_reach
        if (step := duty.step(today, first=reader.first)) is not None
    ]

    def write(new: list[DutyAtStep]) -> _Written:
        keys = {duty.key for duty, _ in new}
        lines = [duty.line for duty, _ in new]
        rest = [duty for duty, _ in reached if duty.key not in keys]
        still = [duty for duty in rest if duty.due.standing == "overdue"]
        stop = links.stop(reader.person, reader.address) if links else ""
        subject, text = letters.personal(
            today, clinic.house.name, lines, [duty.line for duty in still], stop
        )
        letter = Job(key, "digest", text, 0, reader.person, reader.address, subject)
        return letter, [duty.due for duty in (*(duty for duty, _ in new), *still)]

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
    reached: list[DutyAtStep],
    write: Callable[[list[DutyAtStep]], _Written],
) -> int:
    """One letter of the steps that this reader was not told of, marked in the same transaction."""
    if not reached:
        return 0
    since = min(duty.due.next_due for duty, _ in reached)
    known = recipients.told(clinic.store, reader.name, sort, since)
    new = [(duty, step) for duty, step in reached if known.get(duty.key, step - 1) < step]
    if not new:
        return 0
    with clinic.store.writing():
        told = set(
            recipients.tell(
                clinic.store, reader.name, sort, [(duty.key, step) for duty, step in new]
            )
        )
        mine = [(duty, step) for duty, step in new if duty.key in told]
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
