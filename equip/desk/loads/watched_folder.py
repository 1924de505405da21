"""Logs that machines write into a watched folder: judged with their load, or asked about.

Each machine has a sub-folder with its tag for a name. A log is moved to `done`, `unclaimed` or
`unread` in there, never deleted. What became of a log is known by the hash of its bytes, so that
one that was taken in and not yet moved when the power failed is only moved.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path

from equip import facts
from equip.desk.act.act import Act, Refused, acting
from equip.desk.clinic import Clinic
from equip.desk.cycles import logs
from equip.desk.loads.end import LogFile, end_load
from equip.logs.machine import MachineLog
from equip.logs.plain import LIMIT_BYTES, UnreadableLog
from equip.rules.cycles.matching import could_be_running, cycle_number
from equip.rules.loads.load import Load
from equip.scan import show_tag
from equip.store.kept import files
from equip.store.readings import load_rows, log_rows, machine_rows
from equip.typed import maybe_tag

DONE, UNCLAIMED, UNREAD = "done", "unclaimed", "unread"
# A machine, or the share between, may still be writing: a log counts once it has rested so long.
_RESTED = timedelta(seconds=60)
_HALF_WRITTEN = (".tmp", ".part", ".partial", "~")


class NotCollected(Exception):
    """Some of the watched folder could not be worked off; the message says what and why."""


@dataclass
class Collector:
    """The watched folder of a clinic, and since when each file in it has been as it is."""

    clinic: Clinic
    root: Path
    _since: dict[Path, tuple[tuple[int, int], datetime]] = field(default_factory=dict)

    def collect(self) -> int:
        """Take in what has settled; how many logs. Raises NotCollected when the rest is done."""
        wrong: list[str] = []
        taken = 0
        for machine, folder in self._folders(wrong).items():
            settled = self._settled(folder, wrong)
            for path in settled:
                try:
                    _take_in(self.clinic, machine, path, alone=len(settled) == 1)
                    taken += 1
                except OSError as problem:
                    wrong.append(_cannot(path, problem))
        _join_late(self.clinic)
        if wrong:
            raise NotCollected(" ".join(wrong))
        return taken

    def _folders(self, wrong: list[str]) -> dict[str, Path]:
        """The sub-folder of each machine that a log can judge; one that lacks it gets it."""
        if not self.root.is_dir():
            raise NotCollected(f"There is no folder {self.root}: make it, or set EQUIP_LOGS anew.")
        found: dict[str, Path] = {}
        for path in sorted(self.root.iterdir()):
            if path.is_dir() and (tag := _tag_of(path.name)):
                found.setdefault(tag, path)
        machines = [row.tag for row in logs.machines(self.clinic)]
        for tag in machines:
            if tag not in found:
                try:
                    found[tag] = self.root / tag
                    found[tag].mkdir()
                except OSError as problem:
                    wrong.append(_cannot(found.pop(tag), problem))
        return {tag: found[tag] for tag in machines if tag in found}

    def _settled(self, folder: Path, wrong: list[str]) -> list[Path]:
        """Logs whose size and time have stayed the same for a while, by our own clock."""
        now, settled = self.clinic.clock(), []
        try:
            for path in sorted(folder.iterdir()):
                if path.name.startswith(".") or path.name.lower().endswith(_HALF_WRITTEN):
                    continue
                if path.is_symlink() or not path.is_file():
                    continue
                status = path.stat()
                mark = (status.st_size, status.st_mtime_ns)
                before, since = self._since.get(path, (mark, now))
                if before != mark:
                    since = now
                self._since[path] = (mark, since)
                if now - since >= _RESTED:
                    settled.append(path)
        except OSError as problem:
            wrong.append(_cannot(folder, problem))
        return settled


def claim(act: Act, load: Load, sha: str, cycle_no: str = "") -> None:
    """A log that came in and belonged to no load is this load's after all.

    *cycle_no* mends a number that was mistyped for the load.
    """
    stray = log_rows.stray_log(act.store, sha)
    data = files.fetch(act.store, sha)
    if stray is None or data is None or stray.machine != load.machine:
        raise Refused("That log is none of this machine's that waits for a load.")
    end_load(act, load, LogFile(data, stray.name, stray.layout), cycle_no=cycle_no)


def unread(root: Path) -> list[tuple[str, str]]:
    """Logs of the watched folder that could not be read: where each lies, and why."""
    found = sorted(root.glob(f"*/{UNREAD}/*.txt"))
    return [
        (str(path.relative_to(root)).removesuffix(".txt"), path.read_text("utf-8", "replace"))
        for path in found
        if path.with_suffix("").exists()
    ]


def _take_in(clinic: Clinic, machine: str, path: Path, *, alone: bool) -> None:
    if (size := path.stat().st_size) > LIMIT_BYTES:
        says = f"The log has {size:,} bytes, more than the {LIMIT_BYTES:,} that are read."
        _put_unread(path, says)
        return
    data = path.read_bytes()
    sha = sha256(data).hexdigest()
    if not (where := _known(clinic, sha)):
        layout = log_rows.layout_of(clinic.store, machine)
        try:
            log = logs.read(data, layout)
        except UnreadableLog as problem:
            _put_unread(path, str(problem))
            return
        where = _decide(clinic, machine, path.name, data, layout, log, alone=alone)
    _move(path, where)


def _known(clinic: Clinic, sha: str) -> str:
    """What became of these very bytes before; "" if they are new."""
    if log_rows.load_with_log(clinic.store, sha) is not None:
        return DONE
    return UNCLAIMED if log_rows.stray_log(clinic.store, sha) is not None else ""


def _decide(
    clinic: Clinic,
    machine: str,
    name: str,
    data: bytes,
    layout: str,
    log: MachineLog,
    *,
    alone: bool,
) -> str:
    """Judge the load that the log belongs to, or tell that it belongs to none."""
    try:
        with acting(clinic, by="") as act:
            load = _load_of(act, machine, log, alone=alone)
            end_load(act, load, LogFile(data, name, layout))
        return DONE
    except Refused as refused:
        why = str(refused)
    with acting(clinic, by="") as act:
        act.tell(
            facts.LogUnclaimed,
            machine=machine,
            log=files.keep(act.store, data, name),
            name=name,
            cycle_no=cycle_number(log.cycle_no),
            why=why,
            layout=layout,
        )
    return UNCLAIMED


def _load_of(act: Act, machine: str, log: MachineLog, *, alone: bool) -> Load:
    """The load of this machine that waits for this log; Refused with why there is none."""
    number = cycle_number(log.cycle_no)
    if not number:
        raise Refused("The log has no cycle number.")
    waiting = _waiting(act.clinic, machine)
    for load in waiting:
        if load.cycle_no == number:
            return load
    if other := load_rows.cycle_known(act.store, machine, number, ""):
        raise Refused(f"Cycle {number} belongs to load {show_tag(other)}, which has its evidence.")
    if number in machine_rows.cycle_numbers(act.store, machine):
        raise Refused(f"Cycle {number} is recorded as a test of this machine.")
    running = [load for load in waiting if load.state == "running"]
    lasts = timedelta(seconds=log.trace.seconds[-1] - log.trace.seconds[0])
    if running and alone and could_be_running(running[0], log.started, lasts, act.now):
        return running[0]
    raise Refused(f"No load of this machine that waits for its log has cycle {number}.")


def _waiting(clinic: Clinic, machine: str) -> list[Load]:
    """Loads of a machine that run, or have run and lack their evidence."""
    return [
        load
        for load in load_rows.open_loads(clinic.store)
        if load.machine == machine and load.state in ("running", "ended") and load.inside
    ]


def _join_late(clinic: Clinic) -> None:
    """A log may come in before anybody told the number of its cycle: then it is joined now."""
    for stray in log_rows.stray_logs(clinic.store):
        if not stray.cycle_no:
            continue
        for load in _waiting(clinic, stray.machine):
            if load.cycle_no == stray.cycle_no:
                try:
                    with acting(clinic, by="") as act:
                        claim(act, load, stray.log)
                except Refused:
                    pass  # it stays a question for somebody
                break


# --- files ------------------------------------------------------------------------------------


def _put_unread(path: Path, says: str) -> None:
    target = _free(path, UNREAD)
    target.with_name(f"{target.name}.txt").write_text(f"{says}\n", "utf-8")
    path.rename(target)


def _move(path: Path, where: str) -> None:
    path.rename(_free(path, where))


def _free(path: Path, where: str) -> Path:
    """A name in that folder under which nothing lies yet: machines use the same name again."""
    folder = path.parent / where
    folder.mkdir(exist_ok=True)
    target, count = folder / path.name, 1
    while target.exists():
        count += 1
        target = folder / f"{path.stem}-{count}{path.suffix}"
    return target


def _tag_of(name: str) -> str:
    return maybe_tag(name) or ""


def _cannot(path: Path, problem: OSError) -> str:
    why = (problem.strerror or "it cannot be used").lower()
    return f"{path}: {why}; check who may read and write there."
