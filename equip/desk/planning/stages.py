"""The way back of a type as stages: which machines of this house take it, what is done by hand."""

from collections.abc import Sequence
from dataclasses import dataclass

from equip.desk.clinic import House
from equip.facts import ItemType, Process, Step
from equip.rulebook import Rules
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.suiting import UNSUITED, why_not_in
from equip.rules.planning.round import Stage

_ORDER: tuple[Step, ...] = (
    "wipe",
    "clean",
    "rinse",
    "dry",
    "disinfect",
    "inspect",
    "pack",
    "sterilise",
    "store",
)


class NoWay(Exception):
    """A step that nothing in this house can do; the message says which."""


@dataclass(frozen=True, slots=True)
class ReadyMachine:
    """A machine that can be counted on, and what it does to a load."""

    tag: str
    process: Process


@dataclass(frozen=True, slots=True)
class Ways:
    """The machines of the house and how long work by hand takes."""

    machines: tuple[ReadyMachine, ...]
    rules: Rules

    def stages(
        self, steps: Sequence[tuple[Step, int]], kinds: Sequence[ItemType], *, wrapped: bool
    ) -> tuple[Stage, ...]:
        """*steps*, each for so many things, as stages. Raises NoWay.

        Of the machines that take all of *kinds* those are chosen that do most steps in one go.
        """
        found = []
        turn = 0
        while turn < len(steps):
            step, count = steps[turn]
            able = [one for one in self.machines if self._takes(one, step, kinds, wrapped=wrapped)]
            if able:
                most = max(_does(one, steps[turn:]) for one in able)
                tags = tuple(one.tag for one in able if _does(one, steps[turn:]) == most)
                found.append(Stage(step, machines=tags))
                turn += most
            elif step == "sterilise":
                raise NoWay("no machine here can sterilise it")
            else:
                minutes = self.rules.whole(f"plan.minutes.{step}") * count
                found.append(Stage(step, max(1, minutes)))
                turn += 1
        return tuple(found)

    def _takes(
        self, machine: ReadyMachine, step: Step, kinds: Sequence[ItemType], *, wrapped: bool
    ) -> bool:
        process = machine.process
        if step not in process.steps:
            return False
        if process.heat == "none" and not self.rules.flag("plan.baths"):
            return False
        inside = [kind for kind in kinds if step in {its.step for its in kind.route}]
        return any(
            all(_suits(kind, process, number, wrapped=wrapped) for kind in inside)
            for number in range(len(process.programmes))
        )


def _suits(kind: ItemType, process: Process, number: int, *, wrapped: bool) -> bool:
    reasons = why_not_in(
        Standing(item=""), kind, process, process.programmes[number], wrapped=wrapped
    )
    return not any(why.code in UNSUITED and why.spoils != "pass" for why in reasons)


def _does(machine: ReadyMachine, steps: Sequence[tuple[Step, int]]) -> int:
    """How many of *steps* from the first on are done in one cycle."""
    done = 0
    for step, _ in steps:
        if step not in machine.process.steps:
            break
        done += 1
    return done


def whole_route(kinds: Sequence[ItemType], *, wrapped: bool) -> list[tuple[Step, int]]:
    """Every required step of what goes round as one, each for so many things."""
    count: dict[Step, int] = {}
    for kind in kinds:
        for step in kind.route:
            if step.required and step.step != "store":
                count[step.step] = count.get(step.step, 0) + 1
    if wrapped and count:
        count["pack"] = 1
    order: Sequence[Step] = [step.step for step in kinds[0].route] if kinds else ()
    if not set(count) <= set(order):
        order = _ORDER
    return [(step, count[step]) for step in order if step in count]


def minutes_of(process: Process, rules: Rules) -> int:
    return process.minutes or rules.whole(f"plan.cycle-minutes.{process.heat}")


def holds_of(process: Process, rules: Rules) -> int:
    return process.holds or rules.whole("plan.holds")


def assumed(house: House, machines: Sequence[ReadyMachine], types: dict[str, str]) -> list[str]:
    """The machine types whose minutes or size nobody set: the house rule stands in for them."""
    codes = dict.fromkeys(
        types[one.tag] for one in machines if not (one.process.minutes and one.process.holds)
    )
    return [house.kind(code).name for code in codes]
