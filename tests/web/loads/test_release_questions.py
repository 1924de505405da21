"""What is asked before a release is on screen first, and the release says Yes to just that."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from equip.desk.act.act import Refused, acting
from equip.desk.loads.release import release_load
from equip.desk.loads.release_questions import asked_before
from equip.store.readings import load_rows
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
PACKS = ["Is every pack dry?", "Is every seal closed all along?"]


def washed_hook(play: Play) -> str:
    hook = play.add("hook")
    play.cleaned(hook)
    return hook


def to_release(play: Play, *packs: str) -> str:
    return play.run(play.add("steriliser-vacuum"), *packs)


def test_bench_and_page_ask_the_same_and_the_release_keeps_it(
    signed_in: SignIn, play: Play
) -> None:
    load = to_release(play, play.packed(washed_hook(play)))
    found = load_rows.load_of(play.clinic.store, load)
    assert found is not None
    asked = asked_before(play.clinic, found)

    shown = play.scan("start over", load)
    page = signed_in("nurse").get(f"/loads/{load}").text
    released = play.scan("release")

    says = [one.says for one in shown.reasons]
    assert [one.says for one in asked.asks] == [one for one in says if one.endswith("?")]
    assert shown.next == "Is the answer to each Yes? Say “release”."
    button = page.index("Yes to each: release")
    for one in asked.stated:
        assert page.index(one.says) < button
    assert asked.washed is not None
    assert f"{asked.washed.says} Yes, by the records." in page
    assert released.word == "Released"
    kept = load_rows.load_of(play.clinic.store, load)
    assert kept is not None and kept.stated == asked.stated
    after = signed_in("nurse").get(f"/loads/{load}").text
    assert "What Nell Ash said Yes to" in after


def test_what_waits_ahead_of_it_is_answered_no_by_the_records(play: Play) -> None:
    load = to_release(play, play.packed(play.add("hook", "second-hand")))

    shown = play.scan("start over", load)
    released = play.scan("release")

    assert shown.tone == "warn"
    waits = [one.says for one in shown.reasons if one.says.startswith("Not so yet: Hook")]
    assert "Nobody recorded “clean” before it." in " ".join(waits)
    assert released.tone == "warn"
    kept = load_rows.load_of(play.clinic.store, load)
    assert kept is not None
    assert "wash-judged" not in [one.code for one in kept.stated]


def test_a_release_from_a_screen_that_asked_something_else_is_refused(play: Play) -> None:
    load = to_release(play, play.packed(washed_hook(play)))
    found = load_rows.load_of(play.clinic.store, load)
    assert found is not None
    nurse = play.people["nurse"]

    with (
        pytest.raises(Refused, match="has changed: read it again"),
        acting(play.clinic, by=nurse) as act,
    ):
        release_load(act, found, nurse, said=["dry", "whole"])

    kept = load_rows.load_of(play.clinic.store, load)
    assert kept is not None and kept.state == "judged"
