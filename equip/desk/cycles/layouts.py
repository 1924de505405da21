"""How a machine writes its log: described, tried on one of its own logs, kept as a fact."""

import io
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.cycles import logs
from equip.logs import layout as log_layout
from equip.logs import machine as machine_log
from equip.logs.layout import Layout
from equip.logs.machine import MachineLog, Preview
from equip.logs.text import LIMIT_BYTES, UnreadableLog, shown, text_lines
from equip.rules.cycles.matching import cycle_number, is_named
from equip.rules.wording import exact_span

_MOST_LINES = 12
_MOST_ROWS = 20


@dataclass(frozen=True, slots=True)
class Trial:
    """A layout tried on a log.

    *lines* are the first ones as they stand, ahead of the readings; *reads* whether the whole log
    was read to its end, None where only its beginning was tried; *says* what came of that;
    *doubts* what was read and will not do.
    """

    lines: tuple[tuple[int, str], ...]
    preview: Preview
    reads: bool | None
    says: str
    doubts: tuple[str, ...]


def try_on(layout: Layout, data: bytes, names: tuple[str, ...], *, whole: bool) -> Trial:
    """*layout* tried on the log in *data*; *names* are what its machine may be called there."""
    found = machine_log.preview(layout, data, _MOST_ROWS)
    if not data.strip():
        found = Preview((), "The file is empty: fetch the log from the machine again.")
    ahead = found.rows[0].line if found.rows else _MOST_LINES + 1
    lines = tuple(islice((one for one in _lines(layout, data) if one[0] < ahead), _MOST_LINES))
    reads, says = None, ""
    if whole:
        try:
            log = logs.read(data, log_layout.to_json(layout).decode())
        except UnreadableLog as problem:
            reads, says = False, str(problem)
        else:
            reads, says = True, _summary(log)
            found = replace(found, notes=log.trace.notes)
    return Trial(lines, found, reads, says, tuple(_doubts(layout, found, names)))


def describe(act: Act, machine: str, layout: Layout, data: bytes, reason: str) -> None:
    """The machine writes its log like this from now on; a whole log of it was read so."""
    _expect_runs_loads(act, machine)
    if not reason.strip():
        raise Refused("Say why: it is read years later.")
    text = log_layout.to_json(layout).decode()
    try:
        logs.read(data, text)
    except UnreadableLog as problem:
        raise Refused(f"The log does not read to its end by this. {problem}") from None
    if text == logs.layout_of(act, machine):
        raise Refused("It is described so already: nothing was changed.")
    act.tell(facts.LayoutSet, machine=machine, layout=text, reason=reason.strip())


def back_to_plain(act: Act, machine: str, reason: str) -> None:
    """The machine's logs are handed in as the plain log again."""
    _expect_runs_loads(act, machine)
    if not logs.layout_of(act, machine):
        raise Refused("Its logs are read as the plain log already.")
    if not reason.strip():
        raise Refused("Say why: it is read years later.")
    act.tell(facts.LayoutSet, machine=machine, layout="", reason=reason.strip())


def _expect_runs_loads(act: Act, machine: str) -> None:
    process = act.kind(act.standing(machine)).process
    if process is None or process.heat == "none":
        raise Refused(f"{act.label(act.standing(machine))} runs no load that a log can judge.")


def _summary(log: MachineLog) -> str:
    trace = log.trace
    coldest = min(min(probe) for probe in trace.probes)
    hottest = max(max(probe) for probe in trace.probes)
    lasts = exact_span(trace.seconds[-1] - trace.seconds[0])
    says = f"{len(trace.seconds):,} readings in {lasts}, {coldest:.1f} to {hottest:.1f} °C"
    if trace.kpa is None:
        return f"{says}, no pressure."
    return f"{says}, {min(trace.kpa):.1f} to {max(trace.kpa):.1f} kPa absolute."


def _lines(layout: Layout, data: bytes) -> Iterator[tuple[int, str]]:
    """The lines that are not blank, as far as they are text."""
    try:
        for number, raw in text_lines(io.BytesIO(data), LIMIT_BYTES):
            text = raw.decode(layout.encoding, errors="replace").strip("\r\n")
            yield number, shown(text.replace("\t", " → "), 200)
    except UnreadableLog:
        return


def _doubts(layout: Layout, found: Preview, names: tuple[str, ...]) -> Iterator[str]:
    if found.fault and not found.rows:
        return
    for key, value, what in (
        (layout.machine_key, found.machine, "machine number"),
        (layout.cycle_key, found.cycle_no, "cycle number"),
    ):
        if key and not value:
            yield (
                f"No line ahead of the readings begins with “{key}”: no {what} is read. "
                "Look at the word and at the lines to skip."
            )
    if found.cycle_no and not cycle_number(found.cycle_no):
        yield (
            f"The cycle number reads “{found.cycle_no}”, which is not one number of up to eight "
            "digits: the log is taken as one without a number."
        )
    if found.machine and names[1] and not is_named(found.machine, names):
        yield (
            f"The log names the machine “{found.machine}”, but its serial number on the register "
            f"is “{names[1]}”: its logs would be refused."
        )
