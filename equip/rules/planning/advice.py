"""What a list that was played ahead asks for: how many more of what, which load by when."""

from collections.abc import Mapping
from dataclasses import replace

from equip.rules.planning.play import play
from equip.rules.planning.round import Outcome, Round, Unit

_WAIT_STEP = 5


def well_timed(given: Round) -> Round:
    """*given* with the longest wait for fuller loads, in steps of five minutes up to its own,
    that leaves the fewest missing: nobody goes short because a machine waited to be filled."""
    waits = sorted({*range(0, given.wait, _WAIT_STEP), given.wait}, reverse=True)
    return min((replace(given, wait=wait) for wait in waits), key=missing)


def missing(given: Round) -> int:
    """How many instruments the list lacks in all."""
    return sum(short.lacks for short in play(given).shorts)


def more(given: Round, spare: Mapping[str, Unit]) -> dict[str, int]:
    """So many more of each type, ready at the start, leave nobody short.

    *spare* is one of each type as it would come. With one fewer of any of them somebody is
    short; more than the whole list needs of a type is never asked for.
    """
    extra: dict[str, int] = {}
    while shorts := play(_with(given, spare, extra)).shorts:
        kind = shorts[0].kind
        extra[kind] = extra.get(kind, 0) + shorts[0].lacks
    return _trimmed(given, spare, extra)


def _trimmed(given: Round, spare: Mapping[str, Unit], extra: dict[str, int]) -> dict[str, int]:
    again = True
    while again:
        again = False
        for kind in sorted(extra):
            fewer = {**extra, kind: extra[kind] - 1}
            if extra[kind] and not play(_with(given, spare, fewer)).shorts:
                extra, again = fewer, True
    return {kind: count for kind, count in extra.items() if count}


def _with(given: Round, spare: Mapping[str, Unit], extra: Mapping[str, int]) -> Round:
    new = [spare[kind] for kind in sorted(extra) for _ in range(extra[kind])]
    return replace(given, units=(*given.units, *new))


def start_by(given: Round, planned: Outcome) -> dict[tuple[str, int], int | None]:
    """The last minute at which each load may start with nobody shorter for it.

    A minute later somebody is. None where the list does not wait for the load.
    """
    last = max((visit.at for visit in given.visits), default=given.now)
    found: dict[tuple[str, int], int | None] = {}
    for run in planned.runs:
        if run.at <= last:
            found[run.machine, run.number] = _latest(given, planned, run.machine, run.number, last)
    return found


def _latest(given: Round, planned: Outcome, machine: str, number: int, last: int) -> int | None:
    at = next(r.at for r in planned.runs if (r.machine, r.number) == (machine, number))

    def does(minute: int) -> bool:
        return not worse(play(given, {(machine, number): minute}), planned)

    if does(last + 1):
        return None
    good, bad = at, last + 1
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if does(middle) else (good, middle)
    return good


def worse(held: Outcome, planned: Outcome) -> bool:
    """Whether anybody lacks more than was planned."""
    before = {(short.visit, short.kind): short.lacks for short in planned.shorts}
    return any(one.lacks > before.get((one.visit, one.kind), 0) for one in held.shorts)
