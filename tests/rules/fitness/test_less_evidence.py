"""Less evidence never earns more permission: what was a No stays one when a proof is taken away."""

from collections.abc import Iterator
from datetime import timedelta
from random import Random
from typing import Any

import msgspec
from hypothesis import given, settings
from hypothesis import strategies as st

from equip import facts
from equip.facts import Fact, ItemType
from equip.rules.fitness.why_not import why_not_use
from tests.support.lives import (
    GATE,
    HOOK_TYPE,
    LOAD,
    LOT,
    NEXT_LOAD,
    SCOPE_TYPE,
    SPORICIDAL,
    Life,
    asking,
)

WEAK = {"lots": (LOT,), "agent": "alcohol-70", "stops": ()}
BOTH_WAYS = msgspec.structs.replace(SCOPE_TYPE, route=(*SCOPE_TYPE.route, GATE))


def lived(random: Random) -> Life:
    """Some twenty things that may happen to an instrument, in no order that makes sense."""
    life = Life().added(random.choice(["factory-new", "go-live", "loaned"]))
    loads = iter((LOAD, NEXT_LOAD))
    for _ in range(random.randint(3, 20)):
        _happens(life, random, loads)
    return life


def _happens(life: Life, random: Random, loads: Iterator[str]) -> None:
    what = random.choice(["use", "step", "step", "wipe", "wipe", "load", "mark", "round", "round"])
    if what == "use":
        life.used(random.choice(["p-one", "p-two"]), use=f"use-{len(life.told)}")
    elif what == "step":
        life.stepped(random.choice(["clean", "rinse", "dry", "inspect"]))
    elif what == "wipe":
        means: dict[str, Any] = random.choice([WEAK, SPORICIDAL, {}])
        life.then(
            facts.Stepped,
            item=life.item,
            step="disinfect",
            minutes=random.choice([0.2, 2]),
            contact_s=random.choice([0, 60, 600]) if means else 0,
            **means,
        )
    elif what == "load" and (load := next(loads, "")):
        life.put_in(load).started(load).ended(load)
        if random.random() < 0.8:
            life.judged(random.choice(["pass", "pass", "fail"]), load)
        if random.random() < 0.7:
            life.released(load)
    elif what == "round":
        life.stepped("clean", "inspect")
        what = random.choice(["wipe", "load"])
        if what == "load" and (load := next(loads, "")):
            life.cycle(load)
        else:
            life.then(facts.Stepped, item=life.item, step="disinfect", contact_s=60, **SPORICIDAL)
    elif what == "mark":
        life.marked("dropped", random.choice(["soil", "inspect"]))


def taken_away(told: list[Fact], random: Random) -> list[Fact] | None:
    """*told* with one proof less: a lot that nobody scanned, a release or a verdict that lacks."""
    proofs = [
        index
        for index, fact in enumerate(told)
        if isinstance(fact, facts.LoadReleased)
        or (isinstance(fact, facts.LoadJudged) and fact.verdict == "pass")
        or (isinstance(fact, facts.Stepped) and fact.lots)
    ]
    if not proofs:
        return None
    index = random.choice(proofs)
    fact = told[index]
    if isinstance(fact, facts.Stepped):
        bare = msgspec.structs.replace(fact, lots=(), agent="", stops=(), contact_s=0)
        return [*told[:index], bare, *told[index + 1 :]]
    return [*told[:index], *told[index + 1 :]]


def is_yes(life: Life, kind: ItemType, minutes: float) -> bool:
    moment = asking(life.at + timedelta(minutes=minutes))
    return not why_not_use(life.stands, kind, moment)


@settings(max_examples=300, deadline=None)
@given(st.integers(0, 2**32), st.sampled_from([HOOK_TYPE, SCOPE_TYPE, BOTH_WAYS]))
def test_taking_a_proof_away_never_turns_a_no_into_a_yes(seed: int, kind: ItemType) -> None:
    random = Random(seed)
    life = lived(random)
    less = Life()
    found = taken_away(life.told, random)
    if found is None:
        return
    less.told, less.at = found, life.at

    for minutes in (0.1, 1, 15, 300):
        assert is_yes(life, kind, minutes) or not is_yes(less, kind, minutes)


def test_the_lives_hold_many_that_are_a_yes_by_a_proof() -> None:
    """So that the law above is about something: the same lives, counted."""
    gone = 0
    for seed in range(600):
        random = Random(seed)
        life = lived(random)
        less = Life()
        found = taken_away(life.told, random)
        if found is not None and is_yes(life, SCOPE_TYPE, 15):
            less.told, less.at = found, life.at
            gone += not is_yes(less, SCOPE_TYPE, 15)
    assert gone > 20
