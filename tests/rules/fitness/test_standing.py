"""Where a thing stands: lives of a hook, a scope, a pack, a set, told fact by fact."""

from datetime import timedelta
from functools import reduce

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip import facts
from equip.facts import Fact, Loose
from equip.rules.fitness.standing import HANDLED, Standing, after, fold, settled
from tests.golden.test_golden_facts import FIELDS
from tests.support.lives import (
    HOOK,
    LOAD,
    MACHINE,
    NEXT_LOAD,
    NURSE,
    ONE,
    PACK_TAG,
    ROOM,
    SECOND,
    SET_TAG,
    SHELF,
    TWO,
    Life,
)
from tests.support.stopped import NOON


@pytest.fixture
def hook() -> Life:
    """A hook that is on the register, new from its maker."""
    return Life(HOOK).added(place=SHELF)


@pytest.fixture
def pack() -> Life:
    """A sealed pack with two things and five fine tips in it."""
    loose = (Loose(type="fine-tip", count=5),)
    return Life(PACK_TAG).then(facts.Packed, pack=PACK_TAG, contents=(HOOK, SECOND), loose=loose)


# --- the life of a hook -----------------------------------------------------------------------


def test_a_new_hook_is_here_at_its_place_and_has_met_nobody(hook: Life) -> None:
    stands = hook.stands

    assert (stands.type, stands.arrival, stands.where) == ("hook", "factory-new", "here")
    assert (stands.place, stands.placed, stands.at) == (SHELF, hook.at, hook.at)
    assert stands.soiling is None
    assert stands.done == ()


@pytest.mark.parametrize("arrival", ["loaned", "second-hand", "repaired"])
def test_what_comes_from_outside_is_soiled_by_what_it_met_there(arrival: str) -> None:
    soiling = Life(HOOK).added(arrival).stands.soiling

    assert soiling is not None
    assert (soiling.how, soiling.patient) == ("outside", "")


@pytest.mark.parametrize("arrival", ["factory-new", "go-live"])
def test_what_is_new_or_taken_over_is_not_soiled(arrival: str) -> None:
    assert Life(HOOK).added(arrival).stands.soiling is None


def test_a_use_soils_it_counts_and_names_the_patient(hook: Life) -> None:
    stands = hook.used(ONE, "use-1").stands

    assert stands.soiling is not None
    assert (stands.soiling.how, stands.soiling.patient, stands.soiling.use) == (
        "used",
        ONE,
        "use-1",
    )
    assert (stands.uses, stands.owner, stands.last_use) == (1, ONE, hook.at)


def test_the_same_thing_told_twice_in_one_use_is_one_use(hook: Life) -> None:
    first = hook.used(ONE, "use-1").at

    stands = hook.used(ONE, "use-1").stands

    assert stands.uses == 1
    assert stands.soiling is not None
    assert stands.soiling.at == first


def test_the_same_patient_on_another_day_is_another_use(hook: Life) -> None:
    stands = hook.used(ONE, "use-1").round().used(ONE, "use-2").stands

    assert stands.uses == 2


def test_a_use_takes_back_whatever_was_done_before_it(hook: Life) -> None:
    assert hook.round().stands.done != ()

    assert hook.used().stands.done == ()


def test_finishing_starts_the_time_to_cleaning_for_what_was_used_in_it(hook: Life) -> None:
    hook.used(ONE, "use-1").then(
        facts.UseFinished, use="use-1", patient=ONE, covers=(HOOK,), minutes=20
    )

    assert hook.stands.soiling is not None
    assert hook.stands.soiling.ended == hook.at


def test_finishing_another_use_changes_nothing(hook: Life) -> None:
    hook.used(ONE, "use-1").then(facts.UseFinished, use="use-0", patient=ONE, covers=(HOOK,))

    assert hook.stands.soiling is not None
    assert hook.stands.soiling.ended is None


def test_steps_by_hand_are_kept_in_order_with_who_did_them(hook: Life) -> None:
    stands = hook.used().stepped("wipe", "clean", "inspect").stands

    assert [(done.steps, done.by, done.counts) for done in stands.done] == [
        (("wipe",), NURSE, True),
        (("clean",), NURSE, True),
        (("inspect",), NURSE, True),
    ]


def test_a_load_counts_only_once_it_has_passed_and_was_released(hook: Life) -> None:
    counts = []
    hook.put_in().started().ended()
    counts.append(hook.stands.done[-1].counts)
    hook.judged()
    counts.append(hook.stands.done[-1].counts)
    hook.released()
    counts.append(hook.stands.done[-1].counts)

    assert counts == [False, False, True]


def test_a_load_is_where_it_is_from_putting_in_to_release(hook: Life) -> None:
    seen = []
    for step in (hook.put_in, hook.started, hook.ended, hook.judged, hook.released):
        step()
        seen.append((hook.stands.load, hook.stands.load_state))

    assert seen == [
        (LOAD, "filling"),
        (LOAD, "running"),
        (LOAD, "ended"),
        (LOAD, "ended"),
        ("", ""),
    ]
    assert hook.stands.cycles == 1


def test_the_time_of_a_load_is_its_end_and_not_its_release(hook: Life) -> None:
    end = hook.put_in().started().ended().at

    done = hook.judged().released().stands.done[-1]

    assert (done.at, done.released) == (end, hook.at)


def test_what_is_taken_out_before_the_start_is_in_no_load(hook: Life) -> None:
    hook.put_in().then(facts.LoadTakenOut, load=LOAD, item=HOOK)

    assert (hook.stands.load, hook.stands.load_state) == ("", "")


def test_what_was_held_back_at_release_does_not_count(hook: Life) -> None:
    hook.put_in().started().ended().judged()
    hook.then(facts.LoadReleased, load=LOAD, released=(SECOND,), held=(HOOK,))

    assert not hook.stands.done[-1].counts
    assert "held back" in hook.stands.done[-1].refused


def test_a_rejected_load_does_not_count_whatever_it_was_judged(hook: Life) -> None:
    hook.put_in().started().ended().judged()
    hook.then(facts.LoadRejected, load=LOAD, reason="wet", covers=(HOOK,))

    assert not hook.stands.done[-1].counts
    assert hook.stands.done[-1].void
    assert hook.stands.load == ""


def test_a_released_load_that_is_judged_anew_and_fails_counts_no_longer(hook: Life) -> None:
    hook.round().judged("fail")

    assert not hook.stands.done[-1].counts


def test_what_is_known_of_one_load_says_nothing_of_another(hook: Life) -> None:
    hook.cycle(LOAD).put_in(NEXT_LOAD).started(NEXT_LOAD).ended(NEXT_LOAD)
    hook.judged("fail", NEXT_LOAD)

    assert [done.counts for done in hook.stands.done] == [True, False]


def test_a_release_that_is_told_after_its_use_does_not_make_it_fit(hook: Life) -> None:
    hook.put_in().started().ended().judged().used().released()

    assert hook.stands.done == ()


@pytest.mark.parametrize(
    ("kind", "fields", "where"),
    [
        (facts.SentOut, {"receiver": "Fenwick", "why": "repair"}, "sent out"),
        (facts.Retired, {"why": "worn"}, "retired"),
    ],
)
def test_what_left_is_nowhere_here(
    hook: Life, kind: type[Fact], fields: dict[str, str], where: str
) -> None:
    stands = hook.then(kind, item=HOOK, **fields).stands

    assert (stands.where, stands.place, stands.placed) == (where, "", None)


def test_what_comes_back_is_here_and_must_go_round_again(hook: Life) -> None:
    hook.round().then(facts.SentOut, item=HOOK, receiver="Fenwick", why="repair")
    hook.then(facts.Arrived, item=HOOK, arrival="repaired")

    stands = hook.stands
    assert (stands.where, stands.arrival, stands.done) == ("here", "repaired", ())
    assert stands.soiling is not None
    assert stands.soiling.how == "outside"


def test_putting_away_remembers_the_last_place_and_when(hook: Life) -> None:
    hook.then(facts.Placed, item=HOOK, place=ROOM)

    assert (hook.stands.place, hook.stands.placed) == (ROOM, hook.at)


def test_it_is_not_put_away_in_itself(hook: Life) -> None:
    hook.then(facts.Placed, item=SET_TAG, place=HOOK, covers=(HOOK,))

    assert hook.stands.place == SHELF


# --- opened and not used ----------------------------------------------------------------------


def test_opened_and_not_used_is_soiled_but_no_use_and_nobodys_own(hook: Life) -> None:
    hook.used(ONE, "use-1").then(facts.UseNoted, use="use-1", patient=ONE, opened=(HOOK,))

    stands = hook.stands
    assert stands.soiling is not None
    assert stands.soiling.how == "unused"
    assert (stands.uses, stands.owner) == (0, "")


def test_opened_and_not_used_twice_takes_back_one_use_only(hook: Life) -> None:
    hook.used(ONE, "use-0").round().used(TWO, "use-1")
    for _ in range(2):
        hook.then(facts.UseNoted, use="use-1", patient=TWO, opened=(HOOK,))

    assert (hook.stands.uses, hook.stands.owner) == (1, ONE)


def test_opened_and_not_used_of_another_use_changes_nothing(hook: Life) -> None:
    hook.used(ONE, "use-1").then(facts.UseNoted, use="use-0", patient=ONE, opened=(HOOK,))

    assert hook.stands.uses == 1


def test_an_opening_that_is_told_as_such_is_no_use(hook: Life) -> None:
    stands = hook.used(ONE, opened_only=True).stands

    assert stands.soiling is not None
    assert (stands.soiling.how, stands.uses, stands.owner) == ("unused", 0, "")


# --- what goes wrong --------------------------------------------------------------------------


def test_a_drop_takes_back_the_steps_and_the_pack(hook: Life) -> None:
    hook.round().packed().marked("dropped", "soil")

    stands = hook.stands
    assert (stands.done, stands.pack) == ((), "")
    assert stands.soiling is not None
    assert (stands.soiling.how, stands.soiling.patient) == ("dropped", "")


def test_a_drop_before_it_was_cleared_hides_no_patient(hook: Life) -> None:
    stands = hook.used(ONE).stepped("clean").marked("dropped", "soil").stands

    assert stands.done == ()
    assert stands.soiling is not None
    assert (stands.soiling.how, stands.soiling.patient) == ("used", ONE)


def test_a_mark_asks_for_an_inspection_and_only_a_passed_one_answers(hook: Life) -> None:
    hook.marked("blocked", "inspect")
    assert hook.stands.inspect == "blocked"

    hook.stepped("inspect", passed=False)
    assert (hook.stands.inspect, hook.stands.failed_inspection) == ("blocked", hook.at)

    hook.stepped("inspect")
    assert (hook.stands.inspect, hook.stands.failed_inspection) == ("", None)


@pytest.mark.parametrize("what", ["used", "dropped", "on loan"])
def test_a_failed_inspection_does_not_heal_by_a_use_a_fall_or_a_loan(hook: Life, what: str) -> None:
    hook.stepped("inspect", passed=False)

    match what:
        case "used":
            hook.used()
        case "dropped":
            hook.marked("dropped", "soil")
        case _:
            hook.then(facts.Arrived, item=HOOK, arrival="loaned")

    assert hook.stands.failed_inspection is not None


def test_what_comes_back_from_repair_has_its_inspection_before_it_again(hook: Life) -> None:
    hook.stepped("inspect", passed=False).then(facts.Arrived, item=HOOK, arrival="repaired")

    assert hook.stands.failed_inspection is None
    assert hook.stands.done == ()


def test_a_torn_pack_is_spoilt_for_good_and_what_it_held_can_be_packed_anew(
    hook: Life, pack: Life
) -> None:
    hook.used().stepped("clean", "inspect").packed().cycle(put=PACK_TAG, wrapped=True)
    for life in (hook, pack):
        life.marked("torn", "unpack", item=PACK_TAG, covers=(HOOK, SECOND))

    assert pack.stands.spoilt == "torn"
    assert (hook.stands.spoilt, hook.stands.pack) == ("", "")
    assert [done.steps for done in hook.stands.done] == [("clean",), ("inspect",)]
    assert hook.stands.soiling is not None


def test_what_was_never_used_and_was_in_a_torn_pack_must_go_round_too() -> None:
    life = Life(HOOK).added("go-live", declared_by=NURSE).packed()

    life.marked("wet", "unpack", item=PACK_TAG, covers=(HOOK,))

    assert life.stands.soiling is not None
    assert life.stands.soiling.how == "wet"


def test_quarantines_gather_and_an_old_entry_that_names_no_reason_lifts_them_all(
    hook: Life,
) -> None:
    hook.kept_back().kept_back("bag-it")
    assert [kept.how for kept in hook.stands.quarantines] == ["clean-it-now", "bag-it"]

    hook.then(facts.QuarantineLifted, item=HOOK, reason="looked at")
    assert hook.stands.quarantines == ()


def test_a_reason_that_is_named_is_lifted_by_itself(hook: Life) -> None:
    first, second = hook.kept_back().kept_back("bag-it").stands.quarantines

    hook.then(facts.QuarantineLifted, item=HOOK, reason="x", why=first.why, since=first.at)

    assert hook.stands.quarantines == (second,)


@pytest.mark.parametrize("what", ["used", "round", "moved away"])
def test_nothing_but_lifting_ends_a_quarantine(hook: Life, what: str) -> None:
    hook.kept_back()

    match what:
        case "used":
            hook.used()
        case "round":
            hook.round()
        case _:
            hook.then(facts.SentOut, item=HOOK, receiver="Fenwick", why="repair")
            hook.then(facts.Arrived, item=HOOK, arrival="repaired")

    assert len(hook.stands.quarantines) == 1


# --- packs and sets ---------------------------------------------------------------------------


def test_a_pack_knows_what_it_holds_and_when_it_was_made(pack: Life) -> None:
    stands = pack.stands

    assert (stands.type, stands.made, stands.members) == ("pack", pack.at, (HOOK, SECOND))
    assert stands.loose == (Loose(type="fine-tip", count=5),)


def test_what_is_packed_knows_its_pack_and_keeps_its_steps(hook: Life) -> None:
    stands = hook.stepped("clean", "inspect").packed().stands

    assert stands.pack == PACK_TAG
    assert [done.steps for done in stands.done] == [("clean",), ("inspect",), ("pack",)]


def test_opening_a_pack_soils_what_it_held_and_counts_a_use_of_each(hook: Life, pack: Life) -> None:
    hook.packed()
    for life in (hook, pack):
        life.used(ONE, "use-1", item=PACK_TAG, covers=(HOOK, SECOND))

    assert (pack.stands.opened, pack.stands.uses) == (pack.at, 1)
    assert (hook.stands.uses, hook.stands.pack) == (1, "")
    assert hook.stands.soiling is not None
    assert (hook.stands.soiling.how, hook.stands.soiling.patient) == ("opened", ONE)


def test_a_thing_scanned_out_of_an_opened_pack_was_used(hook: Life) -> None:
    hook.packed().used(ONE, "use-1", item=PACK_TAG, covers=(HOOK,)).used(ONE, "use-1")

    assert hook.stands.soiling is not None
    assert (hook.stands.soiling.how, hook.stands.uses) == ("used", 1)


def test_its_pack_scanned_after_it_makes_it_no_less_used(hook: Life) -> None:
    hook.packed().used(ONE, "use-1").used(ONE, "use-1", item=PACK_TAG, covers=(HOOK,))

    assert hook.stands.soiling is not None
    assert (hook.stands.soiling.how, hook.stands.uses) == ("used", 1)


def test_a_pack_is_opened_once(pack: Life) -> None:
    first = pack.used(ONE, "use-1").at

    assert pack.used(TWO, "use-2").stands.opened == first


def test_a_set_gains_and_loses_members_over_time() -> None:
    tray = Life(SET_TAG).added(type="set")
    for item in (HOOK, SECOND, HOOK):
        tray.then(facts.Joined, set=SET_TAG, item=item)
    assert tray.stands.members == (HOOK, SECOND)

    tray.then(facts.Left, set=SET_TAG, item=HOOK)
    assert tray.stands.members == (SECOND,)


def test_joining_a_set_changes_nothing_about_the_thing_itself(hook: Life) -> None:
    before = hook.stands

    stands = hook.then(facts.Joined, set=SET_TAG, item=HOOK).stands

    assert msgspec.structs.replace(stands, at=before.at) == before


def test_a_scope_that_is_wiped_has_its_disinfection_by_hand() -> None:
    scope = Life("E000000035").added("loaned", type="scope-wiped").stepped("clean", "disinfect")

    done = scope.stands.done[-1]
    assert (done.steps, done.load, done.counts) == (("disinfect",), "", True)


# --- taken back, moved, late ------------------------------------------------------------------


def test_a_withdrawn_use_was_never_told(hook: Life) -> None:
    before = hook.round().stands
    act = hook.used().last_act

    hook.then(facts.Withdrawn, withdrawn=act, covers=(HOOK,))

    assert hook.stands == before


def test_withdrawing_an_unfit_use_keeps_its_quarantine_and_who_was_hurt(hook: Life) -> None:
    hook.then(facts.Used, act="one", use="use-1", item=HOOK, patient=ONE).then(
        facts.Quarantined, act="one", item=HOOK, why=facts.Told(code="x", says="unfit")
    ).then(facts.Hurt, act="one", item=HOOK, person=NURSE).then(
        facts.Withdrawn, act="two", withdrawn="one", covers=(HOOK,)
    )

    assert hook.stands.uses == 0
    assert len(hook.stands.quarantines) == 1
    assert [type(fact) for _, fact in settled(hook.told)] == [
        facts.ItemAdded,
        facts.Quarantined,
        facts.Hurt,
        facts.Withdrawn,
    ]


def test_a_withdrawn_release_leaves_the_load_unreleased(hook: Life) -> None:
    act = hook.round().last_act

    hook.then(facts.Withdrawn, withdrawn=act, covers=(HOOK,))

    assert not hook.stands.done[-1].counts
    assert hook.stands.load == LOAD


def test_a_withdrawn_lifting_leaves_the_quarantine(hook: Life) -> None:
    act = hook.kept_back().then(facts.QuarantineLifted, item=HOOK, reason="x").last_act

    hook.then(facts.Withdrawn, withdrawn=act, covers=(HOOK,))

    assert len(hook.stands.quarantines) == 1


def test_a_use_that_was_moved_names_its_last_patient_from_the_start(hook: Life) -> None:
    hook.used(ONE, "use-1").then(facts.UseFinished, use="use-1", patient=ONE, covers=(HOOK,))
    hook.then(facts.MovedToPatient, use="use-1", was=ONE, patient=TWO, covers=(HOOK,))
    hook.then(facts.MovedToPatient, use="use-1", was=TWO, patient="p-three", covers=(HOOK,))

    stands = hook.stands
    assert stands.soiling is not None
    assert (stands.soiling.patient, stands.owner, stands.uses) == ("p-three", "p-three", 1)


def test_a_move_that_was_withdrawn_leaves_the_first_patient(hook: Life) -> None:
    hook.used(ONE, "use-1")
    act = hook.then(
        facts.MovedToPatient, use="use-1", was=ONE, patient=TWO, covers=(HOOK,)
    ).last_act

    hook.then(facts.Withdrawn, withdrawn=act, covers=(HOOK,))

    assert hook.stands.owner == ONE


def test_a_move_leaves_other_uses_where_they_are(hook: Life) -> None:
    hook.used(ONE, "use-1").round().used(ONE, "use-2")
    hook.then(facts.MovedToPatient, use="use-2", was=ONE, patient=TWO, covers=(HOOK,))

    assert [f.patient for _, f in settled(hook.told) if isinstance(f, facts.Used)] == [ONE, TWO]


def test_a_use_told_late_is_folded_where_it_happened(hook: Life) -> None:
    """A bench that was offline: used before the cycle, told after it."""
    start = hook.at
    hook.stepped("clean", "inspect").cycle()
    late = facts.Used(
        at=start + timedelta(seconds=30), by=NURSE, act="late", use="u", item=HOOK, patient=ONE
    )

    stands = fold(HOOK, sorted([*hook.told, late], key=lambda fact: fact.at))

    assert stands.soiling is not None
    assert stands.soiling.patient == ONE
    assert stands.done[-1].counts


def test_a_fact_that_says_nothing_of_where_it_stands_leaves_it_alone(hook: Life) -> None:
    before = hook.stands

    after_all = hook.then(facts.Asked, item=HOOK, allowed=True).then(
        facts.Hurt, item=HOOK, person=NURSE
    )

    assert after_all.stands == before


def test_a_standing_survives_the_table_it_is_kept_in(hook: Life) -> None:
    stands = hook.used().stepped("clean").packed().put_in(wrapped=True).kept_back().stands

    body = msgspec.json.encode(stands)

    assert msgspec.json.decode(body, type=Standing) == stands


# --- the law ----------------------------------------------------------------------------------

_REWRITES = {facts.Withdrawn, facts.MovedToPatient}
_TELLABLE = sorted(set(FIELDS) - _REWRITES, key=lambda kind: kind.__name__)
_SUBJECTS = st.sampled_from([HOOK, PACK_TAG, SET_TAG])


@st.composite
def _any_fact(draw: st.DrawFn) -> Fact:
    """A fact of any kind, about one of three things, in one of two loads and two uses."""
    kind = draw(st.sampled_from(_TELLABLE))
    fields = dict(FIELDS[kind])
    for name in ("item", "pack", "set"):
        if name in fields:
            fields[name] = draw(_SUBJECTS)
    for name in ("covers", "contents", "released", "held", "opened"):
        if name in fields:
            fields[name] = tuple(draw(st.lists(_SUBJECTS, max_size=2, unique=True)))
    for name, choices in (
        ("load", [LOAD, NEXT_LOAD]),
        ("use", ["use-1", "use-2"]),
        ("effect", ["soil", "inspect", "quarantine", "unpack"]),
        ("passed", [True, False]),
        ("step", ["clean", "inspect", "disinfect"]),
        ("verdict", ["pass", "fail", "undecided"]),
    ):
        if name in fields:
            fields[name] = draw(st.sampled_from(choices))
    at = NOON + timedelta(minutes=draw(st.integers(0, 10_000)))
    return kind(at=at, by=NURSE, act=str(draw(st.integers(0, 99))), **fields)


_HISTORIES = st.lists(_any_fact(), max_size=25).map(lambda told: sorted(told, key=lambda f: f.at))


@given(_HISTORIES, _SUBJECTS)
def test_folding_all_at_once_equals_folding_one_after_the_other(
    told: list[Fact], item: str
) -> None:
    assert fold(item, told) == reduce(after, told, Standing(item=item))


@given(_HISTORIES, _SUBJECTS, st.integers(0, 25))
def test_folding_may_stop_anywhere_and_go_on_from_what_was_kept(
    told: list[Fact], item: str, cut: int
) -> None:
    kept = msgspec.json.encode(fold(item, told[:cut]))

    resumed = msgspec.json.decode(kept, type=Standing)

    assert reduce(after, told[cut:], resumed) == fold(item, told)


@given(_HISTORIES, _SUBJECTS)
def test_counts_are_never_negative_and_a_quarantine_never_vanishes_unlifted(
    told: list[Fact], item: str
) -> None:
    stands = fold(item, told)

    left: list[facts.Quarantined] = []
    for fact in told:
        if isinstance(fact, facts.Quarantined):
            left.append(fact)
        elif isinstance(fact, facts.QuarantineLifted):
            left = [
                one
                for one in left
                if fact.why is not None and (one.why, one.at) != (fact.why, fact.since or one.at)
            ]
    assert stands.uses >= 0
    runs = (facts.LoadEnded, facts.LoadTakenOver)
    assert stands.cycles == sum(isinstance(f, runs) for f in told)
    assert [(one.why, one.at) for one in stands.quarantines] == [(one.why, one.at) for one in left]


@given(_HISTORIES, _SUBJECTS, st.integers(0, 24))
def test_withdrawing_an_act_equals_never_having_told_it_but_for_what_stays(
    told: list[Fact], item: str, which: int
) -> None:
    act = told[which % len(told)].act if told else "none"
    undo = facts.Withdrawn(at=NOON, by=NURSE, act="undo", withdrawn=act, covers=(item,))
    stays = (facts.Quarantined, facts.Hurt, facts.PieceMissing)

    without = [fact for fact in told if fact.act != act or isinstance(fact, stays)]

    assert fold(item, [*told, undo]) == fold(item, without)


def test_every_kind_that_changes_where_a_thing_stands_is_one_there_is() -> None:
    assert set(facts.KINDS.values()) >= HANDLED
    assert not HANDLED & _REWRITES


# --- a machine --------------------------------------------------------------------------------


def chosen(machine: Life, load: str, programme: str = "steam-134") -> Life:
    return machine.then(
        facts.ReferenceChosen, machine=MACHINE, programme=programme, load=load, reason="validated"
    )


def test_the_latest_reference_cycle_of_each_programme_holds() -> None:
    machine = Life(MACHINE)
    for load, programme in ((LOAD, "steam-134"), (LOAD, "steam-121"), (NEXT_LOAD, "steam-134")):
        chosen(machine, load, programme)

    assert machine.stands.references == {"steam-134": NEXT_LOAD, "steam-121": LOAD}


def test_what_it_did_to_its_loads_was_not_done_to_it_however_many_they_were() -> None:
    machine = Life(MACHINE).then(facts.Stepped, item=MACHINE, step="clean", passed=True)
    for _ in range(3):
        machine.ended().judged()
    machine.then(
        facts.LoadTakenOver,
        load=NEXT_LOAD,
        machine=MACHINE,
        programme="steam-134",
        steps=("sterilise",),
        verdict="pass",
        covers=(HOOK,),
    )

    assert [done.steps for done in machine.stands.done] == [("clean",)]
    assert (machine.stands.cycles, machine.stands.load_state) == (4, "ended")


def test_a_choice_that_was_taken_back_leaves_the_one_before() -> None:
    machine = chosen(chosen(Life(MACHINE), LOAD), NEXT_LOAD)

    machine.then(facts.Withdrawn, withdrawn=machine.last_act, covers=(MACHINE,))

    assert machine.stands.references == {"steam-134": LOAD}


def test_a_reference_is_the_machines_and_nobody_elses() -> None:
    assert chosen(Life(HOOK), LOAD).stands.references == {}
