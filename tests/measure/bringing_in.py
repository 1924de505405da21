"""Lines of the past a second, from the file to the last commit, by the command itself.

The floor is the least that a chained book of them takes: the file read, each line spelled as JSON,
sealed after the one before it and inserted into SQLite, in transactions of the same size. It folds
nothing: it could answer no question.
"""

import csv
import hashlib
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from time import perf_counter

from peewee import sqlite3  # type: ignore[attr-defined]  # whichever driver the book uses

from equip.desk.past.bring_in import BATCH
from equip.store.database import PRAGMAS
from tests.measure import databases
from tests.measure.decade import as_file, clinic_lines
from tests.measure.lines import Line
from tests.measure.sizes import size

USES = size(60_000, 400)  # ten years of a clinic, at twenty-five a working day
AIM = 20_000  # lines a second
_ROOT = Path(__file__).resolve().parents[2]


def measure(folder: Path) -> list[Line]:
    """For each database a line against the aim, and one against the floor."""
    path = folder / "past.csv"
    path.write_bytes(as_file(clinic_lines(0, USES)))
    wanted = path.read_bytes().count(b"\n") - 1  # all but the header
    lines: list[Line] = []
    floor = _floor(path, folder)
    for name, server in databases.servers().items():
        with databases.empty(server) as url:
            seconds, count = _bring_in(path, folder / f"book-{name}", url)
        if count != wanted:
            raise RuntimeError(f"Of {wanted} lines {count} were brought in.")
        rate, bare = f"{count / seconds:,.0f} lines/s", f"{count / floor:,.0f} lines/s"
        aimed = f"{name}: {AIM:,} lines a second, to what it takes in"
        lines.append(Line(aimed, AIM * seconds / count, 1, rate))
        lines.append(Line(f"{name}, against a bare chain of them", seconds / floor, None, bare))
    path.unlink()
    return lines


def _bring_in(path: Path, data: Path, url: str) -> tuple[float, int]:
    """How long the command took, start of Python and of the book included, and its lines."""
    settings = {"EQUIP_DATA": str(data), "EQUIP_SITE": "TIMED", "EQUIP_DATABASE": url}
    its = os.environ | {name: value for name, value in settings.items() if value}
    command = [sys.executable, "app.py", "import", "past", str(path), "--json"]
    start = perf_counter()
    done = subprocess.run(command, cwd=_ROOT, env=its, capture_output=True, text=True, check=True)
    seconds = perf_counter() - start
    return seconds, int(json.loads(done.stdout)["added"])


def _floor(path: Path, folder: Path) -> float:
    start = perf_counter()
    book = sqlite3.connect(folder / "bare.sqlite3", isolation_level=None)
    for name, value in PRAGMAS.items():
        book.execute(f"PRAGMA {name} = {value}")
    book.execute("CREATE TABLE line (position INTEGER PRIMARY KEY, body BLOB, seal BLOB)")
    rows, previous = [], b""
    for position, line in enumerate(csv.DictReader(io.StringIO(path.read_text("utf-8"))), start=1):
        body = json.dumps(line, sort_keys=True).encode()
        previous = hashlib.sha256(previous + body).digest()
        rows.append((position, body, previous))
        if len(rows) == BATCH:
            _write(book, rows)
            rows = []
    _write(book, rows)
    book.close()
    return perf_counter() - start


def _write(book: "sqlite3.Connection", rows: list[tuple[int, bytes, bytes]]) -> None:
    book.execute("BEGIN IMMEDIATE")
    book.executemany("INSERT INTO line VALUES (?, ?, ?)", rows)
    book.execute("COMMIT")
