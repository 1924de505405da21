"""A letter looked at once more before it leaves: what it tells of may have been done meanwhile."""

from dataclasses import replace
from datetime import date, datetime, timedelta

from equip.deliver.post.letters import overtaken
from equip.desk.clinic import Clinic
from equip.desk.upkeep.due_line import Due
from equip.desk.upkeep.duties import between
from equip.store.post import letters
from equip.store.post.agenda import Job
from equip.store.post.letters import LetterLine

_HOLDS = timedelta(minutes=1)
_WITHDRAWN = "Withdrawn: what it told of is no longer due."


def letter_line(duty: Due) -> LetterLine:
    """What is kept of one line of a letter until it leaves."""
    return LetterLine(duty.item, duty.duty, duty.next_due, f"{duty.label}: {duty.duty}")


class Recheck:
    """For one round of the post: what is due is read once a minute, not with each letter."""

    def __init__(self, clinic: Clinic) -> None:
        self._clinic = clinic
        self._read_at: datetime | None = None
        self._until = date.min
        self._due: dict[tuple[str, str], date] = {}

    def as_it_stands(self, job: Job) -> Job | None:
        """The letter as it is to leave; None if it was withdrawn.

        One that an earlier try may have delivered keeps its bytes: it is the same letter again.
        The clinic's daily one has the seals and leaves whatever was done.
        """
        lines = letters.lines(self._clinic.store, job.key)
        gone = self._gone(lines) if lines else []
        if not gone:
            return job
        reader = "" if job.unsure else job.person or job.address
        has_seals = job.what == "digest" and not job.person
        if len(gone) == len(lines) and not has_seals:
            says = f"{_WITHDRAWN} An earlier try may have arrived." if job.unsure else _WITHDRAWN
            now = self._clinic.clock()
            letters.withdraw(self._clinic.store, job.key, now, says, gone, reader)
            return None
        if job.unsure:
            return job
        payload = overtaken(job.payload, [line.line for line in gone])
        letters.amend(self._clinic.store, job.key, payload, gone, reader)
        return replace(job, payload=payload)

    def _gone(self, lines: list[LetterLine]) -> list[LetterLine]:
        """Those that are not due any more by the day they were told for: met, moved or dropped."""
        self._read(max(line.due for line in lines))
        return [
            line for line in lines if self._due.get((line.item, line.duty), date.max) > line.due
        ]

    def _read(self, until: date) -> None:
        now = self._clinic.clock()
        if self._read_at is None or now - self._read_at >= _HOLDS or until > self._until:
            today = self._clinic.house.today(now)
            found = between(self._clinic, today, None, max(until, self._until))
            self._due = {(duty.item, duty.duty): duty.next_due for duty in found}
            self._read_at, self._until = now, max(until, self._until)
