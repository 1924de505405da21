"""However a clinic lived, what is kept with every entry is what the whole ledger adds up to."""

from collections.abc import Callable
from random import Random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from equip.desk.act.act import acting
from equip.desk.clinic import Clinic
from equip.desk.loads.release import why_not_release
from equip.desk.lookback import exposure_answer
from equip.desk.lookback.exposure_answer import Scope
from equip.desk.lookback.injuries import may_carry
from equip.desk.machines import may_run
from equip.desk.register import stock
from equip.rules.lookback.sweep import Exposure
from equip.store.fold.exposures import tallies
from equip.store.fold.met import Doubted
from equip.store.fold.rebuild import differences
from equip.store.readings import item_rows, load_rows
from tests.support.gates_oracle import Pair, exposed
from tests.support.life import Life
from tests.support.past_play import all_swept
from tests.support.playing import Play

FreshPlay = Callable[[], Play]


def lived(fresh_play: FreshPlay, seed: int) -> tuple[Life, Random]:
    random = Random(seed)
    life = Life.begin(fresh_play(), random)
    life.goes_on(random.randint(5, 60))
    return life, random


def pairs(found: list[Exposure]) -> dict[tuple[str, str, str], int]:
    return {
        (one.item, one.use, source.use): int(source.certainty)
        for one in found
        for source in one.sources
    }


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_whatever_happened_the_tables_are_what_the_ledger_adds_up_to(
    fresh_play: FreshPlay, seed: int
) -> None:
    life, _ = lived(fresh_play, seed)
    store = life.play.clinic.store

    kept = exposure_answer.open_now(life.play.clinic)

    assert differences(store, life.play.clinic.settings.data) == []
    assert kept == all_swept(life.play.clinic)
    uses, gaps = store.one("SELECT COUNT(*), SUM(gap) FROM touch WHERE sort = 'use'") or (0, 0)
    counts = tallies(store)
    assert counts.get("uses", 0) == uses
    assert counts.get("gaps", 0) == (gaps or 0)
    assert counts.get("exposed", 0) == len(kept)


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_a_question_asked_piece_by_piece_is_answered_as_one_sweep_over_everything_is(
    fresh_play: FreshPlay, seed: int
) -> None:
    life, random = lived(fresh_play, seed)
    clinic = life.play.clinic
    gates = clinic.store.rows("SELECT DISTINCT ref FROM touch WHERE sort = 'gate' ORDER BY ref")
    chosen = [ref for (ref,) in random.sample(gates, min(2, len(gates)))]
    before = pairs(all_swept(life.play.clinic))
    doubted = pairs(all_swept(life.play.clinic, Doubted(frozenset(chosen))))

    found = exposure_answer.look_back(clinic, Scope(loads=tuple(chosen)))

    assert pairs(list(found.exposures)) == {
        pair: sure for pair, sure in doubted.items() if pair not in before
    }
    listed = pairs([*found.exposures, *found.already_open])
    assert listed.keys() == before.keys() | doubted.keys()


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_a_gap_is_a_use_with_no_source_and_with_nothing_that_cleared_its_thing_before(
    fresh_play: FreshPlay, seed: int
) -> None:
    """Of things with a tag of their own; what a pack of untagged ones knows has tests by hand."""
    life, _ = lived(fresh_play, seed)
    store = life.play.clinic.store
    exposed = {(one.item, one.use) for one in exposure_answer.open_now(life.play.clinic)}
    usual = 1  # the bit of bacteria and viruses
    cleared = dict(
        store.rows(
            "SELECT item, MIN(at) FROM touch WHERE sort = 'gate' AND state = 'proven'"
            " AND doubt = 0 AND whole % 2 = ? GROUP BY item",
            usual,
        )
    )

    uses = store.rows("SELECT item, ref, at, gate, gap FROM touch WHERE sort = 'use'")

    for item, use, at, gate, gap in uses:
        if item[0] == "E":
            first = cleared.get(item)
            # In one instant the fold says whether the gate or the use came first.
            anchored = first is not None and (first <= at if gate else first < at)
            known = (item, use) in exposed or anchored
            assert bool(gap) == (gate != "new" and not known), (item, use)


def pairs_of_instruments(found: list[Exposure]) -> set[Pair]:
    return {
        (one.item, one.use, source.use)
        for one in found
        if one.item[0] == "E"
        for source in one.sources
    }


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_who_was_exposed_is_what_each_decontamination_says_that_asks_every_earlier_step(
    fresh_play: FreshPlay, seed: int
) -> None:
    life, random = lived(fresh_play, seed)
    store, types = life.play.clinic.store, life.play.clinic.house.types
    gates = store.rows("SELECT DISTINCT ref FROM touch WHERE sort = 'gate' AND ref LIKE 'L%'")
    open_now = exposed(store, types)

    assert pairs_of_instruments(exposure_answer.open_now(life.play.clinic)) == open_now
    for load in random.sample(sorted(ref for (ref,) in gates), min(4, len(gates))):
        found = exposure_answer.look_back(life.play.clinic, Scope(loads=(load,)))
        listed = pairs_of_instruments([*found.exposures, *found.already_open])
        assert listed == exposed(store, types, [load]) | open_now


_BESIDE = {"check-missing", "machine-unchecked", "machine-not-fit", "service-overdue", "in-a-pack"}


@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_what_is_a_yes_carries_nobody(fresh_play: FreshPlay, seed: int) -> None:
    """Whoever was told Yes is never told of an exposure by what was known before."""
    life = Life.begin(fresh_play(), Random(seed))
    clinic = life.play.clinic
    for _ in range(12):
        life.goes_on(4)
        with acting(clinic, by=life.play.people["nurse"]) as act:
            every = [one for one in item_rows.standings(clinic.store) if one.item[0] in "EP"]
            allowed = [
                one.item for one in every if {why.code for why in act.why_not_use(one)} <= _BESIDE
            ]
        for item in allowed:
            assert may_carry(clinic, item, clinic.clock()).carried == (), item


@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_stock_an_items_page_and_the_bench_give_the_same_reasons(
    fresh_play: FreshPlay, seed: int
) -> None:
    life, _ = lived(fresh_play, seed)
    clinic, now = life.play.clinic, life.play.clinic.clock()
    left_to_the_bench = {"in-a-pack", "which-patient"}
    listed = [one for shelf in stock.stock(clinic, now).shelves for one in shelf.things]
    assert listed

    with acting(clinic, by=life.play.people["nurse"]) as act:
        for one in listed:
            asked = act.why_not_use(act.standing(one.tag))
            at_the_bench = [why for why in asked if why.code not in left_to_the_bench]
            paged = stock.thing(clinic, one.tag, now)
            assert paged is not None
            assert list(one.reasons) == list(paged.reasons) == at_the_bench


@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_page_bench_and_act_agree_on_what_may_be_released_and_which_machine_may_run(
    fresh_play: FreshPlay, seed: int
) -> None:
    life, _ = lived(fresh_play, seed)
    play, clinic = life.play, life.play.clinic
    by = play.people["nurse"]
    judged = [one for one in load_rows.open_loads(clinic.store) if one.verdict == "pass"]
    for load in judged:
        on_the_page = why_not_release(clinic, load, by, clinic.clock())
        answer = play.scan(by, "start over", load.load)
        told = play.scan("release")

        assert (answer.word == "Passed") == (on_the_page == []), on_the_page
        assert (told.word == "Released") == (on_the_page == []), told
    for machine in life.machines:
        process = clinic.house.kind(_type_of(clinic, machine)).process
        assert process is not None
        listed = may_run.in_short(clinic, machine, process, clinic.clock())
        reasons = may_run.why_not_run(clinic, machine, clinic.clock())
        paged = stock.thing(clinic, machine, clinic.clock())
        assert paged is not None

        shown = may_run.thing_with(clinic, paged, clinic.clock()).reasons
        assert (listed == "ready") == (reasons == [])
        assert set(reasons) <= set(shown)


def _type_of(clinic: Clinic, tag: str) -> str:
    stands = item_rows.standing_of(clinic.store, tag)
    assert stands is not None
    return stands.type
