"""A Yes names what nobody knows, the same at the bench and on the item's page."""

from collections.abc import Callable
from decimal import Decimal

from flask.testing import FlaskClient

from equip.desk.act.act import acting
from equip.desk.loads import indicators
from equip.desk.machines import lots
from equip.facts import Stated
from equip.store.readings import load_rows
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
LIMITS = "whether its load kept the machine’s own limits (they are not set)"
SIX = Stated(type=6, celsius=Decimal(134), seconds=Decimal(180))


def not_known(play: Play, tag: str) -> str:
    answer = play.scan("start over", "lay up", tag)
    assert answer.word == "Yes"
    return next((one.says for one in answer.reasons if "Not known" in one.says), "")


def test_the_bench_and_the_page_name_the_same(signed_in: SignIn, play: Play) -> None:
    hook = play.add("hook")
    pack = play.sterile_pack(play.add("steriliser-vacuum"), hook)

    says = not_known(play, pack)

    assert LIMITS in says
    assert "what an indicator inside its load shows" in says
    assert "what “clean” was done with (no lot was scanned)" in says
    assert says in signed_in("nurse").get(f"/things/{pack}").text
    used = play.scan("start over", "DEMO-1001", "start a use", pack)
    assert says in [one.says for one in used.reasons]


def test_an_indicator_that_was_read_is_known(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.cleaned(hook)
    pack = play.packed(hook)
    load = play.run(steriliser, pack)
    nurse = play.people["nurse"]
    with acting(play.clinic, by=nurse) as act:
        strips = lots.add(act, "chemical-indicator", "Strip", "N-1", stated=SIX)
    found = load_rows.load_of(play.clinic.store, load)
    assert found is not None
    with acting(play.clinic, by=nurse) as act:
        indicators.read_indicator(act, found, strips, "in the chamber", "pass")
    play.scan("start over", load, "release")

    assert "indicator" not in not_known(play, pack)
