"""A scan is written down for what its screen showed: two screens at one bench."""

from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from equip.desk.bench import scanning
from equip.desk.bench.behind import BehindError
from equip.store.readings import use_rows
from tests.support.playing import Play

SEVEN, EIGHT = "12345607", "12345608"
BENCH = "bench 1"


@dataclass
class Screen:
    """A device: it sends with each scan the act that its screen shows."""

    play: Play
    who: str
    shows: str = ""
    patient: str = ""
    refused: list[str] = field(default_factory=list)

    def opened(self) -> "Screen":
        seen = scanning.sight(self.play.clinic, BENCH, self.play.clock.now)
        self.shows, token = seen.after, seen.context.patient
        self.patient = token and self.play.clinic.vault.reveal(token)
        return self

    def scan(self, text: str) -> scanning.Reply | None:
        """One scan; None if it was refused because the screen is behind."""
        self.play.clock.passes(seconds=3)
        sent = scanning.Scan(str(uuid4()), BENCH, text, after=self.shows)
        try:
            reply = scanning.scan(self.play.clinic, sent, self.play.people[self.who])
        except BehindError as fault:
            self.refused = [
                fault.answer.what,
                *(reason.says for reason in fault.answer.reasons),
                fault.answer.next,
            ]
            return None
        self.shows = reply.act
        token = reply.context.patient
        self.patient = token and self.play.clinic.vault.reveal(token)
        return reply


def met(play: Play, tag: str) -> list[str]:
    touched = use_rows.touches_of(play.clinic.store, tag)
    return [play.clinic.vault.reveal(one.patient) for one in touched]


@pytest.fixture
def hooks(play: Play) -> list[str]:
    return [play.add("hook", "go-live") for _ in range(3)]


def test_the_tray_of_one_patient_is_not_given_to_the_other(play: Play, hooks: list[str]) -> None:
    one, two = Screen(play, "nurse").opened(), Screen(play, "manager").opened()
    one.scan(SEVEN)
    one.scan(hooks[0])
    two.scan(EIGHT)

    assert one.scan(hooks[1]) is None

    assert met(play, hooks[0]) == [SEVEN]
    assert met(play, hooks[1]) == []
    said = " ".join(one.refused)
    assert "written down for nobody" in said
    assert "Mo Reed scanned at this bench at" in said
    assert "The patient who ends 5608 is in hand now, not the patient who ends 5607" in said
    assert "go on here" in said


def test_scanning_again_is_refused_until_somebody_takes_it_up(play: Play, hooks: list[str]) -> None:
    one, two = Screen(play, "nurse").opened(), Screen(play, "manager").opened()
    one.scan(SEVEN)
    two.scan(EIGHT)

    assert one.scan(hooks[0]) is None
    assert one.scan(hooks[0]) is None
    taken = one.scan("go on here")
    assert taken is not None
    assert taken.answer.word == "Go on"
    one.scan(hooks[0])

    assert met(play, hooks[0]) == [EIGHT]


def test_the_right_patient_scanned_again_goes_on(play: Play, hooks: list[str]) -> None:
    one, two = Screen(play, "nurse").opened(), Screen(play, "manager").opened()
    one.scan(SEVEN)
    two.scan(EIGHT)

    assert one.scan(SEVEN) is not None
    one.scan(hooks[0])
    assert two.scan(hooks[1]) is None

    assert (met(play, hooks[0]), met(play, hooks[1])) == ([SEVEN], [])


def test_a_patient_does_not_answer_a_question_of_another_screen(
    play: Play, hooks: list[str]
) -> None:
    one, two = Screen(play, "nurse").opened(), Screen(play, "manager").opened()
    two.scan(EIGHT)
    two.scan(hooks[0])
    two.scan("move to another patient")

    assert one.scan(SEVEN) is None

    assert met(play, hooks[0]) == [EIGHT]


def test_undo_of_a_screen_that_is_behind_takes_nothing_back(play: Play, hooks: list[str]) -> None:
    one, two = Screen(play, "nurse").opened(), Screen(play, "nurse").opened()
    two.scan(EIGHT)
    two.scan(hooks[0])

    assert one.scan("undo") is None

    assert met(play, hooks[0]) == [EIGHT]
    assert "on another screen" in " ".join(one.refused)


def test_what_changed_nothing_puts_no_screen_behind(play: Play, hooks: list[str]) -> None:
    one, two = Screen(play, "nurse").opened(), Screen(play, "manager").opened()
    one.scan(SEVEN)
    two.opened()
    two.scan("no such text at all")

    assert one.scan(hooks[0]) is not None

    assert met(play, hooks[0]) == [SEVEN]


def test_a_screen_of_another_bench_is_behind(play: Play, hooks: list[str]) -> None:
    elsewhere = play.reply(SEVEN, at="bench 2")
    play.scan(EIGHT)
    screen = Screen(play, "nurse", shows=elsewhere.act)

    assert screen.scan(hooks[0]) is None


def test_whoever_does_not_tell_what_was_shown_is_taken_at_their_word(
    play: Play, hooks: list[str]
) -> None:
    play.scan(SEVEN, hooks[0])

    assert met(play, hooks[0]) == [SEVEN]


@settings(
    max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.integers(0, 10**6))
def test_no_interleaving_gives_an_item_to_a_patient_whom_its_screen_did_not_show(
    fresh_play: Callable[[], Play], seed: int
) -> None:
    """What its own screen showed, or asked about, is all that a hook may be written down for."""
    chance, play = Random(seed), fresh_play()
    hooks = [play.add("hook", "go-live") for _ in range(4)]
    screens = [Screen(play, "nurse").opened(), Screen(play, "manager").opened()]
    asked_about: dict[int, set[str]] = {0: set(), 1: set()}
    meant: dict[str, set[str]] = {hook: set() for hook in hooks}
    for _ in range(16):
        turn = chance.randrange(2)
        screen, hook = screens[turn], chance.choice(hooks)
        said = chance.choice(
            [SEVEN, EIGHT, SEVEN, EIGHT, "go on here", "start over", "finish", "one more", "undo"]
            + [hook] * 6
        )
        shown = screen.patient
        reply = screen.scan(said)
        if reply is None:
            continue
        about = {said} if said in hooks else asked_about[turn]
        for one in about:
            meant[one] |= {shown, screen.patient}
        if reply.answer.word == "Whose?":
            asked_about[turn].add(said)
    for hook in hooks:
        assert set(met(play, hook)) <= meant[hook]
