"""The edge of a scope is looked at for each use, where the rule says so."""

import pytest

from equip.desk.act.act import acting
from equip.desk.bench import session_acts
from equip.desk.fitness.session import lines_of
from equip.desk.register import items
from tests.support.playing import Play


def edge(play: Play, scope: str) -> str:
    kind = play.clinic.house.types["scope-wiped"]
    lines = lines_of(play.clinic, scope, kind, play.clock.now)
    return next(line.state for line in lines if line.asked.check == "edge")


@pytest.mark.parametrize(("each_use", "after"), [("true", "over"), ("false", "in force")])
def test_an_edge_that_was_looked_at_holds_until_the_next_use(
    play: Play, each_use: str, after: str
) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        today = act.house.today(act.at)
        items.set_rule(act, "check.edge.each-use", each_use, "our policy", today)
    scope = play.add("scope-wiped", "go-live")
    play.checked(scope)
    before = edge(play, scope)
    play.keeps_checks = False

    play.scan("123456", scope, "finish")

    assert (before, edge(play, scope)) == ("in force", after)
    play.scan("start over", "clean", scope)
    play.wiped(scope)
    play.scan("rinse", scope)
    asked = play.scan("start over", "lay up", scope)
    assert asked.tone == ("no" if after == "over" else "yes")
    assert ("check-missing" in play.codes(asked)) == (after == "over")
    with acting(play.clinic, by=play.people["nurse"]) as act:
        session_acts.record(act, scope, "edge", good=True)
    assert play.scan("start over", "lay up", scope).tone == "yes"
