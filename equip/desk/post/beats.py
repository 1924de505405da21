"""One beat, written down: when it ended, how many letters left, what went wrong."""

from collections.abc import Callable

from equip.desk.clinic import Clinic
from equip.desk.post.send import process_name
from equip.store.post import recipients


def beaten(clinic: Clinic, tick: Callable[[], int]) -> int:
    """Do *tick* and write down how it went, so that every process and page can see it."""
    try:
        sent = tick()
    except Exception as problem:
        says = f"{type(problem).__name__}: {problem}"
        recipients.keep_beat(clinic.store, process_name(), clinic.clock(), 0, says)
        raise
    recipients.keep_beat(clinic.store, process_name(), clinic.clock(), sent)
    return sent
