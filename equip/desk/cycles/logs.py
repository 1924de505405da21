"""Logs as they are handed in: read by a layout or as the plain log, and matched to their load."""

from dataclasses import dataclass
from datetime import UTC
from hashlib import sha256
from typing import Any

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.clinic import Clinic
from equip.logs import layout as log_layout
from equip.logs import machine as machine_log
from equip.logs.layout import BadLayout
from equip.logs.machine import MachineLog
from equip.logs.plain import UnreadableLog, read_plain
from equip.rules.cycles.matching import cycle_number, is_named
from equip.rules.loads.load import Load
from equip.scan import show_tag
from equip.store.database import Store
from equip.store.kept import files
from equip.store.readings import item_rows, load_rows, log_rows
from equip.store.readings.item_rows import ItemRow


@dataclass(frozen=True, slots=True)
class Handed:
    """A log that is this load's: its hash, what it was read by, what it holds, its number."""

    sha: str
    layout: str
    log: MachineLog
    cycle_no: str


def read(data: bytes, layout: str = "") -> MachineLog:
    """The log in *data* by a layout's JSON text, "" for the plain log. Raises UnreadableLog."""
    if not data.strip():
        raise UnreadableLog("The log is empty: fetch it from the machine again.")
    if not layout:
        return MachineLog(read_plain(data))
    try:
        described = log_layout.from_json(layout)
    except BadLayout as problem:
        raise UnreadableLog(str(problem)) from None
    return machine_log.read_with(described, data)


def layout_of(act: Act, machine: str) -> str:
    """How a machine writes its log now, as JSON text; "" for the plain log."""
    return log_rows.layout_of(act.store, machine)


def hand_in(
    act: Act, load: Load, data: bytes, name: str, told: str = "", *, layout: str | None = None
) -> Handed:
    """The log of *load*, read, found to be its own and kept; Refused with what was read instead.

    *told* is the cycle number that was typed with it, which mends a mistyped one. *layout* is
    what to read it by; if not told, what its machine writes now.
    """
    sha = sha256(data).hexdigest()
    if (other := log_rows.load_with_log(act.store, sha, load.load)) is not None:
        raise Refused(
            f"The very same log was handed in for load {show_tag(other)}: fetch the log of this "
            "load’s own cycle from the machine."
        )
    how = layout_of(act, load.machine) if layout is None else layout
    try:
        log = read(data, how)
    except UnreadableLog as problem:
        raise Refused(str(problem)) from None
    _expect_machine(act, load, log)
    number = _expect_number(act, load, log, told or load.cycle_no)
    files.keep(act.store, data, name)
    return Handed(sha, how, log, number)


def evidence(handed: Handed) -> dict[str, Any]:
    """The fields by which a judgement keeps its log, so that it is readable for ever."""
    started = handed.log.started
    return {
        "log": handed.sha,
        "layout": handed.layout,
        "cycle_no": handed.cycle_no,
        "log_started": None if started is None else started.astimezone(UTC),
    }


def machines(clinic: Clinic) -> list[ItemRow]:
    """Machines on the register whose cycles a log can judge."""
    house = clinic.house
    return [
        row
        for row in item_rows.items(clinic.store)
        if (process := house.kind(row.type).process) is not None and process.heat != "none"
    ]


def names_of(store: Store, machine: str) -> tuple[str, ...]:
    """What a log may call its machine: its tag, its serial number, what it was called before."""
    row = item_rows.item_row(store, machine)
    serial = row.serial if row is not None else ""
    return (machine, serial, *item_rows.aliases_of(store, machine))


def _expect_machine(act: Act, load: Load, log: MachineLog) -> None:
    names = names_of(act.store, load.machine)
    if log.machine and names[1] and not is_named(log.machine, names):
        raise Refused(
            f"The log names the machine “{log.machine}”, and {show_tag(load.machine)} has the "
            f"serial number “{names[1]}”: hand in the log of this machine. If it is the log of "
            "this machine, the manager mends its layout under Setup, Logs."
        )


def _expect_number(act: Act, load: Load, log: MachineLog, told: str) -> str:
    """The load's cycle number, which the log's must be where both are known."""
    number = cycle_number(log.cycle_no)
    if number and told and number != told:
        raise Refused(
            f"The log says cycle {number}, and cycle {told} was told for this load: hand in the "
            f"log of cycle {told}, or read the number on the machine again and mend it."
        )
    if number and (other := load_rows.cycle_known(act.store, load.machine, number, load.load)):
        raise Refused(
            f"The log says cycle {number}, which belongs to load {show_tag(other)}: hand in the "
            "log of this load’s own cycle."
        )
    return told or number


def explain(act: Act, sha: str, reason: str) -> None:
    """Somebody says what the cycle of a log that belongs to no load was."""
    stray = log_rows.stray_log(act.store, sha)
    if stray is None or stray.explained or log_rows.load_with_log(act.store, sha) is not None:
        raise Refused("That log is no open question: load the page again.")
    if not reason.strip():
        raise Refused("Say what the cycle was: it is read years later.")
    act.tell(facts.LogExplained, machine=stray.machine, log=sha, reason=reason.strip())
