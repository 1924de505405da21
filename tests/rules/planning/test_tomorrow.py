"""The round of a list played ahead: cases worked by hand, laws, and the same by SimPy."""

from dataclasses import replace
from typing import Any

import simpy
from hypothesis import given, settings
from hypothesis import strategies as st

from equip.rules.planning.advice import missing, more, start_by, well_timed, worse
from equip.rules.planning.play import play
from equip.rules.planning.round import Machine, Outcome, Round, Short, Stage, Unit, Visit

CLEAN, INSPECT = Stage("clean", 5), Stage("inspect", 2)
STERILISE = Stage("sterilise", machines=("steriliser",))
STERILISER = Machine("steriliser", 40, 2)


def hook(name: str, **more: Any) -> Unit:
    return Unit(name, (("hook", 1),), 1, (CLEAN, INSPECT, STERILISE), **more)


def at(hour: int, minute: int = 0, hooks: int = 1) -> Visit:
    return Visit(hour * 60 + minute, 15, (("hook", hooks),))


def day(*visits: Visit, units: tuple[Unit, ...], **more: Any) -> Round:
    usual = {"now": 480, "begins": 480, "ends": 1080, "people": 1, "wait": 10}
    return Round(**{**usual, "machines": (STERILISER,), **more}, units=units, visits=visits)


def test_one_hook_goes_round_in_72_minutes_as_worked_by_hand() -> None:
    # 09:00 used, back at 09:15; clean till 09:20, inspect till 09:22. The steriliser is half
    # empty: it waits 10 min, till 09:32; 40 min later, at 10:12, the hook is ready again.
    round = day(at(9), at(10, 12), units=(hook("one"),))

    found = play(round)

    assert found.shorts == ()
    assert [(run.at, run.out, run.units) for run in found.runs[:1]] == [(572, 612, ("one",))]


def test_a_minute_sooner_it_is_missing_and_the_list_says_when_it_comes() -> None:
    round = day(at(9), at(10, 11), units=(hook("one"),))

    assert play(round).shorts == (Short(1, "hook", 1, 612),)
    assert more(round, {"hook": hook("spare")}) == {"hook": 1}


def test_two_hooks_fill_the_steriliser_and_it_does_not_wait() -> None:
    # Both back at 09:15: the first clean at 09:20, the second at 09:25 (it came no later than the
    # first came to inspection), inspected at 09:27 and 09:29: full, so it starts at 09:29.
    round = day(at(9, hooks=2), at(10, 9, hooks=2), units=(hook("one"), hook("two")))

    found = play(round)

    assert found.shorts == ()
    assert found.runs[0].at == 569
    assert start_by(round, found)["steriliser", 1] == 569


def test_the_last_moment_of_a_load_is_what_the_next_patient_leaves() -> None:
    # Ready from 09:00 to be sterilised, 40 min, needed at 11:00: it may start at 10:20.
    soiled = hook("one", todo=(STERILISE,), since=540)
    round = day(at(11), units=(soiled,))

    assert start_by(round, play(round)) == {("steriliser", 1): 620}


def test_what_nobody_on_the_list_waits_for_has_no_last_moment() -> None:
    round = day(at(9), at(13), units=(hook("one"), hook("two"), hook("three")))

    assert set(start_by(round, play(round)).values()) == {None}


def test_a_load_that_ends_at_night_is_taken_out_in_the_morning() -> None:
    # It starts at 17:40 and ends at 18:20, when nobody is there: out at 08:00.
    soiled = hook("one", todo=(STERILISE,), since=1050)
    round = day(at(31, 59), at(32), units=(soiled,))

    assert play(round).shorts == (Short(0, "hook", 1, 1920),)
    assert play(round).taken == ((), ("one",))


def test_a_pack_opens_whole_and_the_one_that_wastes_least_is_opened() -> None:
    pack = Unit("pack", (("hook", 1), ("tip", 2)), 3, ())
    round = day(at(9), at(9, 1), units=(pack, hook("one")), machines=())

    assert play(round).taken == (("one",), ("pack",))


def test_what_lapses_is_gone_at_that_minute_and_goes_round_again() -> None:
    # Lapsed at 09:00: clean, inspect till 09:07, waits till 09:17, out at 09:57.
    round = day(at(9), units=(hook("one", lapses=540),))

    assert play(round).shorts == (Short(0, "hook", 1, 597),)


def test_what_may_be_used_once_more_does_not_come_back() -> None:
    round = day(at(9), at(16), units=(hook("one", uses_left=1),))

    assert play(round).shorts == (Short(1, "hook", 1, None),)


def test_what_came_to_a_person_in_one_minute_is_taken_in_the_order_of_the_units() -> None:
    # At 09:00 the second unit comes back, then the first lapses. The first is done first, till
    # 09:05, and the second till 09:10.
    def unit(kind: str, **more: Any) -> Unit:
        return Unit(kind, ((kind, 1),), 1, (CLEAN,), **more)

    units = (unit("hook", lapses=540), unit("probe", todo=(CLEAN,), since=540))

    def needs(kind: str, minute: int) -> Visit:
        return Visit(minute, 15, ((kind, 1),))

    assert play(day(needs("hook", 545), needs("probe", 550), units=units)).shorts == ()
    early = play(day(needs("hook", 544), needs("probe", 549), units=units)).shorts
    assert early == (Short(0, "hook", 1, 545), Short(1, "probe", 1, 550))


def test_a_person_takes_what_came_first_whatever_its_place_among_the_units() -> None:
    # The last of them came first, at 09:00, each other one a minute later; each takes 5 min.
    units = tuple(
        Unit(f"{n}", ((f"{n}", 1),), 1, (CLEAN,), todo=(CLEAN,), since=545 - n) for n in range(6)
    )
    ready = {f"{n}": 545 + 5 * (5 - n) for n in range(6)}

    def shorts(sooner: int) -> tuple[Short, ...]:
        visits = [Visit(minute - sooner, 15, ((kind, 1),)) for kind, minute in ready.items()]
        return play(day(*visits, units=units)).shorts

    assert shorts(0) == ()
    assert {one.kind: one.next_at for one in shorts(1)} == ready


def test_two_people_take_two_things_in_one_minute() -> None:
    units = (hook("one", todo=(CLEAN,), since=540), hook("two", todo=(CLEAN,), since=540))

    assert play(day(at(9, 5, hooks=2), units=units, people=2)).shorts == ()
    assert play(day(at(9, 5, hooks=2), units=units)).shorts == (Short(0, "hook", 1, 550),)


def test_a_session_may_end_with_everything_unclean() -> None:
    assert play(day(at(9), units=(hook("one"),), machines=(), people=0)).shorts == ()


# --- the same by SimPy ------------------------------------------------------------------------
#
# Written apart from the rule: everybody at work is a process that looks up each minute. A minute
# is 1000 ticks, and in it things finish, lapse, are taken and are begun one after the other.

_TICK, _LAPSE, _VISIT, _HAND, _MACHINE = 1000, 100, 200, 400, 700


def by_simpy(given: Round) -> tuple[list[tuple[int, str, int]], list[Any], list[Any]]:
    env = simpy.Environment(initial_time=given.now * _TICK)
    end = max(visit.at for visit in given.visits) + 1440
    todo: dict[int, list[Stage]] = {}
    queue: list[tuple[int, int]] = []
    ready: dict[int, float] = {}
    left = {n: unit.uses_left for n, unit in enumerate(given.units)}
    shorts: list[tuple[int, str, int]] = []
    runs: list[Any] = []
    taken: list[Any] = [()] * len(given.visits)

    def minute() -> int:
        return int(env.now) // _TICK

    def goes_on(number: int, when: int, stages: list[Stage], lapses: int | None = None) -> Any:
        yield env.timeout(max(0, when * _TICK + number % 90 - env.now))
        if stages:
            todo[number] = stages
            queue.append((minute(), number))
        else:
            ready[number] = float("inf") if lapses is None else lapses

    def done(number: int, when: int, stages: list[Stage]) -> None:
        unit = given.units[number]
        until = None if unit.keeps is None else when + unit.keeps
        if unit.keeps_days is not None:
            midnight = when - when % 1440 + 1440
            until = min(midnight + 1440 * unit.keeps_days, 10**9 if until is None else until)
        env.process(goes_on(number, when, stages, until))

    def each_minute(phase: int, act: Any) -> Any:
        yield env.timeout(phase)
        while True:
            act()
            yield env.timeout(_TICK)

    def lapse() -> None:
        for number in sorted(n for n, until in ready.items() if until <= minute()):
            del ready[number]
            todo[number] = list(given.units[number].route)
            if todo[number]:
                queue.append((minute(), number))

    def serve(place: int, visit: Visit) -> Any:
        yield env.timeout(visit.at * _TICK + _VISIT + place - env.now)
        need = dict(visit.needs)
        names = []
        for kind, _ in visit.needs:
            while need[kind] > 0:
                able = []
                for n, until in ready.items():
                    gives = dict(given.units[n].gives)
                    if gives.get(kind):
                        vain = sum(max(0, c - max(0, need.get(k, 0))) for k, c in gives.items())
                        able.append((vain, until, n))
                if not able:
                    break
                n = min(able)[2]
                del ready[n]
                names.append(given.units[n].name)
                for k, c in given.units[n].gives:
                    need[k] = need.get(k, 0) - c
                if left[n] is not None:
                    left[n] -= 1  # type: ignore[operator]
                if left[n] != 0:
                    done(n, visit.at + visit.minutes, list(given.units[n].route))
        taken[place] = tuple(names)
        shorts.extend((place, kind, need[kind]) for kind, _ in visit.needs if need[kind] > 0)

    def hours() -> bool:
        return given.begins <= minute() % 1440 < given.ends

    def person(phase: int) -> Any:
        yield env.timeout(phase)
        while True:
            mine = [one for one in queue if not todo[one[1]][0].machines] if hours() else []
            if not mine:
                yield env.timeout(_TICK)
                continue
            one = min(mine)
            queue.remove(one)
            stage, *rest = todo[one[1]]
            done(one[1], minute() + stage.minutes, rest)
            yield env.timeout(stage.minutes * _TICK)

    def machine(phase: int, its: Machine) -> Any:
        yield env.timeout(max(0, its.free_from - given.now) * _TICK + phase)
        number = 0
        while True:
            line = sorted(one for one in queue if its.tag in todo[one[1]][0].machines)
            load: list[tuple[int, int]] = []
            for one in line:
                size = sum(given.units[n].size for _, n in load) + given.units[one[1]].size
                if load and size > its.holds:
                    break
                load.append(one)
            size = sum(given.units[n].size for _, n in load)
            full = len(load) < len(line) or size >= its.holds
            if not load or not hours() or not (full or minute() - line[0][0] >= given.wait):
                yield env.timeout(_TICK)
                continue
            number += 1
            start, out = minute(), minute() + its.minutes
            while not given.begins <= out % 1440 < given.ends:
                out += 1
            runs.append((its.tag, number, start, out, tuple(given.units[n].name for _, n in load)))
            for one in load:
                queue.remove(one)
                done(one[1], out, todo[one[1]][1:])
            yield env.timeout((out - start) * _TICK)

    for n, unit in enumerate(given.units):
        if not unit.todo and unit.since <= given.now:
            ready[n] = float("inf") if unit.lapses is None else unit.lapses
        else:
            done(n, max(given.now, unit.since), list(unit.todo))
    env.process(each_minute(_LAPSE, lapse))
    for place, visit in enumerate(given.visits):
        env.process(serve(place, visit))
    for n in range(given.people):
        env.process(person(_HAND + n))
    for n, its in enumerate(given.machines):
        env.process(machine(_MACHINE + n, its))
    env.run(until=(end + 1) * _TICK)
    return sorted(shorts, key=lambda s: (given.visits[s[0]].at, s[0])), runs, taken


STAGES = st.lists(
    st.one_of(
        st.builds(Stage, st.just("clean"), st.integers(1, 20)),
        st.builds(
            Stage,
            st.just("sterilise"),
            st.just(1),
            st.sampled_from([("a",), ("b",), ("a", "b")]),
        ),
    ),
    max_size=4,
).map(tuple)
SPAN = st.none() | st.integers(1, 900)


@st.composite
def rounds(draw: st.DrawFn) -> Round:
    kinds = st.sampled_from(("hook", "tip", "probe"))
    needs = st.dictionaries(kinds, st.integers(1, 2), min_size=1).map(lambda d: tuple(d.items()))
    now, begins = draw(st.integers(400, 900)), draw(st.integers(420, 540))
    units = [
        Unit(
            name=f"u{number}",
            gives=(gives := draw(needs)),
            size=sum(count for _, count in gives),
            route=draw(STAGES),
            todo=draw(STAGES),
            since=now + draw(st.integers(-10, 60)),
            lapses=None if (over := draw(SPAN)) is None else now + over,
            keeps=draw(SPAN.map(lambda n: None if n is None else n + 30)),
            keeps_days=draw(st.none() | st.integers(0, 1)),
            uses_left=draw(st.none() | st.integers(1, 3)),
        )
        for number in range(draw(st.integers(0, 6)))
    ]
    visits = draw(
        st.lists(
            st.builds(
                Visit,
                st.integers(0, 1600).map(lambda n: now + n),
                st.integers(1, 40),
                needs,
            ),
            min_size=1,
            max_size=8,
        )
    )
    machines = [
        Machine(
            tag, draw(st.integers(1, 90)), draw(st.integers(1, 6)), now + draw(st.integers(-5, 90))
        )
        for tag in ("a", "b")
    ]
    return Round(
        now=now,
        begins=begins,
        ends=draw(st.integers(begins + 30, 1200)),
        people=draw(st.integers(0, 3)),
        wait=draw(st.integers(0, 40)),
        machines=tuple(machines),
        units=tuple(units),
        visits=tuple(visits),
    )


@settings(deadline=None, max_examples=150)
@given(rounds())
def test_the_round_is_the_one_that_simpy_plays(given: Round) -> None:
    found = play(given)
    shorts, runs, taken = by_simpy(given)

    assert [(one.visit, one.kind, one.lacks) for one in found.shorts] == shorts
    assert [(r.machine, r.number, r.at, r.out, r.units) for r in found.runs] == runs
    assert list(found.taken) == taken


def _spares(given: Round) -> dict[str, Unit]:
    kinds = {kind for visit in given.visits for kind, _ in visit.needs}
    return {kind: Unit(f"spare {kind}", ((kind, 1),), 1, (CLEAN,)) for kind in kinds}


@settings(deadline=None, max_examples=60)
@given(rounds())
def test_so_many_more_end_the_shortage_and_one_fewer_of_any_does_not(given: Round) -> None:
    spare = _spares(given)
    extra = more(given, spare)

    assert not play(_with(given, spare, extra)).shorts
    for kind in extra:
        assert play(_with(given, spare, {**extra, kind: extra[kind] - 1})).shorts
    for kind, count in extra.items():
        assert count <= sum(dict(visit.needs).get(kind, 0) for visit in given.visits)


def _with(given: Round, spare: dict[str, Unit], extra: dict[str, int]) -> Round:
    new = tuple(spare[kind] for kind in sorted(extra) for _ in range(extra[kind]))
    return replace(given, units=given.units + new)


@settings(deadline=None, max_examples=60)
@given(rounds())
def test_nobody_goes_short_because_a_machine_waited_to_be_filled(given: Round) -> None:
    chosen = well_timed(given)

    assert missing(chosen) <= min(missing(given), missing(replace(given, wait=0)))
    assert chosen.wait <= given.wait


@settings(deadline=None, max_examples=60)
@given(rounds())
def test_a_load_may_start_by_its_last_moment_and_not_a_minute_later(given: Round) -> None:
    planned: Outcome = play(given)

    for key, latest in start_by(given, planned).items():
        if latest is not None:
            assert not worse(play(given, {key: latest}), planned)
            assert worse(play(given, {key: latest + 1}), planned)
