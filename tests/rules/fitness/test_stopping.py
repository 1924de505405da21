"""What a step stops by its route and its means, and that no lot left out ever earns a yes."""

from datetime import timedelta
from typing import Any, get_args

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from equip import facts
from equip.facts import Hazard, ItemType, RouteStep, Step
from equip.rules.fitness.standing import Done, fold
from equip.rules.fitness.stopping import (
    CAN_STOP,
    GERMS,
    Germ,
    enough,
    falls_short,
    hazards_of,
    stopped,
    why_no_type,
)
from equip.rules.fitness.why_not import why_not_use
from equip.rules.lookback.hazards import could_stop, rests_on
from tests.support.lives import (
    GATE,
    HOOK,
    HOOK_TYPE,
    LOAD,
    NOON,
    SCOPE,
    SCOPE_TYPE,
    SINGLE,
    SPORICIDAL,
    Life,
    against,
    asking,
    codes,
)

WIPED = SCOPE_TYPE.route[1]
FOUR: tuple[Germ, ...] = GERMS[:4]
ALCOHOL: dict[str, Any] = {"lots": SPORICIDAL["lots"], "agent": "alcohol-70", "stops": ()}


def by_hand(step: Step = "disinfect", **means: Any) -> Done:
    return Done(steps=(step,), at=NOON, verdict="pass", **means)


def in_a_load(step: Step, stops: tuple[Hazard, ...] | None) -> Done:
    return Done(steps=(step,), at=NOON, load=LOAD, verdict="pass", released=NOON, stops=stops)


# --- germs to hazards -------------------------------------------------------------------------


@pytest.mark.parametrize("left_out", FOUR)
def test_bacteria_and_viruses_are_stopped_only_where_all_four_of_them_are(left_out: Germ) -> None:
    assert hazards_of(FOUR) == ("bacteria-viruses",)
    assert hazards_of([germ for germ in FOUR if germ != left_out]) == ()


def test_a_germ_that_is_spared_need_not_be_stopped_and_spores_are_never_spared() -> None:
    most = [germ for germ in FOUR if germ != "mycobacteria"]

    assert hazards_of(most, {"mycobacteria"}) == ("bacteria-viruses",)
    assert hazards_of(FOUR, {"spores", "prions"}) == ("bacteria-viruses",)
    assert hazards_of(GERMS) == ("bacteria-viruses", "spores", "prions")


# --- a step -----------------------------------------------------------------------------------


def test_it_stops_what_the_route_asks_for_and_its_agent_can_do_and_no_more() -> None:
    every = by_hand(**{**SPORICIDAL, "stops": get_args(Hazard)})
    opa = by_hand(**{**SPORICIDAL, "stops": ("bacteria-viruses",)})

    assert stopped(SCOPE_TYPE, every) == {"bacteria-viruses", "spores"}
    assert stopped(SCOPE_TYPE, opa) == {"bacteria-viruses"}
    assert stopped(HOOK_TYPE, every) == set(), "a hook's route has no disinfection"


@pytest.mark.parametrize("means", [{}, {"stops": ()}, ALCOHOL, {"lots": ("T00000001P",)}])
def test_by_hand_without_a_lot_whose_agent_is_known_it_stops_nothing(
    means: dict[str, Any],
) -> None:
    done = by_hand(**means)

    assert stopped(SCOPE_TYPE, done) == set()
    assert could_stop(SCOPE_TYPE, done) == 0
    assert not enough(WIPED, done)
    assert falls_short(SCOPE_TYPE, done)


def test_a_sterilisation_by_hand_stops_nothing_whatever_its_step_is_called() -> None:
    assert stopped(HOOK_TYPE, by_hand("sterilise")) == set()


def test_of_a_load_judged_before_this_the_route_says_it_and_a_disinfection_stops_no_spores() -> (
    None
):
    assert stopped(HOOK_TYPE, in_a_load("sterilise", None)) == {"bacteria-viruses", "spores"}
    assert stopped(SCOPE_TYPE, in_a_load("disinfect", None)) == {"bacteria-viruses"}


def test_a_load_stops_what_its_programme_does() -> None:
    assert stopped(SCOPE_TYPE, in_a_load("disinfect", ())) == set()
    assert stopped(SCOPE_TYPE, in_a_load("disinfect", ("spores",))) == {"spores"}


def test_fit_needs_the_usual_hazard_stopped_and_what_stops_less_leaves_spores_to_look_backs() -> (
    None
):
    opa = by_hand(**{**SPORICIDAL, "stops": ("bacteria-viruses",)})

    assert enough(WIPED, opa)
    assert not enough(RouteStep(step="disinfect", stops=("spores",)), opa)
    assert enough(RouteStep(step="disinfect"), by_hand()), "it is there to stop nothing"


# --- may it be used ---------------------------------------------------------------------------


def scope(**means: Any) -> Life:
    life = Life(SCOPE).added(type="scope-wiped").used().stepped("clean")
    return life.then(facts.Stepped, item=SCOPE, step="disinfect", **means)


@pytest.mark.parametrize(
    ("means", "says"),
    [
        ({}, "told without a lot"),
        ({"lots": SPORICIDAL["lots"]}, "Nobody told which agent is in lot T"),
        (ALCOHOL, "was done with alcohol-70 (lot T"),
    ],
)
def test_what_stops_too_little_is_a_no_that_says_why_and_what_to_do(
    means: dict[str, Any], says: str
) -> None:
    [why] = against(scope(**means), SCOPE_TYPE)

    assert why.code == "stops-too-little"
    assert says in why.says
    assert not why.overridable
    assert against(scope(**SPORICIDAL), SCOPE_TYPE) == []


def test_a_washer_that_stopped_too_little_ahead_of_steam_takes_the_steam_along() -> None:
    kind = msgspec.structs.replace(
        HOOK_TYPE, route=(RouteStep(step="disinfect", stops=("bacteria-viruses",)), GATE)
    )
    life = Life(HOOK).added().used()
    life.then(facts.Stepped, item=HOOK, step="disinfect", stops=()).cycle()

    [why] = against(life, kind)

    assert why.code == "step-unproven"
    assert "told without a lot" in why.says
    assert rests_on(kind, life.stands, life.stands.done[-1]) == "-"


def test_a_type_of_old_with_nothing_effective_on_its_route_answers_no() -> None:
    bare = msgspec.structs.replace(HOOK_TYPE, route=(RouteStep(step="clean"),))
    neither = msgspec.structs.replace(bare, contact="neither")
    ready = Life(HOOK).added().round()

    [why] = against(ready, bare)

    assert (why.code, why.overridable) == ("nothing-effective", False)
    assert "mend its type in Setup" in why.says
    assert against(ready, neither) == []
    assert against(Life(HOOK).added(), SINGLE) == []


def test_what_belongs_to_one_patient_needs_no_effective_step_until_it_was_elsewhere() -> None:
    own = msgspec.structs.replace(HOOK_TYPE, reuse="single-patient", route=())

    assert against(Life(HOOK).added(), own) == []
    assert codes(against(Life(HOOK).added("loaned"), own)) == ["nothing-effective"]


def test_a_mark_hides_no_patient_behind_a_wipe_that_stopped_nothing() -> None:
    carried = scope().marked("dropped", "soil").stands.soiling
    cleared = scope(**SPORICIDAL).marked("dropped", "soil").stands.soiling

    assert (carried.how if carried else "", cleared.how if cleared else "") == ("used", "dropped")


# --- a type that may be saved -----------------------------------------------------------------


def kind(*route: RouteStep, **more: Any) -> ItemType:
    return ItemType(code="x", name="Probe", route=route, **more)


def test_a_type_that_touches_patients_and_has_nothing_effective_is_named() -> None:
    [touches] = why_no_type(kind(RouteStep(step="clean")))
    [water] = why_no_type(kind(RouteStep(step="clean"), contact="water-or-air"))

    assert "Probe has nothing effective on its route, and it touches patients" in touches
    assert "it sends water or air into them" in water
    for more in ({"contact": "neither"}, {"reuse": "single-use"}, {"sort": "set"}):
        assert why_no_type(kind(**more)) == []
    assert why_no_type(SCOPE_TYPE) == []


@pytest.mark.parametrize("step", get_args(Step))
def test_only_a_step_with_means_can_be_effective_and_nothing_stops_prions(step: Step) -> None:
    usual = why_no_type(kind(RouteStep(step=step, stops=("bacteria-viruses",))))
    prions = why_no_type(kind(RouteStep(step=step, stops=("prions",))))

    assert (usual == []) == (step in CAN_STOP)
    assert len(prions) == 1


# --- less evidence never earns more -----------------------------------------------------------

_MEANS = st.sampled_from(
    [
        {**SPORICIDAL, "contact_s": 60},
        {**SPORICIDAL, "contact_s": 600},
        {**SPORICIDAL, "stops": ("bacteria-viruses",), "contact_s": 60},
        {**ALCOHOL, "contact_s": 60},
        {**SPORICIDAL, "contact_s": 60, "unreleased": True},
    ]
)
_EVENTS = st.lists(
    st.one_of(
        st.tuples(st.just("disinfect"), _MEANS),
        st.tuples(st.sampled_from(["clean", "rinse", "used", "dropped", "soak"]), st.just({})),
    ),
    max_size=7,
)
RINSED = msgspec.structs.replace(SCOPE_TYPE, route=(*SCOPE_TYPE.route, RouteStep(step="rinse")))


def lived(events: list[tuple[str, dict[str, Any]]], minutes: float) -> Life:
    life = Life(SCOPE).added(type="scope-wiped").used()
    for turn, (what, means) in enumerate(events):
        match what:
            case "used":
                life.used(f"p-{turn}")
            case "dropped":
                life.marked("dropped", "soil")
            case "soak":
                life.cycle(f"L0000000{turn}E", "disinfect")
            case _:
                life.then(facts.Stepped, minutes=minutes, item=SCOPE, step=what, **means)
    return life


def test_a_longer_wipe_that_is_done_again_with_another_lot_counts_by_the_last_one() -> None:
    life = scope(**SPORICIDAL, contact_s=600)
    life.then(facts.Stepped, item=SCOPE, step="disinfect", **SPORICIDAL, contact_s=60)

    assert codes(against(life, SCOPE_TYPE, after=timedelta(seconds=59))) == ["still-wet"]
    assert against(life, SCOPE_TYPE, after=timedelta(seconds=60)) == []
    assert life.stands.done[1].refused == "it was done again before its time was up"


def test_a_good_wipe_that_is_done_again_without_a_lot_counts_no_more() -> None:
    life = scope(**SPORICIDAL, contact_s=60)
    life.then(facts.Stepped, minutes=5, item=SCOPE, step="disinfect", stops=())

    assert codes(against(life, SCOPE_TYPE)) == ["stops-too-little"]


@settings(max_examples=600)
@given(
    _EVENTS,
    st.sampled_from([0.5, 1.0, 2.0]),
    st.integers(0, 1200),
    st.booleans(),
    st.data(),
)
def test_taking_the_lot_away_from_a_step_never_turns_a_no_into_a_yes(
    events: list[tuple[str, dict[str, Any]]],
    minutes: float,
    after: int,
    rinsed: bool,
    data: st.DataObject,
) -> None:
    kind = RINSED if rinsed else SCOPE_TYPE
    life = lived(events, minutes)
    with_lots = [turn for turn, fact in enumerate(life.told) if getattr(fact, "lots", ())]
    if not with_lots:
        return
    turn = data.draw(st.sampled_from(with_lots))
    bare = msgspec.structs.replace(
        life.told[turn], lots=(), agent="", contact_s=0, stops=(), unreleased=False
    )
    less = [bare if at == turn else fact for at, fact in enumerate(life.told)]
    moment = asking(life.at + timedelta(seconds=after))

    before = why_not_use(life.stands, kind, moment)
    without = why_not_use(fold(SCOPE, less), kind, moment)

    assert not before or without, f"{codes(before)} became a yes"
