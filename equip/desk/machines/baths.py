"""Soak baths: filled anew, on which day of use, and why nothing may be soaked in one."""

from datetime import datetime

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.clinic import Clinic
from equip.desk.machines import lots
from equip.facts import Process, Told
from equip.rulebook.fitness import agent
from equip.rules.fitness.agents import agent_of
from equip.rules.fitness.bath import Filling, why_not_fill, why_not_soak
from equip.rules.fitness.lots import Lot
from equip.rules.fitness.standing import Standing
from equip.store.readings import load_rows, lot_rows


def agents_of(process: Process) -> tuple[str, ...]:
    """The agents that a machine's programmes are judged by; none if it is no soak bath."""
    found = (agent_of(programme.judged_by) for programme in process.programmes)
    return tuple(name for name in found if name)


def filling(clinic: Clinic, machine: str, at: datetime) -> Filling | None:
    """What the bath was filled with last, as of *at*."""
    found = lot_rows.fillings_of(clinic.store, machine, at, clinic.house.zone)
    return found[0] if found else None


def programme_by_filling(clinic: Clinic, machine: str, process: Process, at: datetime) -> str:
    """The programme of what is in the bath, "" if it is no bath or nothing is in it."""
    if not agents_of(process) or (now_in := filling(clinic, machine, at)) is None:
        return ""
    known = (programme.judged_by for programme in process.programmes)
    return next((name for name in known if agent_of(name) == now_in.lot.stated.agent), "")


def why_not(clinic: Clinic, machine: str, name: str, at: datetime) -> list[Told]:
    """Every reason why nothing may be soaked in the bath by the agent *name* at *at*."""
    house = clinic.house
    limits, now_in = agent(house.rules(at), name), filling(clinic, machine, at)
    return why_not_soak(
        now_in,
        name,
        limits.reuse_days,
        at,
        house.zone,
        reuse_loads=limits.reuse_loads,
        soaked=load_rows.started_since(clinic.store, machine, now_in.at) if now_in else 0,
    )


def days_of(clinic: Clinic, name: str, at: datetime) -> int:
    """How many days a filling of that agent may serve, by the rules in force."""
    return agent(clinic.house.rules(at), name).reuse_days


def why_not_with(act: Act, machine: Standing, lot: Lot) -> list[Told]:
    """Every reason why the bath must not be filled with *lot*."""
    return why_not_fill(lot, _agents(act, machine), act.house.today(act.at))


def fill(act: Act, machine: Standing, tag: str, note: str = "") -> Lot:
    """The bath is filled anew with the lot of that tag; Refused with every reason against it."""
    load = load_rows.load_on(act.store, machine.item)
    if load is not None and load.state == "running":
        raise Refused("Something is in the bath: take it out, and end its load first.")
    lot = lots.known(act, tag)
    reasons = why_not_with(act, machine, lot)
    if reasons:
        raise Refused(" ".join(reason.says for reason in reasons))
    if lot.opened is None:
        act.tell(facts.LotOpened, lot=tag)
    act.tell(facts.BathFilled, machine=machine.item, lot=tag, note=note.strip())
    if load is not None and agent_of(load.programme) != lot.stated.agent:
        # What is put in from now on is soaked by what is in the bath.
        programme = f"soak-{lot.stated.agent}"
        act.tell(facts.LoadOpened, load=load.load, machine=machine.item, programme=programme)
    return lot


def _agents(act: Act, machine: Standing) -> tuple[str, ...]:
    process = act.kind(machine).process
    agents = agents_of(process) if process is not None else ()
    if not agents:
        raise Refused(f"{act.label(machine)} is no soak bath.")
    return agents
