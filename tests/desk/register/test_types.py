"""A type is saved only if what goes from patient to patient is made fit by something effective."""

from pathlib import Path

import msgspec
import pytest

from equip.desk.act.act import Refused, acting
from equip.desk.register import items
from equip.desk.register.items import starter_types
from equip.facts import RouteStep, TypeDefined
from equip.rules.fitness.stopping import why_no_type
from equip.store.database import Store
from equip.store.readings import item_rows
from tests.support.playing import Play
from tests.support.stopped import StoppedClock


def test_a_hook_that_is_only_cleaned_cannot_be_saved_and_is_told_why(play: Play) -> None:
    hook = msgspec.structs.replace(
        play.clinic.house.types["hook"], route=(RouteStep(step="clean"), RouteStep(step="inspect"))
    )

    with (
        acting(play.clinic, by=play.people["manager"]) as act,
        pytest.raises(Refused, match="Hook has nothing effective on its route, and it touches"),
    ):
        items.define_type(act, hook)


def test_a_type_of_old_without_anything_effective_answers_no_and_says_what_to_mend(
    play: Play,
) -> None:
    hook = play.add("hook")
    play.cleaned(hook)
    bare = msgspec.structs.replace(
        play.clinic.house.types["hook"], route=(RouteStep(step="clean"),)
    )
    with acting(play.clinic, by="") as act:
        act.tell(TypeDefined, type=bare)  # as it could be told before

    asked = play.scan("start over", "lay up", hook)

    assert (asked.tone, play.codes(asked)) == ("no", ["nothing-effective"])
    assert "mend its type in Setup" in asked.reasons[0].says
    play.scan("123456", hook, "finish")
    uses = play.clinic.store.rows("SELECT gap, why_not FROM touch WHERE sort = 'use'")
    assert [(gap, "nothing on the route" in why) for gap, why in uses] == [(1, True)]
    assert item_rows.standing_of(play.clinic.store, hook) is not None


def test_every_starter_type_may_be_saved() -> None:
    assert {kind.code: why_no_type(kind) for kind in starter_types()} == {
        kind.code: [] for kind in starter_types()
    }


@pytest.mark.parametrize(
    ("book", "first"), [("england", "thermal-a0-600"), ("australia", "thermal-a0-3000")]
)
def test_a_new_book_offers_for_a_washer_what_its_country_takes_first(
    book: str, first: str, store: Store, clock: StoppedClock, tmp_path: Path
) -> None:
    play = Play.begin(store, clock, tmp_path / "house", book=book)

    process = play.clinic.house.types["washer"].process

    assert process is not None
    assert process.programmes[0].judged_by == first
    assert len(process.programmes) == 2


@pytest.mark.parametrize(
    ("code", "contact", "reuse"),
    [
        ("single-use-speculum", "touches", "single-use"),
        ("irrigator-tip", "water-or-air", "single-use"),
        ("otoscope-head", "neither", "reusable"),
        ("curette", "touches", "reusable"),
        ("single-use-curette", "touches", "single-use"),
        ("loupe", "neither", "reusable"),
        ("headlight", "neither", "reusable"),
        ("camera", "neither", "reusable"),
        ("light-cable", "neither", "reusable"),
        ("suction-canister", "neither", "reusable"),
        ("suction-liner", "neither", "single-use"),
        ("suction-tubing", "neither", "single-use"),
        ("suction-filter", "neither", "reusable"),
        ("tympanometer-tip", "touches", "single-use"),
    ],
)
def test_a_new_book_knows_what_an_ear_care_clinic_has(
    play: Play, code: str, contact: str, reuse: str
) -> None:
    kind = play.clinic.house.types[code]

    assert (kind.contact, kind.reuse) == (contact, reuse)
    fresh = play.add(code)
    asked = play.scan("lay up", fresh)
    # A new curette goes round before its first use; all else is fit, its machine apart.
    others = {"never-processed", "machine-not-fit", "machine-unchecked"}
    assert set(play.codes(asked)) - {"remark"} <= (others if asked.tone == "no" else set())
    assert ("never-processed" in play.codes(asked)) == (code == "curette")
