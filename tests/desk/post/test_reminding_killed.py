"""Two processes beat and are killed at any instant: each letter still arrives, and once."""

import asyncio
import random
import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from datetime import date
from pathlib import Path
from typing import Any

from aiosmtpd.controller import Controller

from equip.desk.act.act import acting
from equip.desk.post import readers
from equip.desk.upkeep import duty_acts
from equip.store.database import Store
from equip.store.post import agenda
from tests.support.playing import Play
from tests.support.stopped import NOON, StoppedClock

ROOT = Path(__file__).parents[3]
KILLS = 12
LETTERS = 90

_BEATS = """
import sys
from datetime import datetime, timedelta
from pathlib import Path
from time import monotonic
from equip.deliver.post.mail import Mailer
from equip.desk.post import tick
from equip.desk.clinic import Clinic
from equip.settings.values import HostPort
from equip.settings.settings import Settings
from equip.store.database import Store
from equip.store.kept.keys import keys_in
from equip.store.kept.vault import Vault

url, folder, port, start, began = sys.argv[1:]
store = Store.open(url)
store.connect()

def clock():
    # Ten minutes in a second, so that a lease of the dead runs out in the test.
    return datetime.fromisoformat(start) + timedelta(seconds=(monotonic() - float(began)) * 600)

clinic = Clinic(
    store, Vault(store, keys_in(Path(folder))), clock, Settings(data=Path(folder), site="TEST")
)
mailer = Mailer(HostPort("127.0.0.1", int(port)), "book@clinic.example", tls="none", timeout=5)
print("up", flush=True)
while True:
    tick.tick(clinic, mailer, lambda now: None)
"""


class PostOffice:
    """Counts what it takes, by Message-ID, slowly: most kills meet a letter on its way."""

    def __init__(self) -> None:
        self.taken: Counter[str] = Counter()
        self.begun = 0

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        self.begun += 1
        await asyncio.sleep(0.05)
        lines = envelope.content.decode().splitlines()
        self.taken.update(one for one in lines if one.lower().startswith("message-id:"))
        await asyncio.sleep(0.05)
        return "250 OK"

    def wait_for_one(self, seconds: float) -> None:
        """Until one more letter is on its way, or for so long."""
        before, end = self.begun, time.monotonic() + seconds
        while self.begun == before and time.monotonic() < end:
            time.sleep(0.005)


def test_two_processes_killed_at_any_instant_lose_no_letter_and_doubles_are_told_by_their_id(
    store: Store, database_url: str, clock: StoppedClock, tmp_path: Path
) -> None:
    """A double is allowed only where a process died between the server's yes and our mark."""
    folder = tmp_path / "house"
    play = Play.begin(store, clock, folder)
    names = [f"reader{number}@clinic.example" for number in range(3)]
    for name, role in zip(names, ("nurse", "manager", "trainee"), strict=True):
        readers.keep(play.clinic, play.people[role], name, (), first=True)
    with acting(play.clinic, by=play.people["manager"]) as act:
        for number in range(LETTERS):
            act.send_later(f"alert:{number}", "alert", f"Thing {number} was used unfit.")
    pump = play.add("suction-pump")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, pump, "service", date(2026, 3, 1), every_months=12, grounds=True)
    office = PostOffice()
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = int(free.getsockname()[1])
    controller = Controller(office, hostname="127.0.0.1", port=port)  # type: ignore[arg-type]
    controller.start()
    began = time.monotonic()

    def worker() -> subprocess.Popen[str]:
        words = [sys.executable, "-c", _BEATS, database_url, str(folder), str(port)]
        words += [NOON.isoformat(), str(began)]
        return subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True)

    chance = random.Random(7)
    pair = [worker(), worker()]
    killed = 0
    try:
        for kill in range(KILLS):
            victim = pair[kill % 2]
            assert victim.stdout is not None
            assert victim.stdout.readline() == "up\n", "a process ended by itself"
            if kill % 2:  # on a busy machine the first letter takes its time to come
                office.wait_for_one(5)
                time.sleep(chance.uniform(0, 0.1))
            else:
                time.sleep(chance.uniform(0.05, 0.6))
            victim.send_signal(signal.SIGKILL)
            victim.communicate()
            killed += 1
            pair[kill % 2] = worker()
        end = time.monotonic() + 40
        while agenda.waiting(store) and time.monotonic() < end:
            time.sleep(0.2)
    finally:
        for one in pair:
            one.kill()
            one.communicate()
        controller.stop()

    left = agenda.left(store, 500)
    stops = [one for one in left if one.what == "stops"]
    digests = [one for one in left if one.what == "digest"]
    assert agenda.waiting(store) == [] and agenda.stuck(store) == []
    assert len([one for one in left if one.what == "alert"]) == LETTERS  # one manager
    assert sorted(one.address for one in stops) == names
    assert len(digests) == len({one.key for one in digests})
    assert len(office.taken) == len(left)  # each arrived, under its own id
    assert any(one.tries > 1 for one in left), "no kill met a letter on its way"
    # Each kill can double at most the one letter that was on its way.
    assert sum(office.taken.values()) - len(left) <= killed
