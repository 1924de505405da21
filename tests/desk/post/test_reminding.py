"""Mail that leaves the house once, through a real server."""

import re
import socket
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from equip.deliver.post.mail import Mailer
from equip.desk.act.act import Refused, acting
from equip.desk.act.links import Links
from equip.desk.machines import sheets
from equip.desk.post import readers, send, timings
from equip.desk.post import tick as reminding
from equip.desk.upkeep import duty_acts
from equip.scan import show_tag
from equip.settings.values import HostPort
from equip.store.database import Store
from equip.store.fold.rebuild import differences
from equip.store.ledger import ledger, verifying
from equip.store.post import agenda, recipients
from tests.support.playing import Play
from tests.support.post_office import PostOffice
from tests.support.stopped import StoppedClock

NURSE, MANAGER = "nurse@clinic.example", "manager@clinic.example"


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
        duty_acts.set_duty(act, pump, "service", date(2026, 3, 1), every_months=12, grounds=True)

    sent = [tick(play, mailer, tmp_path) for _ in range(3)]
    play.clock.passes(days=1)
    sent.append(tick(play, mailer, tmp_path))

    head = ledger.heads(play.clinic.store)["TEST"]
    text = office.taken[0].get_content()
    assert sent == [2, 0, 0, 1]  # the digest, and at once what may not be used
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


@pytest.mark.parametrize(
    ("night", "left"),
    [
        (datetime(2026, 3, 29, tzinfo=UTC), "01:30"),  # 01:30 is left out that night
        (datetime(2026, 10, 25, tzinfo=UTC), "00:30"),  # and comes twice that night
    ],
)
def test_the_digest_leaves_once_on_the_nights_the_clocks_change(
    store: Store,
    clock: StoppedClock,
    mailer: Mailer,
    office: PostOffice,
    tmp_path: Path,
    night: datetime,
    left: str,
) -> None:
    play = Play.begin(
        store, clock, tmp_path / "house", mail_to=("mo@clinic.example",), digest_at="01:30"
    )
    play.clock.now = night - timedelta(hours=3)
    tick(play, mailer, tmp_path)  # that of the day before
    sent = {}
    for _ in range(36):
        if tick(play, mailer, tmp_path):
            sent[f"{play.clock.now:%d %H:%M}"] = len(office.taken)
        play.clock.passes(minutes=15)

    assert sent == {f"{night:%d} {left}": 2}


def test_an_unfit_use_is_told_to_the_manager_at_once(
    play: Play, mailer: Mailer, office: PostOffice, tmp_path: Path
) -> None:
    tick(play, mailer, tmp_path)
    play.scan("123456", play.add("hook"))

    tick(play, mailer, tmp_path)

    told = sorted(message.get_content() for message in office.taken[-2:])
    assert "Fewer uses can be traced: 0 of 1" in told[0]
    assert "used although it was not fit" in told[1]
    assert "123456" not in "".join(message.as_string() for message in office.taken)


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
    tick(play, mailer, tmp_path)
    play.scan("123456", play.add("hook"))
    reminding.plan(play.clinic, play.clock.now)
    agenda.claim(
        play.clinic.store, play.clock.now, lease=timedelta(minutes=10), holder="gone", limit=9
    )

    held = tick(play, mailer, tmp_path)
    play.clock.passes(minutes=11)
    back = tick(play, mailer, tmp_path)

    assert (held, back) == (0, 2)  # that it was unfit, and that nothing known stands before it


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


# --- people -----------------------------------------------------------------------------------

LINKS = Links("https://book.clinic.example", b"secret of the tests")


@pytest.fixture
def people(store: Store, clock: StoppedClock, tmp_path: Path) -> Play:
    """A clinic without an address of its own: the nurse is told first, the manager when late."""
    play = Play.begin(store, clock, tmp_path / "house")
    readers.keep(play.clinic, play.people["nurse"], NURSE, (), first=True)
    readers.keep(play.clinic, play.people["manager"], MANAGER, (), first=False)
    return play


def beat(play: Play, mailer: Mailer, **span: float) -> int:
    play.clock.passes(**span)
    return reminding.tick(play.clinic, mailer, lambda now: None, LINKS)


def duty(play: Play, on: date, *, grounds: bool = False, name: str = "service") -> str:
    pump = play.add("suction-pump")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, pump, name, on, every_months=12, grounds=grounds)
    return pump


def got(office: PostOffice) -> list[tuple[str, str]]:
    """Whom each letter went to, and its subject after the clinic's name."""
    return [(one["To"], one["Subject"].partition(": ")[2]) for one in office.taken]


def test_a_duty_is_told_ahead_on_its_day_once_over_and_then_to_who_is_told_late(
    people: Play, mailer: Mailer, office: PostOffice
) -> None:
    duty(people, date(2026, 3, 18))  # in 14 days, a Wednesday
    told = {}
    for _ in range(30):
        before = len(office.taken)
        beat(people, mailer)
        beat(people, mailer, minutes=1)
        told[people.clock.now.date()] = [to for to, _ in got(office)[before:]]
        people.clock.passes(days=1)

    assert {day.isoformat(): to for day, to in told.items() if to} == {
        "2026-03-04": [NURSE],  # fourteen days ahead
        "2026-03-18": [NURSE],  # its day
        "2026-03-19": [NURSE],  # a day over
        "2026-03-25": [MANAGER],  # a week over
        "2026-03-26": [NURSE],  # again after a week
        "2026-04-01": [MANAGER],
        "2026-04-02": [NURSE],
    }


def test_one_digest_a_day_has_all_that_is_new_and_its_text_says_which(
    people: Play, mailer: Mailer, office: PostOffice
) -> None:
    first = duty(people, date(2026, 3, 1))
    beat(people, mailer)
    second = duty(people, date(2026, 3, 6), name="filter")
    same_day = beat(people, mailer, hours=1)
    next_day = beat(people, mailer, hours=20)

    assert (same_day, next_day) == (0, 1)
    text = office.taken[-1].get_content()
    new, _, still = text.partition("Still overdue")
    assert show_tag(second) in new and show_tag(first) not in new
    assert show_tag(first) in still


def test_a_week_of_downtime_gives_each_reminder_once_and_not_seven_letters(
    people: Play, mailer: Mailer, office: PostOffice
) -> None:
    duty(people, date(2026, 3, 6))
    duty(people, date(2026, 3, 9), name="filter")

    sent = [beat(people, mailer, days=7), beat(people, mailer), beat(people, mailer, hours=1)]

    assert sent == [1, 0, 0]
    assert got(office) == [(NURSE, "2 overdue")]


@pytest.mark.parametrize(
    ("now", "why"),
    [
        ("2026-03-07T12:00", "a Saturday"),
        ("2026-04-03T12:00", "Good Friday"),
        ("2026-03-04T06:59", "before the quiet hours end"),
        ("2026-03-04T20:00", "after they began"),
    ],
)
def test_no_reminder_leaves_at_a_quiet_hour_or_on_a_day_off(
    people: Play, mailer: Mailer, now: str, why: str
) -> None:
    zone = people.clinic.house.zone
    people.clock.now = datetime.fromisoformat(now).replace(tzinfo=zone).astimezone(UTC)
    duty(people, people.clock.now.date() - timedelta(days=1), grounds=True)

    assert beat(people, mailer) == 0, why


def test_what_stops_is_told_at_once_on_the_last_working_day_and_when_it_is_over(
    people: Play, mailer: Mailer, office: PostOffice
) -> None:
    people.clock.now = datetime(2026, 3, 6, 7, 10, tzinfo=UTC)  # a Friday, before the digest
    duty(people, date(2026, 3, 7), grounds=True)

    friday = beat(people, mailer)
    monday = beat(people, mailer, days=3)
    again = beat(people, mailer, minutes=5)

    assert (friday, monday, again) == (2, 2, 0)
    assert got(office)[0] == (MANAGER, "1 about to be stopped") or got(office)[0][0] == NURSE
    assert sorted(got(office)[2:]) == [
        (MANAGER, "1 may not be used"),
        (NURSE, "1 may not be used"),
    ]


def test_whoever_stopped_reminders_is_told_what_stops_and_why_all_the_same(
    people: Play, mailer: Mailer, office: PostOffice
) -> None:
    recipients.stop(people.clinic.store, people.people["nurse"], people.clock.now)
    duty(people, date(2026, 3, 1))
    duty(people, date(2026, 3, 2), grounds=True)

    beat(people, mailer)
    beat(people, mailer, days=1)

    mine = [one for one in office.taken if one["To"] == NURSE]
    assert [one["Subject"].partition(": ")[2] for one in mine] == ["1 may not be used"]
    assert "although reminders were stopped" in " ".join(mine[0].get_content().split())
    assert mine[0]["List-Unsubscribe"] is None


def test_a_digest_carries_the_button_of_mail_programs_and_the_link(
    people: Play, mailer: Mailer, office: PostOffice
) -> None:
    duty(people, date(2026, 3, 1))
    beat(people, mailer)

    link = LINKS.stop(people.people["nurse"], NURSE)
    assert office.taken[0]["List-Unsubscribe"].strip() == f"<{link}>"
    assert office.taken[0]["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert link in office.taken[0].get_content().replace("=\n", "")


def test_a_person_is_told_of_the_sites_they_answer_for_alone(
    people: Play, mailer: Mailer, office: PostOffice
) -> None:
    duty(people, date(2026, 3, 1))
    elsewhere = recipients.Recipient(people.people["nurse"], NURSE, ("OTHER",))
    recipients.keep(people.clinic.store, elsewhere)

    assert beat(people, mailer) == 0


def test_an_alert_at_night_goes_to_managers_at_once_even_if_they_stopped_reminders(
    people: Play, mailer: Mailer, office: PostOffice
) -> None:
    recipients.stop(people.clinic.store, people.people["manager"], people.clock.now)
    people.clock.passes(hours=10)
    people.scan("123456", people.add("hook"))

    assert beat(people, mailer) == 2  # unfit, and fewer uses traceable
    assert [letter["To"] for letter in office.taken] == [MANAGER, MANAGER]


def test_an_alert_waits_until_there_is_somebody_to_tell(
    store: Store, clock: StoppedClock, tmp_path: Path, mailer: Mailer
) -> None:
    play = Play.begin(store, clock, tmp_path / "house")
    play.scan("123456", play.add("hook"))
    nobody = beat(play, mailer)
    readers.keep(play.clinic, play.people["manager"], MANAGER, (), first=True)

    assert (nobody, beat(play, mailer)) == (0, 2)  # unfit, and fewer uses traceable


def test_a_duty_has_days_of_its_own_where_the_clinic_decided_so(
    people: Play, mailer: Mailer, office: PostOffice
) -> None:
    pump = duty(people, date(2026, 4, 1))  # in 28 days, farther than the rule
    before = beat(people, mailer)
    with acting(people.clinic, by=people.people["manager"]) as act:
        timings.set_timing(act, pump, "service", 30, 2)
    next_day = beat(people, mailer, days=1)
    people.clock.now = datetime(2026, 4, 7, 12, 0, tzinfo=UTC)  # after Easter Monday
    late = beat(people, mailer)

    assert (before, next_day, late) == (0, 1, 2)
    assert sorted(to for to, _ in got(office)) == [MANAGER, NURSE, NURSE]
    assert differences(people.clinic.store, people.clinic.settings.data) == []


@pytest.mark.parametrize(
    ("name", "lead", "late", "says"),
    [("dusting", 1, 1, "no duty"), ("service", 9999, 1, "at most"), ("service", 1, 0, "one day")],
)
def test_days_that_make_no_sense_are_refused_with_a_sentence(
    people: Play, name: str, lead: int, late: int, says: str
) -> None:
    pump = duty(people, date(2026, 4, 1))

    with pytest.raises(Refused, match=says), acting(people.clinic, by="") as act:
        timings.set_timing(act, pump, name, lead, late)


# --- mail servers that misbehave -----------------------------------------------------------------


def test_an_address_that_is_refused_is_shown_and_keeps_nobody_else_from_their_letter(
    people: Play, mailer: Mailer, office: PostOffice
) -> None:
    office.refused = {NURSE: "550 no such mailbox"}
    people.scan("123456", people.add("hook"))
    duty(people, date(2026, 3, 1))

    assert beat(people, mailer) == 2  # both to the manager: unfit, fewer uses traceable
    [stuck] = agenda.stuck(people.clinic.store)
    assert (stuck.address, "550 no such mailbox" in stuck.error) == (NURSE, True)
    assert beat(people, mailer, days=2) == 0

    readers.keep(people.clinic, people.people["nurse"], "nell@clinic.example", (), first=True)
    send.again(people.clinic, stuck.key, people.clock.now)
    assert beat(people, mailer) == 1
    assert office.taken[-1]["To"] == "nell@clinic.example"


def test_a_server_that_hangs_ends_the_round_and_says_so(people: Play) -> None:
    with socket.create_server(("127.0.0.1", 0)) as silent:
        mail = Mailer(
            HostPort("127.0.0.1", silent.getsockname()[1]),
            "book@clinic.example",
            tls="none",
            timeout=0.2,
        )
        duty(people, date(2026, 2, 1))

        assert beat(people, mail) == 0

    waiting = agenda.waiting(people.clinic.store)
    assert sorted(one.tries for one in waiting) == [0, 1]
    assert "timed out" in next(one.error for one in waiting if one.error)


def test_a_letter_is_given_up_after_days_and_the_outbox_says_what_was_tried(people: Play) -> None:
    with socket.create_server(("127.0.0.1", 0)) as gone:
        port = gone.getsockname()[1]
    mail = Mailer(HostPort("127.0.0.1", port), "book@clinic.example", tls="none")
    recipients.forget(people.clinic.store, people.people["manager"])
    duty(people, date(2026, 3, 1))
    for _ in range(60):
        beat(people, mail, hours=4)

    stuck = agenda.stuck(people.clinic.store)[-1]
    assert stuck.error.startswith("Tried for 5 days.")
    assert "cannot be reached" in stuck.error


def test_a_server_that_takes_the_letter_and_breaks_off_gets_it_again_under_the_same_id(
    people: Play, mailer: Mailer, office: PostOffice
) -> None:
    recipients.forget(people.clinic.store, people.people["manager"])
    duty(people, date(2026, 3, 1))
    office.breaks_off = True
    first = beat(people, mailer)
    [waits] = agenda.waiting(people.clinic.store)
    office.breaks_off = False

    second = beat(people, mailer, minutes=2)

    assert (first, second) == (0, 1)
    assert "It may have arrived" in waits.error
    one, other = office.taken
    assert one["Message-ID"] == other["Message-ID"]


def test_a_beat_is_written_down_and_so_is_one_that_fails(people: Play) -> None:
    def breaks() -> int:
        raise RuntimeError("the mail cupboard is locked")

    with pytest.raises(RuntimeError):
        reminding.beat(people.clinic, breaks)
    people.clock.passes(minutes=1)
    reminding.beat(people.clinic, lambda: 3)

    [last] = recipients.beats(people.clinic.store)
    assert (last.at, last.sent) == (people.clock.now, 3)
    assert last.error == "RuntimeError: the mail cupboard is locked"
    assert last.error_at == people.clock.now - timedelta(minutes=1)
