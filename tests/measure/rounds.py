"""Timing on a machine with noise: what is compared takes turns, there and back, medians count."""

import gc
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from statistics import median
from time import perf_counter
from typing import TypeVar

Seen = TypeVar("Seen")


def seconds(work: Callable[[], object]) -> float:
    """How long *work* takes once, in seconds, with the collector of rubbish at rest."""
    gc.collect()
    gc.disable()
    try:
        start = perf_counter()
        work()
        return perf_counter() - start
    finally:
        gc.enable()


def in_turns(ones: Mapping[str, Callable[[], Seen]], rounds: int) -> dict[str, list[Seen]]:
    """Each of *ones* called twice a round, in order and back (A B C C B A); what each gave.

    Whatever drifts meanwhile (heat, a neighbour, a filling disk) falls on all of them alike.
    """
    seen: dict[str, list[Seen]] = {name: [] for name in ones}
    there = list(ones)
    for _ in range(rounds):
        for name in (*there, *reversed(there)):
            seen[name].append(ones[name]())
    return seen


def medians(ones: Mapping[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """The median time of each in seconds, taken in turns."""
    timed = in_turns({name: partial(seconds, work) for name, work in ones.items()}, rounds)
    return {name: median(times) for name, times in timed.items()}


def percentile(values: Sequence[float], share: float) -> float:
    """The value below which *share* (0 to 1) of *values* lie, the nearest there is."""
    ordered = sorted(values)
    return ordered[min(int(len(ordered) * share), len(ordered) - 1)]
