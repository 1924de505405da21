"""`judge LOG`: the log of a cycle in, its judgement out, with the working shown."""

from datetime import date
from decimal import Decimal
from pathlib import Path

from equip import typed
from equip.cli.check.answering import Answer, as_json, rule_used
from equip.cli.check.reading import Unreadable
from equip.logs import layout as log_layout
from equip.logs import machine as machine_log
from equip.logs.layout import BadLayout
from equip.logs.machine import MachineLog
from equip.logs.plain import UnreadableLog, read_file
from equip.rulebook import Book, UnknownProgramme
from equip.rulebook.cycles import judge


def judge_log(
    path: Path,
    programme: str,
    book: Book,
    on: date,
    uncertainty: str | float | Decimal | None = None,
    band_width: str | float | Decimal | None = None,
    chamber_litres: str | float | Decimal | None = None,
    layout: Path | None = None,
) -> Answer:
    """The judgement of the log at *path*, with the rules of *book* in force *on* that day.

    *uncertainty* and *band_width* in kelvin, *chamber_litres* in litres, as typed or as numbers.
    *layout* is the file that says how the machine writes its log; without it the log is plain.
    Raises Unreadable.
    """
    unsure = _quantity("The uncertainty", uncertainty, "K", may_be_nought=True)
    width = _quantity("The band width", band_width, "K")
    litres = _quantity("The chamber", chamber_litres, "L")
    rules = book.on(on)
    try:
        used = rules.behind(programme, band_width=width, chamber_litres=litres)
        log = MachineLog(read_file(path)) if layout is None else _described(path, layout)
    except (UnknownProgramme, UnreadableLog) as fault:
        raise Unreadable(str(fault)) from fault
    judged = judge(
        rules,
        programme,
        log.trace,
        uncertainty_k=float(unsure or 0),
        band_width=width,
        chamber_litres=litres,
    )
    said = {} if layout is None else {"log": _of_itself(log)}
    return {
        **said,
        "verdict": judged.verdict,
        "reasons": [{**as_json(one), "at_s": one.at_s} for one in judged.reasons],
        "figures": judged.figures,
        "rules": [rule_used(rule) for rule in used],
    }


def _described(path: Path, layout: Path) -> MachineLog:
    """The log at *path* by the layout in the file *layout*."""
    try:
        described = log_layout.from_json(layout.read_bytes())
    except OSError as fault:
        why = (fault.strerror or "it cannot be read").lower()
        raise Unreadable(f"The layout “{layout}” could not be opened ({why}).") from fault
    except BadLayout as fault:
        raise Unreadable(str(fault)) from fault
    return machine_log.read_file(described, path)


def _of_itself(log: MachineLog) -> Answer:
    """What a machine's log says of itself."""
    started = None if log.started is None else log.started.isoformat()
    return {"machine": log.machine, "cycle_no": log.cycle_no, "started": started}


def _quantity(
    called: str, value: str | float | Decimal | None, unit: str, *, may_be_nought: bool = False
) -> Decimal | None:
    """What somebody typed or a script gave as a number of *unit*, exactly."""
    if value is None:
        return None
    number = typed.exact(str(value).strip())
    if number is None or not 0 <= number < 1_000_000 or (number == 0 and not may_be_nought):
        needed = "nought or more" if may_be_nought else "more than nought"
        raise Unreadable(f"{called} was read as “{value}”; give a number of {unit}, {needed}.")
    return number
