"""One tick over many duties, a few of them due, with people to write to and a real mail server."""

import socket
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from statistics import median
from typing import Any

from aiosmtpd.controller import Controller

from equip import facts
from equip.deliver.post.mail import Mailer
from equip.desk.act.act import Act, acting
from equip.desk.act.links import Links
from equip.desk.post import readers
from equip.desk.post import tick as reminding
from equip.settings.values import HostPort
from equip.store.database import Store, migrate
from equip.store.kept import counters
from tests.measure.lines import Line, ms
from tests.measure.rounds import seconds
from tests.measure.sizes import size
from tests.support.playing import Play
from tests.support.stopped import StoppedClock

THINGS, DUTIES_EACH, DUE = size(2_000, 20), 10, size(200, 20)
_TOGETHER = 200  # things in a transaction
MOST_S = 1.0
_LINKS = Links("https://book.clinic.example", b"a secret that opens nothing")


class _Office:
    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        return "250 OK"


def measure(folder: Path, rounds: int) -> list[Line]:
    """A tick that writes every digest and sends it, and one that finds nothing new; to a second."""
    with _clinic(folder) as play, _mailer() as mailer:

        def tick() -> int:
            return reminding.tick(play.clinic, mailer, lambda now: None, _LINKS)

        sent: list[int] = []
        writing, idle = [], []
        for _ in range(rounds):
            play.clock.passes(days=7)  # each of the 200 is told again, to each reader
            writing.append(seconds(lambda: sent.append(tick())))
            idle.append(seconds(tick))
    if not all(sent):
        raise RuntimeError("A tick in which duties were due sent no letter.")
    duties = f"{THINGS * DUTIES_EACH:,} duties, {DUE} due"
    return [
        Line(
            f"{duties}: written and sent, against a second",
            median(writing) / MOST_S,
            1.0,
            f"{ms(median(writing))}, {median(sent):.0f} letters",
        ),
        Line(
            f"{duties}: nothing new, against a second",
            median(idle) / MOST_S,
            1.0,
            ms(median(idle)),
        ),
    ]


@contextmanager
def _clinic(folder: Path) -> Iterator[Play]:
    url = str(folder / "reminded.sqlite3")
    store = Store.open(url)
    migrate(store)
    play = Play.begin(store, StoppedClock(), folder / "reminded", mail_to=("house@clinic.example",))
    for number, (role, first) in enumerate(
        (("nurse", True), ("manager", False), ("trainee", True))
    ):
        address = f"reader{number}@clinic.example"
        readers.keep(play.clinic, play.people[role], address, (), first=first)
    today = play.clock.now.date()
    due = {number * (THINGS * DUTIES_EACH // DUE) for number in range(DUE)}
    for start in range(0, THINGS, _TOGETHER):
        with acting(play.clinic, by=play.people["manager"]) as act:
            for thing in range(start, min(start + _TOGETHER, THINGS)):
                _thing(act, thing, due, today)
    try:
        yield play
    finally:
        store.dispose()


def _thing(act: Act, thing: int, due: set[int], today: date) -> None:
    tag = counters.take(act.store, "E")
    act.tell(facts.ItemAdded, item=tag, type="hook", arrival="factory-new")
    for one in range(DUTIES_EACH):
        number = thing * DUTIES_EACH + one
        day = today - timedelta(days=10) if number in due else today + timedelta(days=900)
        act.tell(facts.DutySet, item=tag, duty=f"check {one}", anchor=day, every_months=12)


@contextmanager
def _mailer() -> Iterator[Mailer]:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = int(free.getsockname()[1])
    controller = Controller(_Office(), hostname="127.0.0.1", port=port)  # type: ignore[arg-type]
    controller.start()
    try:
        yield Mailer(HostPort("127.0.0.1", port), "book@clinic.example", tls="none")
    finally:
        controller.stop()
