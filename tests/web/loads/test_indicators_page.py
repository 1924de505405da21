"""Indicators and spore tests on their pages: what a nurse writes, what a manager is told to do."""

import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from equip.store.readings import case_rows, item_rows
from tests.support.playing import Play
from tests.support.spore_play import SporePlay

SignIn = Callable[[str], FlaskClient]


def words(answer: object) -> str:
    """The page as it is read: without tags, spaces as one."""
    text = re.sub(r"<[^>]+>", " ", answer.data.decode())  # type: ignore[attr-defined]
    return " ".join(text.split())


@pytest.fixture
def life(play: Play) -> SporePlay:
    return SporePlay.begin(play)


def test_a_spore_test_goes_in_is_read_and_shown_with_who_did_it(
    signed_in: SignIn, life: SporePlay
) -> None:
    client = signed_in("nurse")
    load = life.run(release=False)

    client.post(
        f"/loads/{load}/indicators/put-spore", data={"lot": life.lot, "with_control": "yes"}
    )
    waiting = words(client.get("/loads"))
    answer = client.post(
        f"/loads/{load}/indicators/read-spore",
        data={"lot": life.lot, "grew": "no", "control_grew": "yes", "incubated_h": "48"},
    )

    assert answer.headers["Location"].endswith("#indicators")
    assert "Spore tests that wait for their result" in waiting
    assert "Spore tests that wait for their result" not in words(client.get("/loads"))
    page = words(client.get(f"/loads/{load}"))
    assert "Spores, lot S-1 , with a control: negative: nothing grew ." in page
    assert page.index("nothing grew .") < page.index("Nell Ash", page.index("nothing grew ."))


def test_a_late_result_is_on_the_due_list(signed_in: SignIn, life: SporePlay) -> None:
    life.run(spores=True)
    life.play.clock.passes(hours=71)
    in_time = words(signed_in("manager").get("/due"))
    life.play.clock.passes(hours=2)

    page = words(signed_in("manager").get("/due"))

    assert "Nothing is overdue." in in_time
    assert "to be read since" in page
    assert "Nothing is overdue." not in page


def test_the_manager_is_told_what_to_do_after_a_positive_one_and_opens_the_look_back(
    signed_in: SignIn, life: SporePlay
) -> None:
    client = signed_in("manager")
    load = life.run(spores=True)
    life.read(load, grew=True)

    first = words(client.get(f"/machines/{life.machine}/spores"))
    life.repeat(negative=False)
    second = words(client.get(f"/machines/{life.machine}/spores"))
    opened = client.post(
        f"/machines/{life.machine}/spores/look-back", data={"why": "a repeat was positive"}
    )

    assert "Out of use" in first
    assert "Run the spore test again in 3 cycles" in first
    assert "Nothing is recalled yet" in first
    assert "Open a look-back on" not in first
    assert "Open a look-back on 1 load" in second
    (row,) = case_rows.doubts(life.play.clinic.store)
    assert opened.headers["Location"].endswith(row.case)
    assert row.loads == (load,)


def test_what_is_declared_is_worked_out_before_anything_is_written(
    signed_in: SignIn, life: SporePlay
) -> None:
    load = life.run()
    client = signed_in("nurse")
    before = life.play.clinic.store.rows("SELECT COUNT(*) FROM ledger")

    page = words(client.get(f"/machines/{life.machine}/spores?wrong={load}"))

    assert "Run with wrong settings" in page
    assert "Open a look-back on 1 load" in page
    assert life.play.clinic.store.rows("SELECT COUNT(*) FROM ledger") == before


def test_stock_kept_back_is_let_out_by_whoever_may(signed_in: SignIn, life: SporePlay) -> None:
    life.read(life.run(spores=True), grew=True)
    for _ in range(3):
        life.repeat(negative=True)
    address = f"/machines/{life.machine}/spores"

    for_nurse = words(signed_in("nurse").get(address))
    client = signed_in("manager")
    for_manager = words(client.get(address))
    refused = signed_in("nurse").post(f"{address}/let-out", data={"reason": "in a hurry"})
    client.post(f"{address}/let-out", data={"reason": "three repeats were negative"})

    assert "Let them out" not in for_nurse
    assert "Let them out" in for_manager
    assert refused.status_code == 400
    assert item_rows.standings_held(life.play.clinic.store) == []


def test_a_machine_that_sterilises_nothing_has_no_spore_tests(
    signed_in: SignIn, play: Play
) -> None:
    washer = play.add("washer")

    assert signed_in("manager").get(f"/machines/{washer}/spores").status_code == 404
    assert signed_in("manager").get("/machines/D999999999/spores").status_code == 404


@pytest.mark.parametrize("what", ["read", "put-spore", "read-spore"])
def test_a_load_that_is_not_there_takes_no_reading(signed_in: SignIn, what: str) -> None:
    answer = signed_in("nurse").post(f"/loads/L999999999/indicators/{what}", data={"lot": "x"})

    assert answer.status_code == 404
