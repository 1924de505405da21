"""A server in a process of its own, and benches that scan at it through HTTP, one by one."""

import json
import os
import socket
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from tempfile import TemporaryFile
from threading import Thread
from time import perf_counter, sleep
from typing import BinaryIO
from uuid import uuid4

from tests.measure.grown import WET_S, Grown
from tests.measure.scripts import WAIT, Planned

ROOT = Path(__file__).resolve().parents[2]
_START_S = 30.0
_MARGIN_S = 0.1


def free_port() -> int:
    """A port of this machine that nobody listens on just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def book_served(grown: Grown) -> Iterator[int]:
    """The book as everybody runs it, `app.py serve`; its port."""
    port = free_port()
    settings = {
        "EQUIP_DATA": str(grown.folder),
        "EQUIP_SITE": "TIMED",
        "EQUIP_ADDRESS": f"127.0.0.1:{port}",
    }
    with _process([sys.executable, "app.py", "serve"], port, settings):
        yield port


@contextmanager
def floor_served(path: Path) -> Iterator[int]:
    """The bare floor; its port."""
    port = free_port()
    with _process([sys.executable, "-m", "tests.measure.floor", str(path), str(port)], port, {}):
        yield port


@contextmanager
def _process(command: list[str], port: int, settings: dict[str, str]) -> Iterator[None]:
    environ = {k: v for k, v in os.environ.items() if not k.startswith("EQUIP_")} | settings
    with TemporaryFile() as said:
        server = subprocess.Popen(command, cwd=ROOT, env=environ, stdout=said, stderr=said)
        try:
            _wait_for(server, port, said)
            yield
        finally:
            server.terminate()
            server.wait(timeout=30)


def _wait_for(server: "subprocess.Popen[bytes]", port: int, said: BinaryIO) -> None:
    end = perf_counter() + _START_S
    while perf_counter() < end and server.poll() is None:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            sleep(0.05)
        else:
            return
    said.seek(0)
    raise RuntimeError(f"The server at port {port} did not start. {said.read().decode()}")


class Bench:
    """One bench: it scans what its script says, and counts what was answered.

    Each scan must be answered as planned: to time refusals would be to time something else.
    """

    def __init__(self, number: int, port: int, key: str, script: Iterable[Planned]) -> None:
        self._name = f"bench {number}"
        self._headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
        self._connection = HTTPConnection("127.0.0.1", port, timeout=30)
        self._script = iter(script)
        self.seconds: list[float] = []
        self.answered: Counter[bytes] = Counter()

    def scan(self, count: int) -> None:
        """Scan *count* times; how long each took, from first byte out to last byte in."""
        for _ in range(count):
            text, planned = next(self._script)
            if (text, planned) == WAIT:
                sleep(WET_S + _MARGIN_S)
                text, planned = next(self._script)
            body = json.dumps({"id": str(uuid4()), "bench": self._name, "text": text})
            start = perf_counter()
            self._connection.request("POST", "/api/scans", body, self._headers)
            answer = self._connection.getresponse()
            content = answer.read()
            self.seconds.append(perf_counter() - start)
            if answer.status != 200 or planned not in content:
                raise RuntimeError(f"“{text}” was answered {answer.status}: {content.decode()}")
            self.answered[planned] += 1

    def close(self) -> None:
        self._connection.close()


def together(benches: Sequence[Bench], count: int) -> list[float]:
    """All *benches* scan at once, *count* times each; the seconds of every scan."""
    faults: list[BaseException] = []

    def scanning(bench: Bench) -> None:
        try:
            bench.scan(count)
        except Exception as fault:  # told to whoever waits for all of them
            faults.append(fault)

    _all_at_once([lambda bench=bench: scanning(bench) for bench in benches])  # type: ignore[misc]
    if faults:
        raise faults[0]
    taken = [one for bench in benches for one in bench.seconds]
    for bench in benches:
        bench.seconds.clear()
    return taken


def _all_at_once(works: Sequence[Callable[[], None]]) -> None:
    threads = [Thread(target=work) for work in works]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
