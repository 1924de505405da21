"""What a row keeps once it was told: a use stays a use, and only machines are moved."""

from equip.desk.act.act import acting
from equip.facts import Placed
from equip.store.fold.rebuild import differences
from equip.store.readings import use_rows
from tests.support.playing import Play

ONE = "12345601"


def moved(play: Play, tag: str) -> int:
    row = play.clinic.store.one(
        "SELECT COALESCE(SUM(n), 0) FROM worked WHERE item = ? AND sort = 'moves'", tag
    )
    assert row is not None
    return int(row[0])


def put(play: Play, tag: str, place: str) -> None:
    play.clock.passes(minutes=1)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        act.tell(Placed, item=tag, place=play.places[place])


def test_what_was_used_stays_used_when_its_pack_is_told_after_it(play: Play) -> None:
    used, beside = play.add("hook"), play.add("forceps")
    pack = play.sterile_pack(play.add("steriliser-vacuum"), used, beside)

    play.scan("start over", ONE, used, pack, "finish")

    by_item = {
        item: [one.what for one in use_rows.touches_of(play.clinic.store, item)]
        for item in (used, beside)
    }
    assert by_item == {used: ["used"], beside: ["opened"]}
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_what_was_opened_with_its_pack_and_then_scanned_is_a_use(play: Play) -> None:
    used = play.add("hook")
    pack = play.sterile_pack(play.add("steriliser-vacuum"), used)

    play.scan("start over", ONE, pack, used, "finish")

    assert [one.what for one in use_rows.touches_of(play.clinic.store, used)] == ["used"]


def test_a_machine_is_moved_by_another_place_and_an_instrument_never(play: Play) -> None:
    machine, hook = play.add("steriliser-vacuum"), play.add("hook")

    for tag in (machine, hook):
        put(play, tag, "room")
        put(play, tag, "shelf")
        put(play, tag, "shelf")

    assert (moved(play, machine), moved(play, hook)) == (1, 0)
