"""The next step is right: over every starter route, and over lives and routes at random."""

from datetime import timedelta
from random import Random

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from equip import facts
from equip.desk.register.items import starter_types
from equip.facts import ItemType, RouteStep
from equip.rules.fitness.gates import gate_step
from equip.rules.fitness.next_step import NextStep, next_step
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.why_not import why_not_use
from tests.rules.fitness.test_less_evidence import BOTH_WAYS, lived
from tests.support.lives import HOOK_TYPE, SCOPE_TYPE, Life, asking

LACKS = {
    "soiled",
    "never-processed",
    "step-missing",
    "step-unproven",
    "load-not-released",
    "load-not-finished",
    "load-not-passed",
    "inspection-due",
}
STARTERS = [kind for kind in starter_types() if gate_step(kind) is not None]
BY_HAND = ["wipe", "clean", "rinse", "dry", "inspect"]


def asked(standing: Standing, kind: ItemType, life: Life) -> tuple[NextStep, set[str]]:
    """What comes next, and why it may not be used, an hour on: no contact time runs any more."""
    at = life.at + timedelta(hours=1)
    comes = next_step(standing, kind, at)
    assert comes is not None
    codes = {why.code for why in why_not_use(standing, kind, asking(at=at))}
    return comes, codes


def follow(life: Life, kind: ItemType, step: str) -> None:
    """Do what was told: the gate by a cycle or a wipe that stops all, the rest by hand."""
    if step == "sterilise":
        life.cycle(f"L{len(life.told):08d}X")
    else:
        life.stepped(step)


def ends_ready(life: Life, kind: ItemType) -> None:
    """Following it step by step ends in ready, in no more turns than the route has steps."""
    turns = 0
    while not (comes := asked(life.stands, kind, life)[0]).ready:
        assert comes.steps, comes
        assert turns <= len(kind.route) + 1, (turns, comes)
        follow(life, kind, comes.steps[0])
        turns += 1


@pytest.mark.parametrize("kind", STARTERS, ids=lambda kind: kind.code)
def test_every_starter_route_is_led_to_its_end(kind: ItemType) -> None:
    life = Life().added("factory-new", kind.code).used("p-one")
    first, codes = asked(life.stands, kind, life)

    assert not first.ready
    assert codes & LACKS or kind.holds == "day"
    if any(step.step in ("sterilise", *BY_HAND, "disinfect") for step in kind.route):
        ends_ready(life, kind)
    if kind.holds != "day":
        assert not asked(life.stands, kind, life)[1] & LACKS


@settings(max_examples=200)
@given(st.integers(0, 2**32))
def test_ready_is_never_told_of_what_lacks_a_step(seed: int) -> None:
    random = Random(seed)
    life = lived(random)
    kind = random.choice([HOOK_TYPE, SCOPE_TYPE, BOTH_WAYS])

    comes, codes = asked(life.stands, kind, life)

    assert not (comes.ready and codes & LACKS), (comes, codes)
    route = [step.step for step in kind.route]
    assert [step for step in comes.steps if step in route] == sorted(
        (step for step in comes.steps if step in route), key=route.index
    )


@st.composite
def routes(draw: st.DrawFn) -> tuple[RouteStep, ...]:
    """A route of steps by hand around one gate, some of them optional."""
    ahead = draw(st.lists(st.sampled_from(BY_HAND), unique=True, max_size=4))
    behind = draw(st.lists(st.sampled_from(["rinse", "dry", "inspect"]), unique=True, max_size=2))
    gate = draw(st.sampled_from(["sterilise", "disinfect"]))
    ahead = [step for step in ahead if step not in behind]
    return (
        *(RouteStep(step=step, required=draw(st.booleans())) for step in ahead),
        RouteStep(step=gate, stops=("bacteria-viruses", "spores")),
        *(RouteStep(step=step, required=draw(st.booleans())) for step in behind),
    )


@settings(max_examples=200)
@given(routes(), st.integers(0, 2**32))
def test_whatever_the_route_it_leads_to_ready_and_tells_nothing_twice(
    route: tuple[RouteStep, ...], seed: int
) -> None:
    random = Random(seed)
    kind = msgspec.structs.replace(HOOK_TYPE, route=route)
    life = Life().added().used("p-one")
    optional = [step.step for step in route if not step.required]
    done: list[str] = []
    for _ in range(len(route) + 1):
        comes, codes = asked(life.stands, kind, life)
        if comes.ready:
            break
        assert not set(comes.steps) & set(done), "told again although it is done"
        assert set(comes.optional) <= set(optional)
        first = comes.steps[0]
        if comes.optional and random.random() < 0.5:
            life.stepped(comes.optional[0])
        follow(life, kind, first)
        done.append(first)
    assert comes.ready
    assert not codes & LACKS


def test_what_was_tried_and_does_not_count_is_told_again() -> None:
    life = Life().added().used("p-one").stepped("clean")
    life.then(facts.Stepped, item=life.item, step="disinfect")

    comes, _ = asked(life.stands, SCOPE_TYPE, life)

    assert (comes.steps, comes.ready) == (("disinfect",), False)


def test_a_load_without_its_release_is_waited_for() -> None:
    life = Life().added().used("p-one").stepped("clean", "inspect")
    life.put_in().started().ended()

    comes, _ = asked(life.stands, HOOK_TYPE, life)

    assert (comes.steps, bool(comes.waits), comes.ready) == ((), True, False)


def test_a_type_without_a_gate_has_no_answer() -> None:
    bare = msgspec.structs.replace(HOOK_TYPE, route=())

    assert next_step(Life().added().stands, bare, Life().at) is None
