"""Letters handed to the mail server, one at a time: claimed, sent, marked.

One instant cannot be made exactly-once by anybody: the server took the letter and we fell over
before we marked it, or its answer was lost. Then the letter goes again under the same Message-ID.
"""

import os
import socket
from datetime import datetime, timedelta

from equip.deliver.post.mail import (
    Mailer,
    MailNoServer,
    MailPutOff,
    MailRefused,
    MailUnsure,
    wait_before,
)
from equip.desk.act.act import Refused
from equip.desk.act.links import Links
from equip.desk.clinic import Clinic
from equip.desk.post.recheck import Recheck
from equip.store.post import agenda, letters, recipients
from equip.store.post.agenda import Job

# Longer than a server may take over one letter, each of its dozen answers at the last moment.
_LEASE = timedelta(minutes=10)
_MOST = 500


def process_name() -> str:
    """What tells this process from others: machine and number."""
    return f"{socket.gethostname()}:{os.getpid()}"


def send_due(clinic: Clinic, mailer: Mailer, links: Links | None) -> int:
    """Send what is due; how many were taken. A server that is not there ends the round.

    Each letter is claimed just before it is sent: a claim that waited behind a slow server could
    run out, and another process would send the same letter.
    """
    sent, recheck = 0, Recheck(clinic)
    for _ in range(_MOST):
        jobs = agenda.claim(
            clinic.store, clinic.clock(), lease=_LEASE, holder=process_name(), limit=1
        )
        if not jobs:
            break
        job = recheck.as_it_stands(jobs[0])
        if job is None:
            continue
        try:
            _send(mailer, job, links)
        except MailPutOff as problem:
            if isinstance(problem, MailUnsure):
                letters.unsure(clinic.store, job.key)
            _put_off(clinic, job, str(problem))
            if isinstance(problem, MailNoServer):
                break
        except MailRefused as problem:
            agenda.given_up(clinic.store, job.key, clinic.clock(), str(problem))
        else:
            agenda.done(clinic.store, job.key, clinic.clock())
            sent += 1
    return sent


def _send(mailer: Mailer, job: Job, links: Links | None) -> None:
    headers = {}
    if links and job.person and job.what == "digest":
        # RFC 2369 and RFC 8058: a mail program's own button; the latter asks for https.
        link = links.stop(job.person, job.address)
        headers["List-Unsubscribe"] = f"<{link}>"
        if link.startswith("https://"):
            headers["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    mailer.send(
        [job.address],
        job.subject,
        job.payload,
        message_id=f"{job.key}@instrument-book",
        headers=headers,
    )


def _put_off(clinic: Clinic, job: Job, says: str) -> None:
    now = clinic.clock()
    most = timedelta(days=clinic.house.rules(now).number("remind.give-up-days"))
    if _waited(job.tries) >= most:
        agenda.given_up(clinic.store, job.key, now, f"Tried for {most.days} days. {says}")
    else:
        agenda.failed(clinic.store, job.key, now, says, now + wait_before(job.tries))


def _waited(tries: int) -> timedelta:
    """How long a letter has waited at least after so many tries."""
    return sum((wait_before(number) for number in range(1, tries)), timedelta(0))


def again(clinic: Clinic, key: str, now: datetime) -> None:
    """Try a letter now, because a person says so, to the address its reader has by now."""
    letter = agenda.letter_of(clinic.store, key)
    if letter is None or not letter.address:
        raise Refused("There is no such letter.")
    if letter.sent is not None:
        raise Refused("That letter has left: it is not sent twice.")
    if letter.withdrawn is not None:
        raise Refused("That letter was withdrawn: what it told of is no longer due.")
    known = {told.person: told.address for told in recipients.recipients(clinic.store)}
    if not letters.again(clinic.store, key, now, known.get(letter.person, letter.address)):
        raise Refused("That letter is just being sent: look again in some minutes.")
