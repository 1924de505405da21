"""Untagged instruments are known by their packs: washed together, nobody can tell them apart."""

from fractions import Fraction

from equip.desk.act.act import acting
from equip.desk.loads.end import ReadOff, end_load
from equip.desk.lookback.exposure_answer import Scope, look_back
from equip.rules.lookback.sweep import Certainty
from equip.store.readings import item_rows, load_rows, use_rows
from tests.support.playing import Play


def tips_packed(play: Play, count: int, *before: str) -> str:
    """A pouch with so many fine tips, sealed; its tag. *before* is scanned once they lie ready."""
    pack = play.fresh_pack()
    card = next(kind.card for kind in play.clinic.house.types.values() if kind.code == "fine-tip")
    play.scan("start over", "pack", *[card] * count, *before, pack)
    return pack


def washed(play: Play, bath: str, *packs: str) -> str:
    play.scan("start over", bath, *packs, "start the load")
    load = load_rows.load_on(play.clinic.store, bath)
    assert load is not None
    play.clock.passes(minutes=10)
    typed = {"completed": "yes", "detergent": "yes", "degassed": "yes", "run_min": "10"}
    typed["bath_c"] = "35"
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, ReadOff(typed))
    play.scan("start over", load.load, "release")
    done = load_rows.load_of(play.clinic.store, load.load)
    assert done is not None
    assert done.state == "released", done.reasons
    return load.load


def test_what_lay_in_opened_packs_is_washed_and_the_next_pack_may_hold_any_of_it(
    play: Play,
) -> None:
    steriliser, bath = play.add("steriliser-vacuum"), play.add("ultrasonic-bath")
    first, second = tips_packed(play, 1), tips_packed(play, 3)
    play.released(steriliser, first, second)
    play.scan("start over", "123456", "left ear", first)
    play.scan("start over", "234567", "left ear", second)

    load = washed(play, bath, first, second)
    third = tips_packed(play, 1, bath)
    again = play.released(steriliser, third)
    play.scan("start over", "345678", "left ear", third)

    found = look_back(play.clinic, Scope(loads=(again,))).exposures
    made = item_rows.standing_of(play.clinic.store, third)
    assert made is not None
    assert [one.item for one in found] == [third]
    assert {source.certainty for source in found[0].sources} == {Certainty.possible}
    assert sorted(source.share for source in found[0].sources) == [Fraction(1, 4), Fraction(3, 4)]
    assert len({source.patient for source in found[0].sources}) == 2
    assert load != again


def test_the_next_pouch_is_out_of_the_same_load_until_something_else_begins(play: Play) -> None:
    steriliser, bath = play.add("steriliser-vacuum"), play.add("ultrasonic-bath")
    first = tips_packed(play, 2)
    play.released(steriliser, first)
    play.scan("start over", "123456", "left ear", first)
    washed(play, bath, first)
    card = next(kind.card for kind in play.clinic.house.types.values() if kind.code == "fine-tip")

    one, other, alone = play.fresh_pack(), play.fresh_pack(), play.fresh_pack()
    play.scan("start over", "pack", card, bath, one, card, other)
    play.scan("start over", "pack", card, alone)
    ran = play.released(steriliser, one, other, alone)
    for patient, pack in (("234567", one), ("345678", other), ("456789", alone)):
        play.scan("start over", patient, "left ear", pack)

    found = look_back(play.clinic, Scope(loads=(ran,)))

    assert {one.item for one in found.exposures} == {one, other}


def test_a_machine_that_washed_nothing_untagged_is_no_answer(play: Play) -> None:
    bath, hook = play.add("ultrasonic-bath"), play.add("hook", "go-live")
    card = next(kind.card for kind in play.clinic.house.types.values() if kind.code == "fine-tip")
    never = play.scan("pack", card, bath)
    washed(play, bath, hook)

    answer = play.scan("start over", "pack", card, bath)

    assert "No load of" in never.what
    assert "Nothing untagged went into load" in answer.what


def test_an_opened_pack_goes_into_no_steriliser(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    pack = tips_packed(play, 1)
    play.released(steriliser, pack)
    play.scan("start over", "123456", "left ear", pack)

    answer = play.scan("start over", steriliser, pack)

    assert "pack-opened" in play.codes(answer)


def test_a_pack_of_which_nobody_said_how_its_contents_were_cleaned_is_no_yes(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    pack = tips_packed(play, 2)
    play.released(steriliser, pack)

    answer = play.scan("start over", "123456", "start a use", pack)

    assert play.codes(answer) == ["step-missing"]
    assert "Nobody recorded “clean” of its untagged contents" in answer.reasons[0].says
    assert "Nobody can set this aside" in play.scan("used anyway", who="manager").what


def test_the_pouch_says_at_once_that_the_washing_was_left_unsaid(play: Play) -> None:
    card = next(kind.card for kind in play.clinic.house.types.values() if kind.code == "fine-tip")

    ready = play.scan("pack", card)
    sealed = play.scan(play.fresh_pack())

    assert "scan the machine that washed them, or say “clean” if done by hand" in ready.next
    assert sealed.tone == "warn"
    assert "this pack is not to be used" in sealed.reasons[0].says


def test_what_was_cleaned_by_hand_is_said_while_it_lies_ready(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    pack = tips_packed(play, 2, "clean")
    play.released(steriliser, pack)

    answer = play.scan("start over", "123456", "start a use", pack)

    made = item_rows.standing_of(play.clinic.store, pack)
    assert answer.tone == "yes"
    assert made is not None
    assert (made.loose[0].count, made.unsaid) == (2, ())


def test_a_use_from_a_pack_of_unsaid_washing_is_a_gap_that_says_so(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    pack = tips_packed(play, 2)
    play.released(steriliser, pack)
    play.scan("start over", "123456", pack, "finish")

    [met] = use_rows.touches_of(play.clinic.store, pack)

    assert met.gap == "nobody recorded clean before it"
