"""What was stopped in a use is stopped in that use too: the same scan is a No."""

from collections.abc import Callable
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.support.playing import Play

FreshPlay = Callable[[], Play]
ONE = "12345601"
OF_A_PACK = ("wet pack", "torn pack", "unpack", "dropped", "indicator not turned")
OF_AN_ITEM = ("dropped", "blocked", "bent", "image fault")


@pytest.fixture
def pack(play: Play) -> str:
    return play.sterile_pack(play.add("steriliser-vacuum"), play.add("hook"), play.add("forceps"))


def members(play: Play, pack: str) -> list[str]:
    with_pack = play.clinic.store.rows("SELECT item FROM standing WHERE item LIKE 'E%'")
    return [item for (item,) in with_pack]


@pytest.mark.parametrize("word", OF_A_PACK)
def test_a_pack_that_was_stopped_in_a_use_is_a_no_and_so_is_what_it_held(
    play: Play, pack: str, word: str
) -> None:
    opened = play.scan("start over", ONE, "start a use", pack)

    play.scan(word)

    assert opened.word == "Used"
    assert play.scan(pack).tone == "no"
    for item in members(play, pack):
        assert play.scan(item).tone == "no", item


@pytest.mark.parametrize("word", OF_AN_ITEM)
def test_an_item_that_was_stopped_in_a_use_is_a_no(play: Play, pack: str, word: str) -> None:
    play.scan("start over", ONE, "start a use", pack)
    item, other = members(play, pack)
    before = play.scan(item)

    play.scan(word)

    assert before.word == "Used"
    assert play.scan(item).tone == "no"
    assert play.scan(other).word == "Used"


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_no_act_of_stopping_is_followed_by_a_yes(fresh_play: FreshPlay, seed: int) -> None:
    """Within one use, in whatever order its pack, its items and mishaps are scanned."""
    random, play = Random(seed), fresh_play()
    pack = play.sterile_pack(
        play.add("steriliser-vacuum"), play.add("hook"), play.add("forceps"), play.add("hook")
    )
    play.scan("start over", ONE, "start a use", pack)
    stopped: set[str] = set()
    for _ in range(12):
        tag = random.choice([pack, *members(play, pack)])
        answer = play.scan(tag)
        assert answer.tone == "no" or tag not in stopped
        if random.random() < 0.4:
            play.scan(random.choice(OF_A_PACK if tag == pack else OF_AN_ITEM))
            stopped.add(tag)
