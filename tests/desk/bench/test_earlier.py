"""What is told late asks when it was and lands in its order; what was done since counts."""

from datetime import datetime, timedelta
from random import Random

import msgspec
import pytest

from equip import facts
from equip.desk.act.answer import Answer
from equip.desk.bench import scanning
from equip.desk.lookback import history
from equip.rules.bench.transitions import Context
from equip.rules.fitness.standing import Standing
from equip.store.fold.exposures import tallies
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.readings import item_rows, use_rows
from tests.desk.test_any_life import FreshPlay
from tests.support.playing import Play
from tests.support.stopped import NOON

ONE, TWO = "12345601", "12345602"


def says(answer: Answer) -> str:
    return " ".join(one.says for one in answer.reasons)


def stands(play: Play, item: str) -> Standing:
    found = item_rows.standing_of(play.clinic.store, item)
    assert found is not None
    return found


def in_hand(play: Play) -> Context:
    return scanning.sight(play.clinic, "bench 1", play.clock.now).context


def today(hour: int, minute: int = 0) -> datetime:
    return NOON.replace(hour=hour, minute=minute)


@pytest.fixture
def hook(play: Play) -> str:
    """A hook that was taken over at eight, at noon."""
    play.clock.now = today(8)
    hook = play.add("hook", "go-live")
    play.clock.now = today(12)
    return hook


# --- it asks when -----------------------------------------------------------------------------


def test_it_asks_when_and_takes_a_time_that_is_typed(play: Play, hook: str) -> None:
    asked = play.scan("earlier")
    answer = play.scan("9:40")

    assert (asked.word, asked.options) == ("When?", ("now", "earlier today"))
    assert answer.what == "What is told from here on happened at 09:40."
    assert answer.options == ("now",)
    assert in_hand(play).earlier == today(9, 40)


def test_earlier_today_asks_for_the_time_and_offers_some(play: Play, hook: str) -> None:
    play.clock.now = today(12, 3)

    asked = play.scan("earlier", "earlier today")
    play.scan(asked.options[1])

    assert asked.options == ("11:45", "11:30", "11:00", "10:00")
    assert in_hand(play).earlier == today(11, 30)


def test_just_after_midnight_no_time_of_yesterday_is_offered(play: Play) -> None:
    play.clock.now = NOON.replace(hour=0, minute=20)

    assert play.scan("earlier", "earlier today").options == ("00:05",)


def test_now_tells_nothing_late(play: Play, hook: str) -> None:
    play.scan("earlier", "now", ONE, hook)

    assert use_rows.touches_of(play.clinic.store, hook)[0].at == play.clock.now


@pytest.mark.parametrize("typed", ["23:10", "half past nine", "25:00", "9.75"])
def test_what_cannot_be_is_refused_with_what_to_do_and_asked_again(
    play: Play, hook: str, typed: str
) -> None:
    answer = play.scan("earlier", typed)

    assert answer.tone == ("no" if typed == "23:10" else "unread")
    assert "“now”" in answer.next
    assert in_hand(play).earlier is None
    play.scan("09:40")
    assert in_hand(play).earlier == today(9, 40)


def test_a_time_to_come_says_what_was_read_and_what_time_it_is(play: Play, hook: str) -> None:
    assert play.scan("earlier", "23:10").what == "23:10 is still to come: it is 12:00 now."


def test_a_patient_scanned_instead_of_a_time_is_a_patient(play: Play, hook: str) -> None:
    answer = play.scan("earlier", ONE)

    assert answer.word == "Patient"
    assert (in_hand(play).earlier, in_hand(play).asks) == (None, "")


# --- what is told is of that time -------------------------------------------------------------


def test_a_use_is_written_down_for_then_and_every_answer_says_so(play: Play, hook: str) -> None:
    play.scan("earlier", "09:40", ONE)
    answer = play.scan(hook)
    play.scan("finish")

    [touch] = use_rows.touches_of(play.clinic.store, hook)
    assert touch.at == today(9, 40)
    assert "Told as of 09:40. Say “now” to end that." in says(answer)
    assert "now" in answer.options
    use = use_rows.use_of(play.clinic.store, touch.use)
    assert use is not None and (use.at, use.finished) == (today(9, 40), today(9, 40))
    [line] = [one for one in history.page(play.clinic, hook).lines if one.kind == "used"]
    assert line.late
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_cleaning_that_was_done_since_counts(play: Play, hook: str) -> None:
    play.clock.now = today(10)
    play.scan("clean", hook)
    play.clock.now = today(12)

    answer = play.scan("start over", "earlier", "09:40", ONE, hook)

    its = stands(play, hook)
    assert answer.word == "Used"
    assert [one.steps for one in its.done] == [("clean",)]
    assert its.quarantines == ()


def test_a_use_after_the_cleaning_leaves_it_soiled(play: Play, hook: str) -> None:
    play.clock.now = today(9)
    play.scan("clean", hook)
    play.clock.now = today(12)

    play.scan("start over", "earlier", "09:40", ONE, hook)

    assert stands(play, hook).done == ()


def test_it_is_held_against_what_stood_then_and_not_against_what_stands_now(
    play: Play, hook: str
) -> None:
    play.clock.now = today(11)
    play.scan(ONE, hook)
    play.clock.now = today(12)

    play.scan("start over", "earlier", "09:40", TWO)
    early = play.scan(hook)
    play.scan("earlier", "11:30")
    late = play.scan(hook)

    assert early.word != "Used, not fit"
    assert late.tone == "no"


def test_a_step_may_be_told_late_and_lands_between(play: Play, hook: str) -> None:
    play.clock.now = today(9)
    play.scan(ONE, hook, "finish")
    play.clock.now = today(12)

    play.scan(
        "start over", "earlier", "10:00", "clean", hook, "earlier", "10:10", "inspect pass", hook
    )

    its = stands(play, hook)
    assert [(one.steps[0], one.at) for one in its.done] == [
        ("clean", today(10)),
        ("inspect", today(10, 10)),
    ]


def test_a_mark_may_be_told_late(play: Play, hook: str) -> None:
    play.scan("earlier", "09:40", ONE, hook, "dropped")

    [marked] = [
        entry.fact
        for entry in told_about(play.clinic.store, hook)
        if isinstance(entry.fact, facts.Marked)
    ]
    assert marked.at == today(9, 40)


def test_undo_happens_now_and_what_was_cleaned_since_stays_clean(play: Play, hook: str) -> None:
    play.clock.now = today(10)
    play.scan("clean", hook)
    play.clock.now = today(12)
    play.scan("start over", "earlier", "09:40", ONE, hook, "undo", "undo")

    [gone] = [
        entry.fact
        for entry in told_about(play.clinic.store, hook)
        if isinstance(entry.fact, facts.Withdrawn)
    ]
    assert gone.at == play.clock.now
    assert use_rows.touches_of(play.clinic.store, hook) == []
    assert [one.steps for one in stands(play, hook).done] == [("clean",)]


def test_a_use_that_began_later_is_not_the_one_that_is_told(play: Play, hook: str) -> None:
    play.clock.now = today(11)
    other = play.add("hook", "go-live")
    play.scan(ONE, other)

    play.scan("earlier", "09:40", hook)

    touches = [use_rows.touches_of(play.clinic.store, one)[0] for one in (hook, other)]
    assert touches[0].patient == touches[1].patient
    assert touches[0].use != touches[1].use


# --- until when -------------------------------------------------------------------------------


@pytest.mark.parametrize("ended_by", ["now", "start over"])
def test_it_holds_until_somebody_ends_it(play: Play, hook: str, ended_by: str) -> None:
    play.scan("earlier", "09:40", ended_by, ONE)

    answer = play.scan(hook)

    assert use_rows.touches_of(play.clinic.store, hook)[0].at == play.clock.now
    assert "Told as of" not in says(answer)


def test_it_ends_with_the_next_patient(play: Play, hook: str) -> None:
    play.scan("earlier", "09:40", ONE)
    assert in_hand(play).earlier == today(9, 40)

    play.scan(ONE)
    assert in_hand(play).earlier == today(9, 40)
    assert "Told as of" not in says(play.scan(TWO))
    assert in_hand(play).earlier is None


def test_it_ends_once_nobody_has_scanned_for_a_while(play: Play, hook: str) -> None:
    play.scan("earlier", "09:40")
    play.clock.passes(minutes=30)

    assert in_hand(play).earlier is None


def test_the_badge_is_scanned_now_whatever_is_told(play: Play, hook: str) -> None:
    play.scan("earlier", "09:40", play.people["trainee"])

    assert in_hand(play).badge_at == play.clock.now


# --- what is not told late --------------------------------------------------------------------


@pytest.mark.parametrize("word", ["pack", "store", "lay up", "check", "start a use", "I was hurt"])
def test_what_happens_when_it_is_told_is_refused(play: Play, hook: str, word: str) -> None:
    answer = play.scan("earlier", "09:40", word)

    assert (answer.tone, answer.next) == ("no", "Say “now” first.")


def test_nothing_is_asked_about_an_earlier_time(play: Play, hook: str) -> None:
    answer = play.scan("earlier", "09:40", hook)

    assert answer.what == "Nothing is asked about an earlier time."
    assert [type(e.fact) for e in told_about(play.clinic.store, hook)] == [facts.ItemAdded]


def test_a_bench_whose_clock_runs_behind_gets_no_yes_for_what_was_used_since(
    play: Play, hook: str
) -> None:
    play.scan(ONE, hook)

    order = scanning.Scan("slow-clock-1", "bench 2", hook, at=play.clock.now - timedelta(minutes=5))
    answer = scanning.scan(play.clinic, order, play.people["nurse"]).answer

    assert (answer.tone, play.codes(answer)) == ("no", ["soiled"])


def test_in_use_the_next_scan_is_told_and_not_asked_about(play: Play, hook: str) -> None:
    play.scan(ONE, "start a use", "earlier", "09:40")

    assert in_hand(play).mode == "tell"


def test_a_load_is_told_when_it_happens(play: Play, hook: str) -> None:
    play.clock.now = today(8)
    machine = play.add("steriliser-vacuum")
    play.clock.now = today(12)
    play.cleaned(hook)
    load = play.run(machine, play.packed(hook))

    play.scan("start over", "earlier", "12:10", ONE)

    assert play.scan(load).what == "A load is told when it happens."
    assert "runs loads" in play.scan(machine).what


def test_what_was_not_in_the_book_then_cannot_have_been_used(play: Play, hook: str) -> None:
    play.cleaned(hook)
    pack = play.packed(hook)

    answer = play.scan("start over", "earlier", "09:40", ONE, pack)

    assert "was not in this book yet at 09:40: it was sealed 12:00" in answer.what
    assert "type when it was" in answer.next
    assert use_rows.touches_of(play.clinic.store, hook) == []


def test_what_was_in_a_load_then_cannot_have_been_used(play: Play, hook: str) -> None:
    play.clock.now = today(9)
    machine = play.add("steriliser-vacuum")
    play.cleaned(hook)
    pack = play.packed(hook)
    play.released(machine, pack)
    play.clock.now = today(12)

    inside = play.scan("start over", "earlier", "09:10", ONE, hook)
    sealed = play.scan("earlier", "09:00", pack)

    assert "was in load" in inside.what
    assert sealed.tone == "no"
    assert use_rows.touches_of(play.clinic.store, hook) == []


def test_what_was_sealed_then_and_went_into_a_load_since_cannot_have_been_used(
    play: Play, hook: str
) -> None:
    play.clock.now = today(9)
    machine = play.add("steriliser-vacuum")
    play.cleaned(hook)
    pack = play.packed(hook)
    play.clock.now = today(10)
    play.released(machine, pack)
    play.clock.now = today(12)

    answers = [play.scan("start over", "earlier", "09:30", ONE, tag) for tag in (pack, hook)]

    assert all("lay in a sealed pack at 09:30 that went into load" in one.what for one in answers)


# --- the law ----------------------------------------------------------------------------------

Batch = tuple[int, tuple[str, ...]]
"""So many minutes after nine, and what is scanned then."""


def _day(random: Random, hooks: list[str]) -> list[Batch]:
    """Uses, steps and marks of a day, each at its own minute."""
    minutes = sorted(random.sample(range(0, 170, 2), random.randint(2, 9)))
    return [(minute, _batch(random, hooks)) for minute in minutes]


def _batch(random: Random, hooks: list[str]) -> tuple[str, ...]:
    some = random.sample(hooks, random.randint(1, 2))
    if random.random() < 0.5:
        more = random.choice([(), ("finish",), ("blood", "finish"), ("dropped",), ("left ear",)])
        return (random.choice(["12345601", "12345602", "12345603"]), *some, *more)
    return (random.choice(["wipe", "clean", "rinse", "dry", "inspect pass"]), *some)


def _told(play: Play, number: int, batch: Batch, *, late: bool) -> list[str]:
    """The words that come back. What is written down has the same names either way."""
    minute, words = batch
    clock = (today(9) + timedelta(minutes=minute)).strftime("%H:%M")
    play.reply("start over", seconds=0)
    for word in ("earlier", clock) if late else ():
        play.reply(word, seconds=0)
    replies = [
        play.reply(word, seconds=0, act=f"act-{number:03d}-{at}") for at, word in enumerate(words)
    ]
    return [_heard(play, reply.answer) for reply in replies]


def _heard(play: Play, answer: Answer) -> str:
    """The word and its reasons, but that they are told late."""
    reasons = [one.says for one in answer.reasons if not one.says.startswith("Told as of")]
    return " ".join([answer.word, *reasons])


def _lived(play: Play, random: Random, hooks: list[str], late: frozenset[int]) -> list[list[str]]:
    day = _day(random, hooks)
    heard: dict[int, list[str]] = {}
    for number, batch in enumerate(day):
        if number not in late:
            play.clock.now = today(9) + timedelta(minutes=batch[0])
            heard[number] = _told(play, number, batch, late=False)
    play.clock.now = today(12)
    order = sorted(late)
    Random(len(day)).shuffle(order)
    for number in order if len(late) < len(day) else sorted(late):
        heard[number] = _told(play, number, day[number], late=True)
    return [heard[number] for number in range(len(day))]


def _begun(play: Play) -> list[str]:
    play.clock.now = today(8)
    return [play.add("hook", "go-live") for _ in range(3)]


def _outcome(play: Play, hooks: list[str]) -> tuple[str, dict[str, int]]:
    """Where everything stands, each patient by the clinic's reference, and what is exposed."""
    told = msgspec.json.encode([stands(play, hook) for hook in hooks]).decode()
    for reference in ("12345601", "12345602", "12345603"):
        told = told.replace(play.clinic.vault.token(reference), reference)
    return told, tallies(play.clinic.store)


@pytest.mark.parametrize("seed", range(12))
def test_a_whole_day_told_late_stands_as_if_told_in_time(fresh_play: FreshPlay, seed: int) -> None:
    in_time, late = fresh_play(), fresh_play()
    hooks = _begun(in_time)
    assert _begun(late) == hooks
    told = len(_day(Random(seed), hooks))

    first = _lived(in_time, Random(seed), hooks, frozenset())
    second = _lived(late, Random(seed), hooks, frozenset(range(told)))

    assert first == second
    assert _outcome(in_time, hooks) == _outcome(late, hooks)
    assert differences(late.clinic.store, late.clinic.settings.data) == []


def test_some_acts_told_late_in_any_order_stand_as_if_told_in_time(fresh_play: FreshPlay) -> None:
    """Where each act is answered alike either way: a decision that was made is not made again."""
    alike = 0
    for seed in range(40):
        in_time, late = fresh_play(), fresh_play()
        hooks = _begun(in_time)
        assert _begun(late) == hooks
        day = _day(Random(seed), hooks)
        chosen = frozenset(Random(seed).sample(range(len(day)), len(day) // 2))

        first = _lived(in_time, Random(seed), hooks, frozenset())
        second = _lived(late, Random(seed), hooks, chosen)

        assert differences(late.clinic.store, late.clinic.settings.data) == []
        if first == second:
            alike += 1
            assert _outcome(in_time, hooks) == _outcome(late, hooks), seed
    assert alike >= 8
