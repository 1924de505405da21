"""The beat: calls one function at a steady rate in the background, and remembers how that went.

It is no memory. What is due stands in the agenda, so a beat that is lost or late loses nothing;
each one works off everything that is due by then.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from threading import Lock
from typing import Any

from apscheduler.events import EVENT_JOB_ERROR, EVENT_JOB_EXECUTED
from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.schedulers.background import BackgroundScheduler

from equip.clock import Clock, utc_now

_JOB = "tick"


@dataclass(frozen=True, slots=True)
class TickError:
    """What a beat ended with instead of ending well."""

    at: datetime
    says: str


@dataclass(frozen=True, slots=True)
class _Sofar:
    """All that is remembered, replaced whole, so that no page reads half of a change."""

    ticks: int = 0
    last_tick: datetime | None = None
    last_error: TickError | None = None
    is_well: bool = True


class Metronome:
    """Calls *tick* every *every_s* seconds, the first time one interval after the start.

    Never two at once: while one runs, the beats that fall into it are let go. *tick* may raise
    anything; the next beat comes all the same. Run it in one process.
    """

    def __init__(
        self, tick: Callable[[], None], every_s: float = 30.0, clock: Clock = utc_now
    ) -> None:
        if every_s <= 0:
            raise ValueError(f"A beat needs more than 0 seconds; {every_s} was read.")
        self._tick = tick
        self._every_s = every_s
        self._clock = clock
        self._so_far = _Sofar()
        self._one_at_a_time = Lock()
        self._scheduler: Any = None

    @property
    def ticks(self) -> int:
        """How many ended, well or not."""
        return self._so_far.ticks

    @property
    def last_tick(self) -> datetime | None:
        """When the last one ended, well or not; None before the first."""
        return self._so_far.last_tick

    @property
    def last_error(self) -> TickError | None:
        """The last that did not end well. It stays, with its time, when later ones do."""
        return self._so_far.last_error

    @property
    def is_well(self) -> bool:
        """Whether the last beat ended without an error; a beat that has not come yet is well."""
        return self._so_far.is_well

    @property
    def running(self) -> bool:
        return self._scheduler is not None

    def start(self) -> None:
        """Start the beat; one that runs already goes on as it is."""
        if self._scheduler is not None:
            return
        # A scheduler that was shut down keeps its dead threads: each start gets a new one.
        scheduler = BackgroundScheduler(
            timezone=UTC, executors={"default": ThreadPoolExecutor(max_workers=1)}
        )
        scheduler.add_listener(self._ended, EVENT_JOB_EXECUTED | EVENT_JOB_ERROR)
        scheduler.add_job(
            self._tick,
            "interval",
            seconds=self._every_s,
            id=_JOB,
            coalesce=True,
            max_instances=1,
            misfire_grace_time=None,
        )
        scheduler.start()
        self._scheduler = scheduler

    def stop(self) -> None:
        """Stop the beat and wait for the one that runs; nothing happens if it is stopped."""
        scheduler, self._scheduler = self._scheduler, None
        if scheduler is not None:
            scheduler.shutdown(wait=True)

    def _ended(self, event: Any) -> None:
        """Heard after each beat, on the thread that beats or, at times, on the scheduler's."""
        now, error = self._clock(), event.exception
        with self._one_at_a_time:
            before = self._so_far
            self._so_far = _Sofar(
                ticks=before.ticks + 1,
                last_tick=now,
                last_error=before.last_error if error is None else _told(error, now),
                is_well=error is None,
            )


def _told(error: BaseException, at: datetime) -> TickError:
    return TickError(at, f"{type(error).__name__}: {error}")
