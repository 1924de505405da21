"""What a positive spore test means for the loads of a machine, and what a person decides on it.

Loads in doubt are worked out and proposed; the look-back is opened by a person, who may also
declare that loads ran with wrong settings, or that the machine or its use was at fault.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from equip.desk.act import keep_back
from equip.desk.act.act import Act, Refused
from equip.desk.clinic import Clinic
from equip.desk.lookback.cases import case_acts
from equip.desk.machines import spores
from equip.facts import Process, Told
from equip.rules.fitness.standing import Kept
from equip.rules.machines import spores as rules_spores
from equip.rules.machines.leak_and_spores import Spore, SporeLoad, scope_of_doubt
from equip.rules.machines.spores import Episode
from equip.rules.verdict import Reason
from equip.rules.wording import day
from equip.scan import show_tag
from equip.store.readings import case_rows, load_rows, machine_rows
from equip.store.readings.machine_rows import RanLoad, SporeRow


@dataclass(frozen=True, slots=True)
class Ran:
    """A load, or a test cycle without one, and what its spore test came to; None without one."""

    name: str
    at: datetime
    spore: Spore | None
    load: RanLoad | None = None


@dataclass(frozen=True, slots=True)
class SporeScope:
    """What the spore tests of one machine come to.

    *begins* is the last negative test before it all, None where there is none; *proposed* the
    loads in doubt that stand in no look-back yet, *cases* the look-backs that the others are in.
    """

    machine: str
    needed: int
    episode: Episode | None
    begins: datetime | None
    ran: tuple[Ran, ...]
    in_doubt: tuple[str, ...]
    back_in_service: bool | None
    unused_stock_held: bool
    reasons: tuple[Reason, ...]
    says: tuple[str, ...]
    proposed: tuple[str, ...] = ()
    cases: tuple[str, ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether the machine is out of use for it."""
        return self.episode is not None and self.episode.ended is None


def scope(
    clinic: Clinic,
    machine: str,
    process: Process,
    now: datetime,
    *,
    defect: bool = False,
    wrong: Collection[str] = (),
) -> SporeScope:
    """Where the machine stands; a settled positive is shown until its loads are looked back on.

    What a person declares found is held against it too, while no test was negative since it.
    """
    tests = machine_rows.spore_tests(clinic.store, machine)
    read = spores.read_so_far(tests)
    cases = case_rows.doubts(clinic.store)
    covered = {load for case in cases for load in case.loads}
    every = rules_spores.episodes(read, spores.negatives_needed(clinic, process, now))
    episode = every[-1] if every else None
    if episode is not None and episode.ended is not None:
        plain = _worked_out(clinic, machine, process, episode, tests, now)
        newest = rules_spores.last_negative(read, None)
        is_newest = newest is not None and newest <= episode.ended
        if covered.issuperset(plain.in_doubt) and not ((defect or wrong) and is_newest):
            episode = None
    found = _worked_out(clinic, machine, process, episode, tests, now, defect=defect, wrong=wrong)
    return replace(
        found,
        proposed=tuple(load for load in found.in_doubt if load not in covered),
        cases=tuple(case.case for case in cases if not set(case.loads).isdisjoint(found.in_doubt)),
    )


def confirm(
    act: Act,
    machine: str,
    process: Process,
    why: str,
    *,
    defect: bool = False,
    wrong: Collection[str] = (),
) -> str:
    """A person opens the look-back on the loads in doubt; its name.

    What was not used of them is kept back, and a machine found at fault stays out of use until
    somebody lifts its quarantine.
    """
    if not why.strip():
        raise Refused("Give a reason: it is read years later.")
    found = scope(act.clinic, machine, process, act.at, defect=defect, wrong=wrong)
    strange = set(wrong).difference(one.load.load for one in found.ran if one.load is not None)
    if strange:
        raise Refused(f"{show_tag(min(strange))} is not among the loads of this machine here.")
    if not found.proposed:
        raise Refused("No load is in doubt by this that is not in a look-back already.")
    label = act.label(act.standing(machine))
    case = case_acts.raise_doubt(act, found.proposed, why.strip())
    loads = [load_rows.load_of(act.store, load) for load in found.proposed]
    in_doubt = Told(code="load-in-doubt", says=f"its load on {label} is in doubt, {case}")
    keep_back.hold(act, [load for load in loads if load is not None], in_doubt)
    if defect:
        fault = Told(code="found-at-fault", says="it, or how it was used, was found at fault")
        keep_back.quarantine(act, machine, fault, "out-of-use")
    return case


def stock_kept_back(clinic: Clinic, label: str) -> list[tuple[str, Kept]]:
    """What is kept back for a positive spore test of the machine so called, with that reason."""
    why = spores.why_held(label)
    return keep_back.kept_back(clinic.store, lambda kept: kept == why)


def let_out(act: Act, machine: str, process: Process, reason: str) -> int:
    """Once the repeats are negative: what the test keeps back goes free of it; how many."""
    if spores.open_episode(act.clinic, machine, process, act.at) is not None:
        raise Refused("The machine is still out of use for its spore test: its repeats decide.")
    found = scope(act.clinic, machine, process, act.at)
    if found.proposed:
        raise Refused("Loads are in doubt that are in no look-back: open it first.")
    held = stock_kept_back(act.clinic, act.label(act.standing(machine)))
    if not held:
        raise Refused("Nothing is kept back for a spore test of this machine.")
    keep_back.let_out(act, held, reason)
    return len(held)


def _worked_out(
    clinic: Clinic,
    machine: str,
    process: Process,
    episode: Episode | None,
    tests: Sequence[SporeRow],
    now: datetime,
    *,
    defect: bool = False,
    wrong: Collection[str] = (),
) -> SporeScope:
    sort, needed = spores.sort_of(process), spores.negatives_needed(clinic, process, now)
    began = None if episode is None else episode.began
    begins = rules_spores.last_negative(spores.read_so_far(tests), began)
    until = None if episode is None or defect or wrong else episode.ended
    ran = _ran(clinic, machine, tests, begins, until, now)
    doubt = scope_of_doubt(
        sort,
        [SporeLoad(one.name, one.spore) for one in ran],
        defect=defect,
        wrong_settings=[show_tag(load) for load in wrong],
        repeats=() if episode is None else episode.repeats,
        negatives_needed=needed,
    )
    loads = {one.name: one.load.load for one in ran if one.load is not None}
    in_doubt = tuple(loads[str(name)] for name in doubt.in_doubt if str(name) in loads)
    return SporeScope(
        machine=machine,
        needed=needed,
        episode=episode,
        begins=begins,
        ran=ran,
        in_doubt=in_doubt,
        back_in_service=doubt.back_in_service,
        unused_stock_held=doubt.unused_stock_held,
        reasons=doubt.reasons,
        says=tuple(rules_spores.what_next(sort, episode, len(in_doubt), needed, defect=defect)),
    )


def _ran(
    clinic: Clinic,
    machine: str,
    tests: Sequence[SporeRow],
    begins: datetime | None,
    until: datetime | None,
    now: datetime,
) -> tuple[Ran, ...]:
    """Loads and test cycles from the last negative one on, in the order in which they ran."""
    opened = None
    if begins is not None:
        first = next((test.load for test in tests if test.ran == begins and test.load), "")
        load = load_rows.load_of(clinic.store, first) if first else None
        opened = begins if load is None else load.opened
    found = [
        Ran(
            show_tag(run.load),
            run.opened,
            _worst([test.result for test in tests if test.load == run.load]),
            run,
        )
        for run in machine_rows.loads_run(clinic.store, machine, opened, until)
    ]
    for test in tests:
        if not test.load and test.ran is not None and _lies(test.ran, begins, until):
            here = test.ran.astimezone(clinic.house.zone)
            name = f"the test cycle of {day(here, now.astimezone(here.tzinfo))}, {here:%H:%M}"
            found.append(Ran(name, test.ran, _worst([test.result])))
    return tuple(sorted(found, key=lambda ran: ran.at))


def _lies(at: datetime, since: datetime | None, until: datetime | None) -> bool:
    return (since is None or at >= since) and (until is None or at <= until)


def _worst(results: Sequence[str]) -> Spore | None:
    """What several tests of one cycle come to: growth outweighs none, and none an invalid one."""
    for result in ("positive", "negative", "invalid"):
        if result in results:
            return result
    return None
