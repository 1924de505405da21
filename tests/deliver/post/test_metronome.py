"""The beat, with the real scheduler at a fast rate."""

import logging
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime

import pytest

from equip.deliver.post.metronome import Metronome, TickError

NOON = datetime(2026, 2, 9, 12, 0, tzinfo=UTC)
FAST = 0.02


def until(true: Callable[[], bool], seconds: float = 5.0) -> None:
    """Wait for something the background does; a test that waits in vain fails here."""
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "it did not happen in time"
        time.sleep(0.005)


def nothing() -> None:
    """A tick with nothing due."""


def test_it_beats_and_remembers_when() -> None:
    beats: list[int] = []
    metronome = Metronome(lambda: beats.append(1), every_s=FAST, clock=lambda: NOON)

    metronome.start()
    until(lambda: metronome.ticks >= 3)
    metronome.stop()

    assert metronome.ticks == len(beats)
    assert metronome.last_tick == NOON
    assert metronome.last_error is None
    assert metronome.is_well


def test_before_the_first_beat_there_is_nothing_to_tell() -> None:
    metronome = Metronome(nothing, every_s=3600)

    metronome.start()
    metronome.stop()

    assert (metronome.ticks, metronome.last_tick, metronome.last_error) == (0, None, None)
    assert metronome.is_well


def test_a_beat_that_fails_is_shown_and_the_next_one_comes(
    caplog: pytest.LogCaptureFixture,
) -> None:
    caplog.set_level(logging.CRITICAL)
    mended = threading.Event()

    def tick() -> None:
        if not mended.is_set():
            raise RuntimeError("the mail cupboard is locked")

    metronome = Metronome(tick, every_s=FAST, clock=lambda: NOON)
    metronome.start()
    until(lambda: metronome.ticks >= 2)
    assert not metronome.is_well
    mended.set()
    until(lambda: metronome.is_well)
    metronome.stop()

    assert metronome.last_error == TickError(NOON, "RuntimeError: the mail cupboard is locked")


def test_even_a_beat_that_wants_to_end_the_program_is_only_a_failed_beat(
    caplog: pytest.LogCaptureFixture,
) -> None:
    caplog.set_level(logging.CRITICAL)

    def tick() -> None:
        raise SystemExit(3)

    metronome = Metronome(tick, every_s=FAST, clock=lambda: NOON)
    metronome.start()
    until(lambda: metronome.ticks >= 2)
    metronome.stop()

    assert metronome.last_error == TickError(NOON, "SystemExit: 3")


def test_there_are_never_two_at_once(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.CRITICAL)
    inside = threading.Semaphore(1)
    clashes: list[int] = []

    def tick() -> None:
        if not inside.acquire(blocking=False):
            clashes.append(1)
            return
        time.sleep(FAST * 4)
        inside.release()

    metronome = Metronome(tick, every_s=FAST)
    metronome.start()
    until(lambda: metronome.ticks >= 4)
    metronome.stop()

    assert clashes == []


def test_stopping_waits_for_the_beat_that_runs() -> None:
    begun, ended = threading.Event(), threading.Event()

    def tick() -> None:
        begun.set()
        time.sleep(0.1)
        ended.set()

    metronome = Metronome(tick, every_s=FAST)
    metronome.start()
    begun.wait(5)
    metronome.stop()

    assert ended.is_set()


def test_after_the_stop_nothing_is_left_running() -> None:
    before = set(threading.enumerate())
    metronome = Metronome(nothing, every_s=FAST)

    metronome.start()
    until(lambda: metronome.ticks >= 1)
    assert metronome.running
    metronome.stop()

    assert not metronome.running
    assert set(threading.enumerate()) == before


def test_starting_and_stopping_twice_are_as_good_as_once_and_it_can_start_again() -> None:
    metronome = Metronome(nothing, every_s=FAST)
    metronome.stop()

    for _ in range(2):
        seen = metronome.ticks
        metronome.start()
        metronome.start()
        until(lambda seen=seen: metronome.ticks > seen)  # type: ignore[misc]
        metronome.stop()
        metronome.stop()

    assert metronome.ticks >= 2


@pytest.mark.parametrize("every_s", [0, -1.0])
def test_a_beat_without_a_length_is_refused(every_s: float) -> None:
    with pytest.raises(ValueError, match=f"{every_s} was read"):
        Metronome(nothing, every_s=every_s)
