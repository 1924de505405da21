"""Lots come in once, are opened once, and what is wrong with one is a sentence."""

from datetime import date

import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.machines import lots
from equip.facts import LotSort, Stated
from equip.store.ledger.about import told_about
from equip.store.readings import lot_rows
from tests.support.playing import Play


def come_in(play: Play, sort: LotSort = "wipe", number: str = "A-7", **more: object) -> str:
    stated = Stated(contact_s=30) if sort == "wipe" else None
    more.setdefault("stated", stated)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        return lots.add(act, sort, "Wipe one", number, **more)  # type: ignore[arg-type]


def test_a_lot_gets_a_tag_of_its_own_and_stands_as_it_was_told(play: Play) -> None:
    tag = come_in(play, expires=date(2027, 1, 31))

    lot = lot_rows.lot_of(play.clinic.store, tag, play.clinic.house.zone)
    assert tag[0] == "T"
    assert lot is not None
    assert (lot.number, lot.expires, lot.stated.contact_s) == ("A-7", date(2027, 1, 31), 30)
    assert lot.opened is None


def test_the_same_lot_comes_in_once(play: Play) -> None:
    come_in(play)

    with pytest.raises(Refused, match="on the register already"):
        come_in(play)


def test_a_lot_is_opened_once_on_the_day_of_the_site(play: Play) -> None:
    tag = come_in(play)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        lots.open_lot(act, tag)

    lot = lot_rows.lot_of(play.clinic.store, tag, play.clinic.house.zone)
    assert lot is not None
    assert lot.opened == play.clinic.house.today(play.clock())
    with (
        pytest.raises(Refused, match="was opened on"),
        acting(play.clinic, by=play.people["nurse"]) as act,
    ):
        lots.open_lot(act, tag)


def test_taking_a_lot_out_of_use_needs_a_reason_and_is_told_once(play: Play) -> None:
    tag = come_in(play)
    with (
        pytest.raises(Refused, match="Say why"),
        acting(play.clinic, by=play.people["nurse"]) as act,
    ):
        lots.finish(act, tag, " ")
    with acting(play.clinic, by=play.people["nurse"]) as act:
        lots.finish(act, tag, "recalled")

    told = [type(entry.fact) for entry in told_about(play.clinic.store, tag)]
    assert told == [facts.LotAdded, facts.LotFinished]
    with pytest.raises(Refused, match="out of use"), acting(play.clinic, by="") as act:
        lots.open_lot(act, tag)


@pytest.mark.parametrize(
    ("what", "stated", "says"),
    [
        ("wipe", Stated(), "contact time"),
        ("wipe", Stated(contact_s=0), "0 s was read"),
        ("agent", Stated(), "which agent"),
        ("agent", Stated(agent="soap"), "no agent of the rule book"),
        ("other", Stated(open_days=5000), "5000 days"),
        ("chemical-indicator", Stated(type=7), "Type 7"),
    ],
)
def test_what_no_packet_states_is_refused(
    play: Play, what: LotSort, stated: Stated, says: str
) -> None:
    with pytest.raises(Refused, match=says):
        come_in(play, what, stated=stated)


def test_an_unknown_lot_is_a_sentence(play: Play) -> None:
    with pytest.raises(Refused, match="is no lot"), acting(play.clinic, by="") as act:
        lots.open_lot(act, "T000000015")
