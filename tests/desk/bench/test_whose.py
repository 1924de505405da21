"""After “finish” the next scan asks for its patient, and is never given to the one before."""

import pytest

from equip.store.readings import use_rows
from tests.support.playing import Play

ONE, TWO = "12345601", "12345602"


@pytest.fixture
def tips(play: Play) -> list[str]:
    pump = play.add("suction-pump")
    play.checked(pump)
    return [play.add("single-use-tip") for _ in range(4)]


def met(play: Play, tag: str) -> list[str]:
    """Whom an item was used on, by the clinic's reference."""
    touched = use_rows.touches_of(play.clinic.store, tag)
    return [play.clinic.vault.reveal(one.patient) for one in touched]


def test_what_is_scanned_after_finish_waits_and_is_given_to_nobody(
    play: Play, tips: list[str]
) -> None:
    play.scan("start over", ONE, tips[0], "finish")

    answer = play.scan(tips[1])

    assert (answer.word, answer.tone) == ("Whose?", "warn")
    assert met(play, tips[0]) == [ONE]
    assert met(play, tips[1]) == []


def test_the_patient_scanned_next_gets_all_that_waits(play: Play, tips: list[str]) -> None:
    play.scan("start over", ONE, tips[0], "finish", tips[1], tips[2])

    answer = play.scan(TWO)

    assert answer.word == "Used"
    assert [met(play, tag) for tag in tips[:3]] == [[ONE], [TWO], [TWO]]
    assert play.scan(tips[3]).word == "Used"
    assert met(play, tips[3]) == [TWO]


def test_one_more_gives_it_to_the_patient_before(play: Play, tips: list[str]) -> None:
    play.scan("start over", ONE, tips[0], "finish", tips[1])

    play.scan("one more")
    play.scan("finish", "one more", tips[2], "finish")

    assert [met(play, tag) for tag in tips[:3]] == [[ONE], [ONE], [ONE]]
    assert play.scan(tips[3]).word == "Whose?"


def test_the_same_patient_scanned_again_goes_on(play: Play, tips: list[str]) -> None:
    play.scan("start over", ONE, tips[0], "finish", ONE, tips[1])

    assert met(play, tips[1]) == [ONE]


def test_start_over_says_what_was_not_written_down(play: Play, tips: list[str]) -> None:
    play.scan("start over", ONE, tips[0], "finish", tips[1])

    answer = play.scan("start over")

    assert answer.tone == "warn"
    assert answer.reasons[0].says.startswith("Not written down, for no patient was scanned")
    assert met(play, tips[1]) == []


def test_one_more_without_a_use_that_was_finished_is_not_read(play: Play) -> None:
    assert play.scan("start over", "one more").tone == "no"
    assert play.scan(ONE, "one more").tone == "no"


def test_another_act_leaves_what_waits_and_says_so(play: Play, tips: list[str]) -> None:
    play.scan("start over", ONE, tips[0], "finish", tips[1])

    answer = play.scan("dropped")
    play.scan(TWO)

    assert answer.word == "Dropped"
    assert answer.reasons[-1].says.startswith("Not written down, for no patient was scanned")
    assert met(play, tips[1]) == []


def test_what_belongs_to_the_use_already_is_not_asked_about(play: Play, tips: list[str]) -> None:
    play.scan("start over", ONE, tips[0], "finish")

    assert play.scan(tips[0]).word != "Whose?"
    assert met(play, tips[0]) == [ONE]
