"""Mail that leaves the house once, through a real server."""

import re
import socket
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from pathlib import Path
from typing import Any

import pytest
from aiosmtpd.controller import Controller

from equip.deliver.mail import Mailer
from equip.desk import reminding, sheets, upkeep
from equip.desk.acting import acting
from equip.setting_values import HostPort
from equip.store import agenda, ledger, verifying
from equip.store.database import Store
from tests.playing import Play
from tests.stopped import StoppedClock


@dataclass
class PostOffice:
    """Keeps what it takes; answers DATA as it was told to."""

    answer: str = "250 OK"
    taken: list[EmailMessage] = field(default_factory=list)

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        if self.answer.startswith("250"):
            message = message_from_bytes(envelope.content, policy=default)
            assert isinstance(message, EmailMessage)
            self.taken.append(message)
        return self.answer


@pytest.fixture
def office() -> Iterator[PostOffice]:
    yield PostOffice()


@pytest.fixture
def mailer(office: PostOffice) -> Iterator[Mailer]:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = int(free.getsockname()[1])
    controller = Controller(office, hostname="127.0.0.1", port=port)
    controller.start()
    yield Mailer(HostPort("127.0.0.1", port), "book@clinic.example", tls="none")
    controller.stop()


@pytest.fixture
def play(store: Store, clock: StoppedClock, tmp_path: Path) -> Play:
    return Play.begin(store, clock, tmp_path / "house", mail_to=("manager@clinic.example",))


def tick(play: Play, mailer: Mailer, tmp_path: Path) -> int:
    heads = tmp_path / "heads.txt"
    return reminding.tick(
        play.clinic,
        mailer,
        lambda now: verifying.write_heads(heads, ledger.heads(play.clinic.store), now),
    )


def test_one_digest_a_day_leaves_with_what_is_due_and_the_newest_seal(
    play: Play, mailer: Mailer, office: PostOffice, tmp_path: Path
) -> None:
    pump = play.add("suction-pump")
    with acting(play.clinic, by=play.people["manager"]) as act:
        upkeep.set_duty(act, pump, "service", date(2026, 3, 1), every_months=12, grounds=True)

    sent = [tick(play, mailer, tmp_path) for _ in range(3)]
    play.clock.passes(days=1)
    sent.append(tick(play, mailer, tmp_path))

    head = ledger.heads(play.clinic.store)["TEST"]
    text = office.taken[0].get_content()
    assert sent == [1, 0, 0, 1]
    assert "service" in text.lower()
    assert head.seal.hex() in re.sub(r"\s", "", text)
    assert verifying.read_heads(tmp_path / "heads.txt")[-1].position == head.position


def test_no_digest_leaves_before_its_hour(
    play: Play, mailer: Mailer, office: PostOffice, tmp_path: Path
) -> None:
    play.clock.now = play.clock.now.replace(hour=7, minute=29)

    assert tick(play, mailer, tmp_path) == 0
    play.clock.passes(minutes=1)
    assert tick(play, mailer, tmp_path) == 1


def test_an_unfit_use_is_told_to_the_manager_at_once(
    play: Play, mailer: Mailer, office: PostOffice, tmp_path: Path
) -> None:
    tick(play, mailer, tmp_path)
    play.scan("123456", play.add("hook"))

    tick(play, mailer, tmp_path)

    assert "used although it was not fit" in office.taken[-1].get_content()
    assert "123456" not in office.taken[-1].as_string()


def test_a_server_that_puts_off_is_tried_again_later_and_the_mail_leaves_once(
    play: Play, mailer: Mailer, office: PostOffice, tmp_path: Path
) -> None:
    office.answer = "451 come back later"
    first = tick(play, mailer, tmp_path)
    waiting = agenda.waiting(play.clinic.store)
    office.answer = "250 OK"

    too_soon = tick(play, mailer, tmp_path)
    play.clock.passes(minutes=10)
    later = tick(play, mailer, tmp_path)

    assert (first, too_soon, later) == (0, 0, 1)
    assert "come back later" in waiting[0].error
    assert len(office.taken) == 1


def test_a_week_without_a_beat_sends_todays_digest_and_no_old_ones(
    play: Play, mailer: Mailer, office: PostOffice, tmp_path: Path
) -> None:
    tick(play, mailer, tmp_path)
    play.clock.passes(days=7)

    sent = tick(play, mailer, tmp_path)

    assert sent == 1
    assert len(office.taken) == 2


def test_a_crash_after_the_claim_brings_the_mail_back_after_its_lease(
    play: Play, mailer: Mailer, office: PostOffice, tmp_path: Path
) -> None:
    play.scan("123456", play.add("hook"))
    agenda.claim(
        play.clinic.store, play.clock.now, lease=timedelta(minutes=5), holder="gone", limit=9
    )

    held = tick(play, mailer, tmp_path)
    play.clock.passes(minutes=6)
    back = tick(play, mailer, tmp_path)

    assert held == 1  # the digest, which nobody had claimed
    assert back == 1


def test_a_machine_that_drifts_is_named_in_the_digest_before_a_limit_is_broken(
    play: Play, mailer: Mailer, office: PostOffice, tmp_path: Path
) -> None:
    steriliser = play.add("steriliser-vacuum")
    for end in ["5.2", "5.3"] * 8 + ["5.4", "5.5", "5.4", "5.5", "5.5"]:
        given = {"start_kpa": "5.0", "end_kpa": end, "settle_s": "300", "timed_s": "600"}
        with acting(play.clinic, by=play.people["nurse"]) as act:
            assert sheets.record(act, steriliser, "leak-rate", given=given) == "pass"
        play.clock.passes(days=7)

    tick(play, mailer, tmp_path)

    assert "Leak rate (leak rate test) drifts away" in " ".join(
        office.taken[0].get_content().split()
    )
