"""Soaks, baths and solutions through their pages."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from flask.testing import FlaskClient

from equip.desk.act.act import Refused, acting
from equip.desk.machines import lots
from equip.desk.machines.mixing import of_volumes, to_strength
from equip.facts import Stated
from equip.rules.loads.load import Load
from equip.store.readings import load_rows
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]


def agent_in(play: Play, number: str = "B-1") -> str:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        return lots.add(act, "agent", "Bottle", number, stated=Stated(agent="opa-0.55"))


def newest(play: Play, bath: str) -> Load:
    load = load_rows.last_load(play.clinic.store, bath)
    assert load is not None
    return load


def test_a_bath_is_filled_and_a_load_soaked_through_the_pages(
    signed_in: SignIn, play: Play
) -> None:
    nurse, bath, scope = signed_in("nurse"), play.add("soak-bath"), play.add("scope-wiped")
    assert b"Not filled" in nurse.get(f"/machines/{bath}/bath").data
    assert nurse.post(f"/machines/{bath}/bath", data={"lot": agent_in(play)}).status_code == 303
    assert b"Day 1 of 14" in nurse.get(f"/machines/{bath}/bath").data
    play.scan("clean", scope, "start over", bath, scope)
    page = f"/loads/{newest(play, bath).load}"
    assert b"It soaks for 12 min" in nurse.get(page).data

    nurse.post(f"{page}/start", data={"celsius": "21,5", "strip": "pass"})
    running = nurse.get(page).data
    play.clock.passes(minutes=12)
    over = nurse.get(page).data
    nurse.post(f"{page}/end")

    assert b'data-left="720"' in running
    assert b"It had to come out early" in running
    assert b"It is out of the bath" in over
    assert (newest(play, bath).verdict, newest(play, bath).figures["celsius"]) == ("pass", "21.5")
    judged = nurse.get(page).data
    assert b"no cycle number" not in judged
    assert b"Soaked, from the start to the end of the load" in judged


def test_too_early_is_refused_on_the_page_unless_it_is_owned_to(
    signed_in: SignIn, play: Play
) -> None:
    nurse, bath, scope = signed_in("nurse"), play.add("soak-bath"), play.add("scope-wiped")
    play.scan(bath, "fill the bath", agent_in(play), scope, "start the load")
    page = f"/loads/{newest(play, bath).load}"

    refused = nurse.post(f"{page}/end", data={"celsius": "21", "strip": "pass"})
    assert refused.status_code >= 400
    assert newest(play, bath).state == "running"
    nurse.post(f"{page}/end", data={"early": "yes"})

    assert newest(play, bath).verdict == "fail"


def test_what_was_typed_of_a_soak_comes_back_with_what_was_wrong(
    signed_in: SignIn, play: Play
) -> None:
    nurse, bath, scope = signed_in("nurse"), play.add("soak-bath"), play.add("scope-wiped")
    play.scan(bath, "fill the bath", agent_in(play), scope)
    page = f"/loads/{newest(play, bath).load}"

    start = nurse.post(f"{page}/start", data={"celsius": "2o", "strip": "pass"})
    assert newest(play, bath).state == "filling"
    nurse.post(f"{page}/start", data={"celsius": "21", "strip": "pass"})
    play.clock.passes(minutes=12)
    end = nurse.post(f"{page}/end", data={"celsius": "2l", "strip": "fail"})

    assert newest(play, bath).state == "running"
    for back, typed, strip in ((start, b"2o", b"pass"), (end, b"2l", b"fail")):
        assert back.status_code == 400
        assert b"is no number that makes sense" in back.data
        assert (
            b'name="celsius" inputmode="decimal" maxlength="8" autocomplete="off" value="%s"'
            % (typed)
            in back.data
        )
        assert b'value="%s" selected' % strip in back.data


def test_a_page_of_a_bath_is_for_baths_only(signed_in: SignIn, play: Play) -> None:
    nurse = signed_in("nurse")

    assert nurse.get(f"/machines/{play.add('washer')}/bath").status_code == 404
    assert nurse.get("/machines/D000000099/bath").status_code == 404


def test_the_page_of_a_scope_says_by_whom_it_was_released(signed_in: SignIn, play: Play) -> None:
    scope = play.add("scope-wiped")
    with acting(play.clinic, by=play.people["nurse"]) as act:
        lot = lots.add(
            act, "wipe", "Wipe", "W-1", stated=Stated(contact_s=60, agent="chlorine-dioxide")
        )
    play.scan("clean", scope, "disinfect", lot, scope)
    wet = signed_in("nurse").get(f"/things/{scope}").data
    play.clock.passes(seconds=60)
    play.scan("rinse", scope)

    kept = signed_in("nurse").get(f"/things/{scope}").data

    assert b"does not count yet" in wet
    assert b"released by Nell Ash" in kept


def test_the_bench_shows_what_runs_and_the_lot_in_hand(signed_in: SignIn, play: Play) -> None:
    scope = play.add("scope-wiped")
    with acting(play.clinic, by=play.people["nurse"]) as act:
        lot = lots.add(
            act, "wipe", "Wipe", "W-1", stated=Stated(contact_s=60, agent="chlorine-dioxide")
        )
    play.scan("disinfect", lot, scope)

    page = signed_in("nurse").get("/bench").data

    assert b'data-left="60"' in page
    assert b"<dd>Wipe, W-1</dd>" in page


# --- mixing ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ("way=strength&stock_percent=10&target_ppm=1000&total_ml=5000", b"50 ml + 4950 ml"),
        ("way=strength&stock_percent=5,25&target_ppm=500&total_ml=1000", b"9.5 ml + 990.5 ml"),
        ("way=volumes&stock_percent=10&stock_ml=50&water_ml=4950", b"1000 ppm"),
        ("way=strength&stock_percent=0.05&target_ppm=1000&total_ml=100", b"stronger stock"),
        ("way=strength&stock_percent=10&target_ppm=&total_ml=100", b"is empty"),
        ("way=volumes&stock_percent=ten&stock_ml=1&water_ml=1", b"is no number"),
        ("way=volumes&stock_percent=101&stock_ml=1&water_ml=1", b"101 per cent"),
    ],
)
def test_a_solution_is_mixed_by_volumes_both_ways(
    signed_in: SignIn, asked: str, says: bytes
) -> None:
    page = signed_in("nurse").get(f"/stock/mix?{asked}").data

    assert says in page
    assert page.count(b'class="caution"') == 1


@pytest.mark.parametrize("percent", ["0.5", "5.25", "10", "100"])
@pytest.mark.parametrize("ppm", ["60", "1000", "4999"])
def test_what_is_mixed_for_a_strength_has_it_to_what_a_cylinder_shows(
    percent: str, ppm: str
) -> None:
    mixed = to_strength(Decimal(percent), Decimal(ppm), Decimal(20_000))

    back = of_volumes(Decimal(percent), mixed.stock_ml, mixed.water_ml)

    assert mixed.total_ml == 20_000
    # Half a tenth of a millilitre of stock, in parts per million of the whole.
    assert abs(back.ppm - Decimal(ppm)) <= Decimal(percent) * 10_000 / 400_000 + Decimal("0.05")


def test_less_stock_than_can_be_measured_is_no_recipe() -> None:
    with pytest.raises(Refused, match="less than a tenth"):
        to_strength(Decimal(100), Decimal(1), Decimal(10))
