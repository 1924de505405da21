"""The tick that sends word out of the house: the daily digest, and what is told at once."""

import json
import socket
from collections.abc import Callable
from datetime import date, datetime, time, timedelta

from equip.deliver.digest import DueLine, HeadLine, digest
from equip.deliver.mail import Mailer, MailPartlyRefused, MailPutOff, MailRefused, wait_before
from equip.desk import charts, rehearsal, spores
from equip.desk.clinic import Clinic
from equip.desk.stock import stock
from equip.desk.upkeep import due
from equip.scan import show_tag
from equip.store import agenda, ledger, readings

_LEASE = timedelta(minutes=5)


def tick(clinic: Clinic, mailer: Mailer | None, keep_heads: Callable[[datetime], None]) -> int:
    """Put today's digest on the agenda if it is time, send what is due, and run the rehearsal of
    the night; how many were sent.

    All state is in the agenda: several processes, a crash at any instant or a week of downtime
    lose nothing and send nothing twice that was marked as sent.
    """
    now = clinic.clock()
    _plan_digest(clinic, now, keep_heads)
    sent = _send_due(clinic, mailer, now)
    rehearsal.run_if_due(clinic, now)  # last: no mail waits for it
    return sent


def _send_due(clinic: Clinic, mailer: Mailer | None, now: datetime) -> int:
    if mailer is None or not clinic.settings.mail_to:
        return 0
    sent = 0
    holder = f"{socket.gethostname()}:{id(clinic)}"
    for job in agenda.claim(clinic.store, now, lease=_LEASE, holder=holder, limit=20):
        try:
            subject, text = _compose(clinic, job.what, job.payload, now)
            mailer.send(
                clinic.settings.mail_to, subject, text, message_id=f"{job.key}@instrument-book"
            )
        except MailPutOff as problem:
            agenda.failed(clinic.store, job.key, now, str(problem), now + wait_before(job.tries))
        except MailPartlyRefused as problem:
            # It went out, though not to everybody: sending it again would reach some twice.
            agenda.done(clinic.store, job.key, clinic.clock(), str(problem))
            sent += 1
        except MailRefused as problem:
            later = now + timedelta(days=1)
            agenda.failed(clinic.store, job.key, now, str(problem), later)
        else:
            agenda.done(clinic.store, job.key, clinic.clock())
            sent += 1
    return sent


def _plan_digest(clinic: Clinic, now: datetime, keep_heads: Callable[[datetime], None]) -> None:
    """One digest a day, at the clinic's hour; its key is its day, so it is put there once."""
    local = now.astimezone(clinic.house.zone)
    at = datetime.combine(local.date(), _hour(clinic.settings.digest_at), clinic.house.zone)
    key = f"digest:{clinic.house.site}:{local.date()}"
    if local < at or agenda.exists(clinic.store, key):
        return
    with clinic.store.writing():
        payload = json.dumps({"day": local.date().isoformat()})
        agenda.put(clinic.store, key, now, "digest", payload)
    keep_heads(now)


def _hour(text: str) -> time:
    return time.fromisoformat(text)


def _compose(clinic: Clinic, what: str, payload: str, now: datetime) -> tuple[str, str]:
    if what == "digest":
        return _digest(clinic, date.fromisoformat(json.loads(payload)["day"]), now)
    return f"{clinic.house.name}: {payload[:80]}", f"{payload}\n\nThe Instrument Book\n"


def _digest(clinic: Clinic, day: date, now: datetime) -> tuple[str, str]:
    lines = [
        DueLine(d.label, d.duty, d.next_due, d.standing, d.stops, d.place)
        for d in due(clinic, day, within_days=14)
    ]
    heads = [
        HeadLine(site, head.position, head.seal.hex())
        for site, head in sorted(ledger.heads(clinic.store).items())
    ]
    shelf = stock(clinic, now)
    alerts = [f"{len(shelf.lapsing)} things run out of time within a day."] if shelf.lapsing else []
    alerts += spores.late_lines(clinic, now)
    alerts += _odd_machines(clinic, now)
    return digest(day, clinic.house.name, lines, heads, alerts)


def _odd_machines(clinic: Clinic, now: datetime) -> list[str]:
    """What the control charts warn of, before a limit is broken."""
    says = []
    for row in readings.items(clinic.store):
        if clinic.house.kind(row.type).process is not None:
            name = f"{clinic.house.kind(row.type).name} {show_tag(row.tag)}"
            found = charts.signals(charts.charts(clinic, row.tag, now))
            says += [f"{name}: {one}" for one in found]
    return says
