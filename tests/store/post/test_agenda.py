"""What is to leave the house leaves it once, whoever wakes up to send it and whenever."""

import json
import shutil
import subprocess
import sys
import threading
from collections import Counter
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from playhouse.migrations import Runner

from equip.store.database import Store, migrate
from equip.store.post import agenda, letters
from equip.store.post.agenda import Job
from tests.support.stopped import NOON

ROOT = Path(__file__).parents[3]
LEASE = timedelta(minutes=5)


def put(store: Store, key: str = "a", due: datetime = NOON, payload: str = "text") -> None:
    with store.writing():
        agenda.put_letter(store, letter(key, payload), due)


def letter(key: str, payload: str = "text") -> Job:
    return Job(key, "alert", payload, 0, address="mo@clinic.example", subject="Told")


def claim(store: Store, now: datetime = NOON, holder: str = "me", limit: int = 20) -> list[Job]:
    return agenda.claim(store, now, lease=LEASE, holder=holder, limit=limit)


def keys(jobs: list[Job]) -> list[str]:
    return [job.key for job in jobs]


def test_what_is_due_is_claimed_with_all_that_is_needed_to_send_it(store: Store) -> None:
    put(store, payload="The 134 °C load failed.")

    [job] = claim(store)

    assert job == replace(letter("a", "The 134 °C load failed."), tries=1)


@pytest.mark.parametrize(("ahead", "claimed"), [(-1, ["a"]), (0, ["a"]), (1, [])])
def test_nothing_is_claimed_before_it_is_due(store: Store, ahead: int, claimed: list[str]) -> None:
    put(store, due=NOON + timedelta(microseconds=ahead))

    assert keys(claim(store)) == claimed


def test_the_same_key_again_is_the_same_thing(store: Store) -> None:
    put(store, payload="first")
    put(store, due=NOON - timedelta(days=1), payload="second")

    assert agenda.exists(store, "a")
    assert not agenda.exists(store, "b")
    assert [job.payload for job in claim(store)] == ["first"]


def test_what_one_holds_nobody_else_gets(store: Store) -> None:
    put(store)

    assert keys(claim(store, holder="one")) == ["a"]
    assert claim(store, holder="two") == []
    assert claim(store, holder="one") == []


def test_what_is_done_never_comes_back(store: Store) -> None:
    put(store)
    claim(store)

    agenda.done(store, "a", NOON)

    assert claim(store, NOON + timedelta(days=9)) == []
    assert agenda.waiting(store) == []
    assert agenda.exists(store, "a")


def test_what_was_claimed_by_somebody_who_fell_over_comes_back_after_the_lease(
    store: Store,
) -> None:
    put(store)
    claim(store, holder="one")

    too_early = claim(store, NOON + LEASE - timedelta(microseconds=1), holder="two")
    [job] = claim(store, NOON + LEASE, holder="two")

    assert too_early == []
    assert job.tries == 2


def test_what_failed_is_tried_again_when_it_was_put_off_to(store: Store) -> None:
    put(store)
    claim(store)
    later = NOON + timedelta(minutes=1)

    agenda.failed(store, "a", NOON, "The mail server said 451.", later)

    [waits] = agenda.waiting(store)
    assert (waits.due, waits.tries, waits.error) == (later, 1, "The mail server said 451.")
    assert claim(store, later - timedelta(seconds=1)) == []
    assert keys(claim(store, later)) == ["a"]


def test_the_soonest_are_claimed_first_and_no_more_than_asked(store: Store) -> None:
    for number in (3, 1, 2):
        put(store, f"job {number}", NOON - timedelta(hours=number))

    assert keys(claim(store, limit=2)) == ["job 3", "job 2"]
    assert keys(claim(store, limit=2)) == ["job 1"]


def test_what_waits_is_listed_soonest_first_claimed_or_not(store: Store) -> None:
    for number in (1, 2, 3):
        put(store, f"job {number}", NOON + timedelta(hours=number))
    claim(store, NOON + timedelta(hours=1))

    waiting = agenda.waiting(store, most=2)

    assert [(one.key, one.tries) for one in waiting] == [("job 1", 1), ("job 2", 0)]


def test_an_act_that_fails_puts_nothing_on_the_agenda(store: Store) -> None:
    with pytest.raises(ZeroDivisionError), store.writing():
        agenda.put(store, "a", NOON, "alert", "text")
        _ = 1 / 0

    assert not agenda.exists(store, "a")


def test_what_was_given_up_is_tried_again_only_by_hand_and_only_if_nobody_is_sending_it(
    store: Store,
) -> None:
    put(store)
    claim(store)
    assert not letters.again(store, "a", NOON, "mo@clinic.example")
    agenda.given_up(store, "a", NOON, "550 no such mailbox")

    never = claim(store, NOON + timedelta(days=9))
    tried = letters.again(store, "a", NOON, "mo.reed@clinic.example")
    [job] = claim(store)

    assert (never, tried) == ([], True)
    assert (job.address, job.tries) == ("mo.reed@clinic.example", 1)
    agenda.done(store, "a", NOON)
    assert not letters.again(store, "a", NOON + timedelta(days=1), "mo@clinic.example")
    assert [one.key for one in agenda.left(store)] == ["a"]


def test_an_event_is_never_sent_itself_and_is_written_about_once(store: Store) -> None:
    with store.writing():
        agenda.put(store, "event", NOON, "alert", "It was used although it was not fit.")

    assert claim(store) == []
    assert [one.key for one in agenda.events(store)] == ["event"]
    with store.writing():
        assert agenda.written_about(store, "event", NOON)
        assert not agenda.written_about(store, "event", NOON)
    assert agenda.events(store) == []


def test_what_waited_before_there_were_letters_is_written_about_but_for_old_digests(
    empty_url: str, tmp_path: Path
) -> None:
    before = tmp_path / "migrations"
    before.mkdir()
    for path in sorted((ROOT / "equip/store/migrations").glob("0*.py")):
        if path.name < "0017":
            shutil.copy(path, before)
    old = Store.open(empty_url)
    old.connect()
    Runner(old.db, str(before)).up()
    with old.writing():
        for key, what in (("alert:1", "alert"), ("digest:HOME:2026-01-01", "digest")):
            old.run(
                "INSERT INTO agenda (key, due, what, payload, tries, claimed_until, claimed_by,"
                " error) VALUES (?, 1, ?, 'text', 3, 0, 'x', '451')",
                key,
                what,
            )

    migrate(old)

    assert [job.key for job in agenda.events(old)] == ["alert:1"]
    assert [one.key for one in agenda.waiting(old)] == ["alert:1"]
    old.dispose()


# --- many hands -----------------------------------------------------------------------------


def _two_hundred(store: Store) -> set[str]:
    names = [f"job {number:03d}" for number in range(200)]
    with store.writing():
        for name in names:
            agenda.put_letter(store, letter(name), NOON)
    return set(names)


def test_four_threads_over_two_hundred_things_claim_each_exactly_once(
    store: Store, database_url: str
) -> None:
    wanted = _two_hundred(store)
    claimed: Counter[str] = Counter()
    failed: list[BaseException] = []

    def work(number: int) -> None:
        mine = Store.open(database_url)
        mine.connect()
        try:
            while jobs := claim(mine, holder=f"thread {number}", limit=7):
                claimed.update(keys(jobs))
        except BaseException as problem:
            failed.append(problem)
        finally:
            mine.dispose()

    threads = [threading.Thread(target=work, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert failed == []
    # A hand may find all its candidates taken and stop; what it leaves the others get.
    claimed.update(keys(claim(store, holder="the last", limit=200)))
    assert set(claimed) == wanted
    assert set(claimed.values()) == {1}


_WORK = """
import json, sys
from datetime import datetime, timedelta
from equip.store.post import agenda, letters
from equip.store.database import Store

store = Store.open(sys.argv[1])
store.connect()
now = datetime.fromisoformat(sys.argv[2])
sys.stdin.readline()
claimed = []
while jobs := agenda.claim(
    store, now, lease=timedelta(minutes=5), holder=f"process {sys.argv[3]}", limit=7
):
    claimed += [job.key for job in jobs]
print(json.dumps(claimed))
store.dispose()
"""


def test_two_processes_over_two_hundred_things_claim_each_exactly_once(
    store: Store, database_url: str
) -> None:
    wanted = _two_hundred(store)
    workers = [
        subprocess.Popen(
            [sys.executable, "-c", _WORK, database_url, NOON.isoformat(), str(number)],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for number in range(2)
    ]

    claimed: Counter[str] = Counter()
    for worker in workers:
        assert worker.stdin is not None
        worker.stdin.write("go\n")
        worker.stdin.flush()
    for worker in workers:
        claimed.update(json.loads(worker.communicate(timeout=60)[0]))
    claimed.update(keys(claim(store, holder="the last", limit=200)))

    assert set(claimed) == wanted
    assert set(claimed.values()) == {1}
