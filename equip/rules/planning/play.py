"""Whether a list finds its instruments: the whole round played ahead in whole minutes.

Nothing is left to chance. In one minute, first whatever finishes is finished (in the order of
the units), then what lapses has lapsed, then patients take what is ready (in the order of the
list), then people begin work by hand and machines are started (in the order given). Work begins
only in working hours; what was begun is finished, and a load that ends outside them is taken
out when they begin again. People and machines take what came to them first. A machine starts
once it is full, or once what waits for it longest has waited so long.
"""

import heapq
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from equip.rules.planning.round import (
    MINUTES_A_DAY,
    Hold,
    Machine,
    Outcome,
    Round,
    Run,
    Short,
    Stage,
    Visit,
)


def play(given: Round, hold: Hold | None = None) -> Outcome:
    """The round from now until a day after the last of the list."""
    return _Play(given, hold or {}).run()


@dataclass
class _Play:
    given: Round
    hold: Hold
    todo: list[tuple[Stage, ...]] = field(default_factory=list)
    left: list[int | None] = field(default_factory=list)
    ready: dict[int, int | None] = field(default_factory=dict)
    waiting: list[tuple[int, int]] = field(default_factory=list)
    coming: list[tuple[int, int]] = field(default_factory=list)
    looks: list[int] = field(default_factory=list)
    hands: list[int] = field(default_factory=list)
    free: dict[str, int] = field(default_factory=dict)
    count: dict[str, int] = field(default_factory=dict)
    ready_at: list[tuple[int, int]] = field(default_factory=list)
    shorts: list[Short] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    taken: list[tuple[str, ...]] = field(default_factory=list)

    def run(self) -> Outcome:
        self._begin()
        visits = sorted(enumerate(self.given.visits), key=lambda one: (one[1].at, one[0]))
        last = visits[-1][1].at + MINUTES_A_DAY if visits else self.given.now
        self.taken = [()] * len(visits)
        turn = 0
        while (minute := self._next(visits[turn][1].at if turn < len(visits) else None)) <= last:
            self._finish(minute)
            self._lapse(minute)
            while turn < len(visits) and visits[turn][1].at <= minute:
                self._serve(minute, *visits[turn])
                turn += 1
            if self.given.works(minute):
                self._by_hand(minute)
                self._by_machine(minute)
            elif self.waiting:
                self._look(self.given.opens(minute))
        shorts = sorted(self.shorts, key=lambda one: (self.given.visits[one.visit].at, one.visit))
        return Outcome(tuple(map(self._when_next, shorts)), tuple(self.runs), tuple(self.taken))

    def _begin(self) -> None:
        given = self.given
        self.hands = [given.now] * given.people
        self.free = {one.tag: max(given.now, one.free_from) for one in given.machines}
        self.count = dict.fromkeys(self.free, 0)
        self.todo = [unit.todo for unit in given.units]
        self.left = [unit.uses_left for unit in given.units]
        self.looks = [given.now, *self.free.values()]
        heapq.heapify(self.looks)
        for number, unit in enumerate(given.units):
            if not unit.todo and unit.since <= given.now:
                self._is_ready(given.now, number, unit.lapses)
            else:
                heapq.heappush(self.coming, (max(given.now, unit.since), number))

    def _next(self, visit: int | None) -> int:
        """The next minute in which anything can happen; without end if there is none."""
        heads = [self.coming[0][0]] if self.coming else []
        heads += self.looks[:1] + ([visit] if visit is not None else [])
        minute = min(heads, default=2**60)
        while self.looks and self.looks[0] <= minute:
            heapq.heappop(self.looks)
        return minute

    def _look(self, minute: int) -> None:
        heapq.heappush(self.looks, minute)

    def _finish(self, minute: int) -> None:
        while self.coming and self.coming[0][0] <= minute:
            _, number = heapq.heappop(self.coming)
            if self.todo[number]:
                self.waiting.append((minute, number))
            else:
                self._is_ready(minute, number, self.given.units[number].fit_until(minute))

    def _is_ready(self, minute: int, number: int, lapses: int | None) -> None:
        self.ready[number] = lapses
        self.ready_at.append((minute, number))
        if lapses is not None:
            self._look(max(lapses, minute))

    def _lapse(self, minute: int) -> None:
        over = [one for one, until in self.ready.items() if until is not None and until <= minute]
        for number in sorted(over):
            del self.ready[number]
            self.todo[number] = self.given.units[number].route
            if self.todo[number]:
                self.waiting.append((minute, number))

    def _serve(self, minute: int, place: int, visit: Visit) -> None:
        missing = dict(visit.needs)
        names = []
        for kind, _ in visit.needs:
            while missing[kind] > 0 and (number := self._choose(kind, missing)) is not None:
                names.append(self._take(number, minute + visit.minutes))
                for one, count in self.given.units[number].gives:
                    missing[one] = missing.get(one, 0) - count
        self.taken[place] = tuple(names)
        self.shorts += [
            Short(place, kind, missing[kind]) for kind, _ in visit.needs if missing[kind] > 0
        ]

    def _choose(self, kind: str, missing: Mapping[str, int]) -> int | None:
        """The one that opens least in vain, then what lapses first, then the first."""
        able = [one for one in self.ready if self.given.units[one].of(kind)]
        return min(able, key=lambda one: self._rank(one, missing), default=None)

    def _rank(self, number: int, missing: Mapping[str, int]) -> tuple[int, int, int]:
        gives = self.given.units[number].gives
        spare = sum(count - min(count, max(0, missing.get(kind, 0))) for kind, count in gives)
        until = self.ready[number]
        return spare, 2**60 if until is None else until, number

    def _take(self, number: int, back: int) -> str:
        unit = self.given.units[number]
        del self.ready[number]
        left = self.left[number]
        self.left[number] = None if left is None else left - 1
        if left is None or left > 1:
            self.todo[number] = unit.route
            heapq.heappush(self.coming, (back, number))
        return unit.name

    def _by_hand(self, minute: int) -> None:
        for came, number in sorted(self.waiting):
            stage, *rest = self.todo[number]
            if stage.machines:
                continue
            person = min(range(len(self.hands)), key=self.hands.__getitem__, default=None)
            if person is None or self.hands[person] > minute:
                return
            self.hands[person] = minute + stage.minutes
            self._look(self.hands[person])
            self._send_on((came, number), minute + stage.minutes, tuple(rest))

    def _send_on(self, one: tuple[int, int], minute: int, rest: tuple[Stage, ...]) -> None:
        self.waiting.remove(one)
        self.todo[one[1]] = rest
        heapq.heappush(self.coming, (minute, one[1]))

    def _by_machine(self, minute: int) -> None:
        for machine in self.given.machines:
            queue = [one for one in sorted(self.waiting) if self._waits_for(one[1], machine.tag)]
            if not queue or self.free[machine.tag] > minute:
                continue
            inside, full = self._filled(queue, machine.holds)
            earliest = self.hold.get((machine.tag, self.count[machine.tag] + 1), 0)
            ripe = max(earliest, minute if full else queue[0][0] + self.given.wait)
            if ripe > minute:
                self._look(ripe)
            else:
                self._start(machine, minute, inside)

    def _waits_for(self, number: int, machine: str) -> bool:
        return machine in self.todo[number][0].machines

    def _filled(
        self, queue: Sequence[tuple[int, int]], holds: int
    ) -> tuple[list[tuple[int, int]], bool]:
        """What goes in, in its order, and whether that is full; one unit always goes in."""
        inside: list[tuple[int, int]] = []
        room = holds
        for one in queue:
            size = self.given.units[one[1]].size
            if inside and size > room:
                return inside, True
            inside.append(one)
            room -= size
        return inside, room <= 0

    def _start(self, machine: Machine, minute: int, inside: Sequence[tuple[int, int]]) -> None:
        out = self.given.opens(minute + machine.minutes)
        self.free[machine.tag] = out
        self.count[machine.tag] += 1
        self._look(out)
        names = tuple(self.given.units[number].name for _, number in inside)
        self.runs.append(Run(machine.tag, self.count[machine.tag], minute, out, names))
        for one in inside:
            self._send_on(one, out, self.todo[one[1]][1:])

    def _when_next(self, short: Short) -> Short:
        at = self.given.visits[short.visit].at
        later = (
            minute
            for minute, number in self.ready_at
            if minute > at and self.given.units[number].of(short.kind)
        )
        return Short(short.visit, short.kind, short.lacks, min(later, default=None))
