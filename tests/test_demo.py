"""The demonstration has something true on every page, and its whole life proves itself."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from equip import facts
from equip.demo.serve import make
from equip.desk.cycles import reference_questions
from equip.desk.lookback.water_path import water_path
from equip.desk.register import stock
from equip.desk.upkeep import duties
from equip.installation import Installation, open_installation, proof_of
from equip.settings.settings import Settings
from equip.store.ledger import ledger
from equip.store.readings import case_rows, item_rows, load_rows, use_rows

END = datetime(2026, 11, 25, 16, 0, tzinfo=UTC)  # a Wednesday


@pytest.fixture(scope="module")
def installation(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    settings = replace(Settings(), data=tmp_path_factory.mktemp("demo") / "demo", site="DEMO")
    make(settings, lambda: END)
    with open_installation(settings, lambda: END) as opened:
        yield opened


def kinds(installation: Installation) -> list[type[facts.Fact]]:
    return [type(entry.fact) for entry in ledger.everything(installation.clinic.store)]


def test_the_story_is_told(installation: Installation) -> None:
    told = kinds(installation)
    store = installation.clinic.store

    verdicts = [row[0] for row in store.rows("SELECT verdict FROM load")]
    assert verdicts.count("fail") >= 2
    assert verdicts.count("pass") >= 60
    washed = store.rows("SELECT verdict FROM load WHERE state LIKE '%thermal-a0-3000%' ORDER BY at")
    assert [row[0] for row in washed] == ["fail", "pass"]
    assert facts.Quarantined in told
    assert facts.MovedToPatient in told
    assert facts.Withdrawn in told
    assert facts.SentOut in told
    assert store.rows("SELECT 1 FROM standing WHERE state LIKE '%fine-tip%'")
    assert [d.decided is None for d in case_rows.doubts(store)] == [True, False]


def test_the_waterline_of_the_irrigator_was_disinfected_rinsed_and_dried_each_day(
    installation: Installation,
) -> None:
    irrigator = _irrigator(installation)
    told = [
        entry.fact
        for entry in ledger.everything(installation.clinic.store)
        if isinstance(entry.fact, facts.Stepped) and entry.fact.item == irrigator
    ]
    steps = [fact.step for fact in told]
    days = {fact.at.date() for fact in told}

    assert steps == ["disinfect", "rinse", "dry"] * len(days)
    assert len(days) >= 60
    assert all(fact.contact_s == 600 for fact in told if fact.step == "disinfect")
    path = water_path(installation.clinic, irrigator, told[-1].at)
    assert path is not None
    assert (path.last is not None, path.holds) == (True, False)


def _irrigator(installation: Installation) -> str:
    (found,) = item_rows.all_of_type(installation.clinic.store, "irrigator")
    return found.item


def test_indicators_are_read_and_spores_grew_once(installation: Installation) -> None:
    store = installation.clinic.store
    read = [
        entry.fact
        for entry in ledger.everything(store)
        if isinstance(entry.fact, facts.IndicatorRead)
    ]
    results = [row[0] for row in store.rows("SELECT result FROM spore_test ORDER BY ran")]

    assert {one.result for one in read} == {"pass", "fail"}
    assert not any(one.code == "indicator-failed" for fact in read for one in fact.reasons)
    assert results.count("positive") == 1
    assert results.count("invalid") == 1
    assert results.count("negative") >= 3


def test_scopes_are_wiped_with_lots_and_one_was_soaked(installation: Installation) -> None:
    store = installation.clinic.store
    steps = [
        entry.fact for entry in ledger.everything(store) if isinstance(entry.fact, facts.Stepped)
    ]

    timed = [step for step in steps if step.contact_s]
    assert len(timed) > 300
    assert not any(step.unreleased for step in timed)
    assert facts.StepRefused not in kinds(installation)
    soaks = store.rows("SELECT verdict, stage FROM load WHERE state LIKE '%soak-opa-0.55%'")
    assert soaks == [("pass", "released")]


def test_about_sixty_things_stand_somewhere(installation: Installation) -> None:
    found = stock.stock(installation.clinic, END)

    count = sum(len(shelf.things) for shelf in found.shelves if shelf.type != "pack")
    rounds = {thing.round for shelf in found.shelves for thing in shelf.things}
    assert 55 <= count <= 75
    assert rounds >= {"ready", "soiled", "in process", "to be released", "sent out"}


def test_a_service_is_overdue_and_stops_its_pump(installation: Installation) -> None:
    late = [d for d in duties.due(installation.clinic, END.date()) if d.standing == "overdue"]

    assert [d.stops for d in late if "pump" in d.label] == [True]


def test_most_uses_are_traceable_and_the_gaps_are_listed(installation: Installation) -> None:
    traceable = use_rows.traceable(installation.clinic.store)

    assert traceable.uses > 1500
    assert traceable.share is not None
    assert 0.95 < traceable.share < 1
    assert len(use_rows.gaps(installation.clinic.store)) == traceable.uses - traceable.traced


def test_a_reference_was_chosen_in_the_first_week_and_nothing_was_asked_but_of_the_last_load(
    installation: Installation,
) -> None:
    """Invented cycles are alike but for their noise: each other question would be a false one."""
    store = installation.clinic.store
    told = [e.fact for e in ledger.everything(store)]
    opened = next(fact.at for fact in told if isinstance(fact, facts.SiteOpened))
    chosen = [fact for fact in told if isinstance(fact, facts.ReferenceChosen)]
    waiting = [load for load in load_rows.open_loads(store) if load.verdict == "pass"]

    assert [fact.at - opened < timedelta(days=7) for fact in chosen] == [True]
    assert not [f for f in told if isinstance(f, facts.LoadReleased) and f.asked]
    questions = [reference_questions.open_questions(installation.clinic, load) for load in waiting]
    assert [[one.code for one in asked] for asked in questions] == [["load-size-heated"]]
    assert "2 things were put in, but it heated like about 6" in questions[0][0].says


def test_the_whole_life_proves_itself(installation: Installation) -> None:
    proof = proof_of(installation, chain_only=False)

    assert proof.whole
    assert proof.entries > 4_000


def test_no_reference_stands_outside_the_vault(installation: Installation) -> None:
    data = Path(installation.settings.data)
    for path in data.glob("book.sqlite3*"):
        assert not re.search(rb"DEMO-1[0-9]{4}", path.read_bytes()), path
