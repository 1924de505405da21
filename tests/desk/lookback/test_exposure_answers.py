"""Look-backs over histories brought in: the answers of an independent model, and cases by hand."""

import json
from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from equip.desk.act.act import Refused
from equip.desk.lookback import exposure_answer, exposure_json
from equip.desk.lookback.exposure_answer import Scope
from equip.desk.past import bring_in as past
from equip.facts import Hazard
from equip.rules.lookback.sweep import Exposure
from equip.store.fold import exposure_text
from equip.store.fold.exposures import tallies
from equip.store.fold.rebuild import differences, migrated
from tests.support.past_oracle import Oracle
from tests.support.past_play import all_swept, as_file, bring_in, history, pairs, row
from tests.support.playing import Play

DATA = Path(__file__).parents[2] / "past"
ANSWERS = json.loads((DATA / "past-answers.json").read_text("utf-8"))
NOBODY = frozenset({"PUMP"})


def scope_of(play: Play, words: list[str]) -> Scope:
    """The scope that a question's words on the command line stand for."""
    if words[0] == "--load":
        return Scope(
            loads=tuple(exposure_answer.load_named(play.clinic, name) for name in words[1::2])
        )
    machine = exposure_answer.item_named(play.clinic, words[1], "D")
    since, until = (past_time(words[words.index(word) + 1]) for word in ("--from", "--to"))
    return exposure_answer.of_machine(play.clinic, machine, since, until)


def past_time(text: str):  # type: ignore[no-untyped-def]
    from datetime import datetime

    return datetime.fromisoformat(text)


def as_told(play: Play, found: tuple[Exposure, ...]) -> list[object]:
    """Exposures as the answers have them, without share and path."""
    names = exposure_json.AnswerNames(play.clinic)
    reveal = play.clinic.vault.reveal
    return sorted(
        (
            reveal(one.patient),
            names(one.item),
            exposure_json.stamp(one.at),
            one.certainty.word,
            sorted((reveal(str(s.patient)), exposure_json.stamp(s.at)) for s in one.sources),
        )
        for one in found
    )


def as_answered(rows: list[dict[str, object]]) -> list[object]:
    return sorted(
        (
            one["patient"],
            one["item"],
            one["used_at"],
            one["certainty"],
            sorted((s["patient"], s["used_at"]) for s in one["sources"]),  # type: ignore[attr-defined]
        )
        for one in rows
    )


@pytest.fixture(autouse=True)
def usual_sizes() -> Iterator[None]:
    """What a test makes smaller, to meet it more often, is as large again for the next."""
    usual = past.BATCH, exposure_text.MOST_KEPT
    yield
    past.BATCH, exposure_text.MOST_KEPT = usual


@pytest.mark.parametrize("answer", ANSWERS, ids=lambda one: " ".join(one["lookback"]))
def test_an_invented_history_is_answered_as_an_independent_model_did(
    play: Play, answer: dict[str, list[object]]
) -> None:
    bring_in(play.clinic, (DATA / "past.csv").read_bytes())
    found = exposure_answer.look_back(play.clinic, scope_of(play, answer["lookback"]))  # type: ignore[arg-type]

    assert as_told(play, found.exposures) == as_answered(answer["exposures"])  # type: ignore[arg-type]
    assert as_told(play, found.already_open) == as_answered(answer["already_open"])  # type: ignore[arg-type]


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_any_history_is_answered_as_the_slow_oracle_does(
    fresh_play,  # type: ignore[no-untyped-def]
    seed: int,
) -> None:
    play = fresh_play()
    random = Random(seed)
    rows = history(random)
    past.BATCH = random.choice([3, 2_000])
    exposure_text.MOST_KEPT = random.choice([0, 1, 20])
    if random.random() < 0.4:
        random.shuffle(rows)
    bring_in(play.clinic, as_file(rows))
    oracle = Oracle(rows, NOBODY)
    loads = sorted({one["load"] for one in rows if one["what"] == "load"})
    hazards: tuple[Hazard, ...] = ("bacteria-viruses", "spores")
    for hazard in hazards:
        before = oracle.pairs(hazard=hazard)
        assert pairs(play.clinic, exposure_answer.open_now(play.clinic, hazard)) == before
        doubted = frozenset(random.sample(loads, min(2, len(loads))))
        then = oracle.pairs(doubted, hazard)
        scope = Scope(loads=tuple(exposure_answer.load_named(play.clinic, one) for one in doubted))
        found = exposure_answer.look_back(play.clinic, scope, hazard)
        assert pairs(play.clinic, found.exposures) == {
            pair: sure for pair, sure in then.items() if pair not in before
        }
    for patient in sorted({one["patient"] for one in rows if one["patient"]}):
        token = str(play.clinic.vault.find(patient))
        for hazard in (*hazards, "prions"):
            asked = exposure_answer.look_back(play.clinic, Scope(patient=token), hazard)
            everybody = oracle.pairs(hazard=hazard)
            assert pairs(play.clinic, asked.exposures) == {
                pair: sure for pair, sure in everybody.items() if pair[3] == patient
            }
    assert exposure_answer.open_now(play.clinic) == all_swept(play.clinic)
    assert differences(play.clinic.store, play.clinic.settings.data) == []


# --- by hand -------------------------------------------------------------------------------------


def test_a_load_without_a_verdict_is_no_proof_and_stays_open(play: Play) -> None:
    bring_in(
        play.clinic,
        as_file(
            [
                row(0, "use", "A", patient="REF1"),
                row(10, "load", "A", load="L1", machine="M1", programme="steam-134"),
                row(20, "use", "A", patient="REF2"),
            ]
        ),
    )
    found = exposure_answer.open_now(play.clinic)

    assert [one.certainty.word for one in found] == ["no-proof"]
    answer = exposure_json.exposed_now(play.clinic)
    assert (answer["exposed"], answer["exposed_ever"], answer["uses"]) == (1, 1, 2)
    assert answer["traceable"] == 0.5  # the first use has nothing known before it


def test_a_second_generation_is_listed_only_when_it_is_asked_for(play: Play) -> None:
    bring_in(
        play.clinic,
        as_file(
            [
                row(0, "use", "A", patient="REF1"),
                row(10, "use", "A", patient="REF2"),
                row(10, "use", "B", patient="REF2"),
                row(20, "use", "B", patient="REF3"),
            ]
        ),
    )
    token = str(play.clinic.vault.find("REF1"))
    one = exposure_answer.look_back(play.clinic, Scope(patient=token))
    two = exposure_answer.look_back(play.clinic, Scope(patient=token), generations=2)
    reveal = play.clinic.vault.reveal

    assert [reveal(found.patient) for found in one.exposures] == ["REF2"]
    assert [reveal(found.patient) for found in two.exposures] == ["REF2", "REF3"]


def test_what_a_person_put_in_is_in_doubt_whole(play: Play) -> None:
    bring_in(
        play.clinic,
        as_file(
            [
                row(0, "use", "A", patient="REF1"),
                row(0, "use", "B", patient="REF1"),
                row(10, "load", "A", load="L1", machine="M1", result="pass", who="N1"),
                row(10, "load", "B", load="L1", machine="M1", result="pass", who="N2"),
                row(20, "use", "A", patient="REF2"),
                row(20, "use", "B", patient="REF2"),
            ]
        ),
    )
    person = exposure_answer.person_named(play.clinic, "N2")
    since, until = past_time("2026-02-02T00:00:00+00:00"), past_time("2026-02-03T00:00:00+00:00")
    scope = exposure_answer.of_person(play.clinic, person, since, until)

    assert len(scope.loads) == 1
    assert len(exposure_answer.look_back(play.clinic, scope).exposures) == 2


def test_prions_are_asked_from_a_named_patient_only(play: Play) -> None:
    with pytest.raises(Refused, match="ask from a named patient"):
        exposure_answer.look_back(play.clinic, Scope(), "prions")


def test_a_use_straight_after_another_patient_is_found_at_once(play: Play) -> None:
    hook = play.add("hook")
    play.scan("123456", hook, "start over", "654321", hook)

    found = exposure_answer.open_now(play.clinic)
    assert [(one.item, len(one.sources)) for one in found] == [(hook, 1)]
    assert found[0].sources[0].path.entries()[-1].startswith("TEST/")


def test_a_passed_and_released_load_exposes_nobody_until_it_is_doubted(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    for patient in ("123456", "654321"):
        pack = play.sterile_pack(steriliser, hook)
        play.scan("start over", patient, "start a use", pack, "finish", "start over")
    assert exposure_answer.open_now(play.clinic) == []

    load = exposure_answer.of_item(play.clinic, hook, play.clock.now.replace(hour=0)).gates[-1][1]
    found = exposure_answer.look_back(play.clinic, Scope(loads=(load,)))

    assert [(one.item, one.certainty.word) for one in found.exposures] == [(hook, "certain")]


def test_a_book_from_before_keeps_its_exposures_whole_once_it_is_migrated(play: Play) -> None:
    """The table as it stood until then, without the text: it is folded again from the ledger."""
    bring_in(
        play.clinic,
        as_file(
            [
                row(0, "use", "A", patient="REF1"),
                row(20, "use", "A", patient="REF2"),
            ]
        ),
    )
    store = play.clinic.store
    before = exposure_answer.open_now(play.clinic)
    with store.writing():
        store.run("DROP TABLE exposure")
        store.run(
            "CREATE TABLE exposure (item TEXT, ref TEXT, at BIGINT, patient TEXT, site TEXT,"
            " position BIGINT, certainty INTEGER, sources INTEGER, open INTEGER)"
        )
        store.run("DELETE FROM schema_migration WHERE name = '0021_exposures_whole'")

    migrated(store)

    assert exposure_answer.open_now(play.clinic) == before == all_swept(play.clinic)
    assert len(before) == 1
    assert differences(store, play.clinic.settings.data) == []


def test_many_sources_of_one_use_are_swept_again_and_not_kept_as_a_text(play: Play) -> None:
    """A past without its loads: kept, the sources would grow with the square of the uses."""
    uses = [row(minute, "use", "A", patient=f"REF{minute}") for minute in range(30)]
    bring_in(play.clinic, as_file(uses))
    store = play.clinic.store

    found = exposure_answer.open_now(play.clinic)

    assert [len(one.sources) for one in found] == list(range(1, 30))
    assert found == all_swept(play.clinic)
    kept = store.rows("SELECT sources FROM exposure WHERE whole <> '' ORDER BY sources")
    assert [number for (number,) in kept] == list(range(1, exposure_text.MOST_KEPT + 1))


def test_an_older_book_that_kept_them_as_texts_drops_those(play: Play) -> None:
    uses = [row(minute, "use", "A", patient=f"REF{minute}") for minute in range(25)]
    bring_in(play.clinic, as_file(uses))
    store = play.clinic.store
    before = exposure_answer.open_now(play.clinic)
    with store.writing():
        store.run("UPDATE exposure SET whole = 'as it was kept' WHERE sources > 20")
        store.run("DELETE FROM schema_migration WHERE name = '0027_exposures_with_many_sources'")

    migrated(store)

    assert exposure_answer.open_now(play.clinic) == before
    assert differences(store, play.clinic.settings.data) == []


@pytest.mark.parametrize(("known", "gaps"), [(["P1", "P2"], 0), (["P1"], 1), ([], 1)])
def test_a_pack_is_known_only_if_all_that_it_may_hold_is(
    play: Play, known: list[str], gaps: int
) -> None:
    """Both packs lie in a load that clears nothing, and a third is made out of it."""
    washed = {"machine": "M1", "programme": "steam-134", "note": "contents=2"}
    bring_in(
        play.clinic,
        as_file(
            [
                *(row(0, "load", one, load="L0", result="pass", **washed) for one in known),
                *(row(10, "load", p, load="L1", result="fail", **washed) for p in ("P1", "P2")),
                row(20, "packed", "P3", load="L1", note="fine tip"),
                row(30, "use", "P3", patient="REF1"),
            ]
        ),
    )

    assert tallies(play.clinic.store).get("gaps", 0) == gaps
