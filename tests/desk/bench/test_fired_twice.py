"""A scanner that fires twice: told as one scan; what counts each time is never taken for it."""

from uuid import uuid4

from equip.desk.bench import scanning
from equip.store.readings import use_rows
from tests.support.playing import Play

ONE = "12345601"


def sent(play: Play, text: str, repeats: str | None, seconds: float = 0.1) -> scanning.Reply:
    play.clock.passes(seconds=seconds)
    order = scanning.Scan(str(uuid4()), "bench 1", text, repeats=repeats)
    return scanning.scan(play.clinic, order, play.people["nurse"])


def test_it_is_told_as_the_same_scan_and_not_as_done(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan(ONE, hook)

    again = play.reply(hook, seconds=0.4)

    assert (again.answer.tone, again.answer.word) == ("note", "Same scan")
    assert again.answer.reasons[0].says == "Counted once: Used."
    assert not again.answer.kept
    assert play.reply(hook, seconds=0.4).answer == again.answer
    assert len(use_rows.touches_of(play.clinic.store, hook)) == 1


def test_a_no_stays_a_no(play: Play) -> None:
    hook = play.add("hook")
    first = play.scan(hook)

    again = play.reply(hook, seconds=0.4).answer

    assert (again.tone, again.word) == (first.tone, first.word)
    assert again.reasons[-1].says == "Same scan, counted once."


def test_the_device_says_which_scan_was_fired_twice(play: Play) -> None:
    """Scans that waited for the network arrive at once: the server's clock cannot tell."""
    hook = play.add("hook")
    play.scan("clean")
    first = sent(play, hook, "")

    assert sent(play, hook, first.act).answer.word == "Same scan"
    assert sent(play, hook, "").answer.word != "Same scan"
    assert sent(play, hook, "another-scan").answer.word != "Same scan"


def test_pieces_that_are_counted_count_each_time(play: Play) -> None:
    kind = next(one for one in play.clinic.house.types.values() if one.card)
    play.scan("pack")

    for _ in range(4):
        context = play.reply(kind.card, seconds=0.2).context

    assert [loose.count for loose in context.loose] == [4]


def test_undo_is_never_taken_for_a_bounce(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan(ONE, hook)
    play.reply("undo")

    assert play.reply("undo", seconds=0.2).answer.word == "Undo?"
    assert play.reply("undo").answer.word == "Taken back"
