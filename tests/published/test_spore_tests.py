"""Spore tests as CDC 2008 has them followed, lived through by a clinic with loads of its own.

Source of every step: CDC Guideline for Disinfection and Sterilization 2008, Table 12 and the
recommendations beside it.
"""

from pathlib import Path

import pytest

from equip.desk.machines import sheets
from equip.store.database import Store
from tests.support.playing import Play
from tests.support.spore_play import SporePlay
from tests.support.stopped import StoppedClock


@pytest.fixture
def play(store: Store, clock: StoppedClock, tmp_path: Path) -> Play:
    return Play.begin(store, clock, tmp_path / "house")


def lived(play: Play, code: str, history: str) -> tuple[SporePlay, list[str]]:
    """Loads with their tests: - negative, + positive, i invalid, . none. All read at the end."""
    life = SporePlay.begin(play, code)
    loads = []
    for sign in history:
        loads.append(life.run(spores=sign != "."))
        play.clock.passes(hours=2)
    for load, sign in zip(loads, history, strict=True):
        if sign != ".":
            life.read(load, grew=sign == "+", control_grew=sign != "i")
    return life, loads


def may_run(life: SporePlay) -> bool:
    clinic, now = life.play.clinic, life.play.clock.now
    stops = sheets.why_not_run(clinic, life.machine, life.process, now, hollow=False)
    return not any("spore" in says for says in stops)


# "If a spore test is positive, take the steriliser out of service"; items other than implants
# need not be recalled because of a single positive test.
def test_one_positive_of_steam_stops_the_machine_and_recalls_nothing(play: Play) -> None:
    life, _ = lived(play, "steriliser-vacuum", "-.+.")

    found = life.scope()

    assert found.in_doubt == ()
    assert found.back_in_service is False
    assert not may_run(life)


# Repeat in three consecutive cycles; all negative: back in service.
def test_three_consecutive_negative_repeats_put_it_back_in_service(play: Play) -> None:
    life, _ = lived(play, "steriliser-vacuum", "-.+.")

    ran = []
    for _ in range(3):
        life.repeat(negative=True)
        ran.append(may_run(life))

    assert ran == [False, False, True]
    assert life.scope().in_doubt == ()


# A repeat positive: everything since the last acceptable test, the suspect load among it.
def test_a_positive_repeat_recalls_everything_since_the_last_negative(play: Play) -> None:
    life, loads = lived(play, "steriliser-vacuum", "-.+.")
    life.repeat(negative=True)
    life.repeat(negative=False)

    found = life.scope()

    assert list(found.in_doubt) == loads[1:]
    assert found.back_in_service is False


# Settings found wrong: these loads, whatever the repeats show.
def test_wrong_settings_recall_the_loads_that_had_them(play: Play) -> None:
    life, loads = lived(play, "steriliser-vacuum", "-.+.")

    assert life.scope(wrong=[loads[2]]).in_doubt == (loads[2],)


def test_a_defect_recalls_everything_since_the_last_negative(play: Play) -> None:
    life, loads = lived(play, "steriliser-vacuum", "-.+.")
    at_once = life.scope(defect=True)
    for _ in range(3):
        life.repeat(negative=True)

    found = life.scope(defect=True)

    assert list(at_once.in_doubt) == list(found.in_doubt) == loads[1:]
    assert found.back_in_service is False


# Any other process: since the last negative up to the next satisfactory test.
def test_one_positive_of_another_process_recalls_up_to_the_next_negative(play: Play) -> None:
    life, loads = lived(play, "gas", "-.+..-.")

    found = life.scope()

    assert list(found.in_doubt) == loads[1:5]
    assert not may_run(life)


# An invalid test is neither: it closes no window.
def test_an_invalid_test_closes_no_window(play: Play) -> None:
    life, loads = lived(play, "gas", "-.+i-")

    assert list(life.scope().in_doubt) == loads[1:4]
