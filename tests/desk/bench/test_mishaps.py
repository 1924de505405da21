"""A mishap is about what was scanned last, and about nothing once a scan in between failed."""

import pytest

from equip import facts
from equip.store.ledger.about import told_about
from tests.support.playing import Play

ONE = "12345601"


@pytest.mark.parametrize("between", ["E000000018", "E99999999", "E000009996", "hello there"])
def test_a_scan_that_failed_in_between_clears_what_was_in_hand(play: Play, between: str) -> None:
    hook = play.add("hook", "go-live")
    play.scan(ONE, hook, between)

    answer = play.scan("dropped")

    assert (answer.tone, answer.word) == ("no", "No")
    told = [one.fact for one in told_about(play.clinic.store, hook)]
    assert not any(isinstance(fact, facts.Marked) for fact in told)


def test_a_refusal_is_a_no_and_what_nobody_can_read_is_not_read(play: Play) -> None:
    assert play.scan("finish").word == "No"
    assert play.scan("start a use").next == "Scan the patient, then “start a use”."
    assert play.scan("no such text").word == "Not read"
