"""Undo names what, on whom and when before it does it, and walks back as far as it is told."""

import re

import pytest

from equip import facts
from equip.desk.act.answer import Answer
from equip.desk.bench import scanning
from equip.rules.bench.transitions import Context
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.readings import item_rows, load_rows, use_rows
from tests.support.playing import Play

ONE, TWO = "12345601", "12345602"


def says(answer: Answer) -> str:
    return " ".join(one.says for one in answer.reasons)


def taken_back(play: Play, about: str) -> int:
    told = told_about(play.clinic.store, about)
    return sum(isinstance(entry.fact, facts.Withdrawn) for entry in told)


def in_hand(play: Play, at: str = "bench 1") -> Context:
    return scanning.sight(play.clinic, at, play.clock.now).context


def met(play: Play, tag: str) -> list[str]:
    """Whom an item was used on, by the clinic's reference."""
    touched = use_rows.touches_of(play.clinic.store, tag)
    return [play.clinic.vault.reveal(one.patient) for one in touched]


@pytest.fixture
def hooks(play: Play) -> list[str]:
    return [play.add("hook", "go-live") for _ in range(3)]


# --- it is named first ------------------------------------------------------------------------


def test_the_first_undo_names_what_whom_when_and_who_and_does_nothing(
    play: Play, hooks: list[str]
) -> None:
    play.scan("start over", ONE, hooks[0])
    token = str(play.clinic.vault.find(ONE))

    answer = play.scan("undo")

    assert (answer.tone, answer.word, answer.patient) == ("note", "Undo?", token)
    assert re.fullmatch(rf"\d\d:\d\d, Nell Ash: Used on patient {token}: Hook .*\.", answer.what)
    assert answer.options == ("take it back",)
    assert "Say “undo” again" in answer.next
    assert ONE not in repr(answer)
    assert taken_back(play, hooks[0]) == 0
    assert met(play, hooks[0]) == [ONE]


@pytest.mark.parametrize("confirmed", ["undo", "take it back"])
def test_said_again_or_tapped_it_is_done(play: Play, hooks: list[str], confirmed: str) -> None:
    play.scan("start over", ONE, hooks[0], "undo")

    answer = play.scan(confirmed)

    assert (answer.word, taken_back(play, hooks[0])) == ("Taken back", 1)
    assert met(play, hooks[0]) == []
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_to_take_it_back_is_no_answer_before_it_was_named(play: Play, hooks: list[str]) -> None:
    play.scan("start over", ONE, hooks[0])

    assert play.scan("take it back").tone == "no"
    assert taken_back(play, hooks[0]) == 0


@pytest.mark.parametrize(
    "between",
    [
        "left ear",
        "a word of no meaning",
        "E 0000 0001 X",
        "E00000099",
        ONE,
        "the hook",
        "the badge",
    ],
)
def test_whatever_else_is_said_leaves_it_as_it_is(
    play: Play, hooks: list[str], between: str
) -> None:
    play.scan("start over", ONE, hooks[0], "undo")
    text = {"the hook": hooks[1], "the badge": play.people["manager"]}.get(between, between)

    play.scan(text)

    assert play.scan("undo", who="manager").word == "Undo?"
    assert taken_back(play, hooks[0]) == 0


def test_a_lot_scanned_in_between_leaves_it_as_it_is(play: Play, hooks: list[str]) -> None:
    play.scan("start over", ONE, hooks[0], "undo", play.wipes())

    assert play.scan("undo").word == "Undo?"


def test_a_scanner_that_fires_twice_names_it_once_and_does_nothing(
    play: Play, hooks: list[str]
) -> None:
    play.scan("start over", ONE, hooks[0])
    play.reply("undo")

    assert play.reply("undo", seconds=1).answer.word == "Undo?"
    assert taken_back(play, hooks[0]) == 0
    assert play.reply("undo", seconds=3).answer.word == "Taken back"


def test_the_same_scan_sent_again_takes_nothing_more_back(play: Play, hooks: list[str]) -> None:
    play.scan("start over", ONE, *hooks[:2], "undo")
    play.reply("undo", act="the-second-undo")

    play.reply("undo", act="the-second-undo")

    assert [met(play, hook) for hook in hooks[:2]] == [[ONE], []]


def test_what_is_idle_too_long_must_be_named_anew(play: Play, hooks: list[str]) -> None:
    play.scan("start over", ONE, hooks[0], "undo")
    play.clock.passes(minutes=30)

    assert play.scan("undo").tone == "no"
    assert taken_back(play, hooks[0]) == 0


# --- whose it is ------------------------------------------------------------------------------


def test_it_keeps_to_the_patient_in_hand(play: Play, hooks: list[str]) -> None:
    play.scan("start over", ONE, hooks[0], "finish", TWO)

    nothing = play.scan("undo")
    again = play.scan("undo")

    assert nothing.what == "Nothing of this patient was told here that could be taken back."
    assert (nothing.options, again.word) == (("other patients too",), "Undo?")
    assert taken_back(play, hooks[0]) == 0

    play.scan(hooks[1])
    own = play.scan("undo")
    assert hooks[1][1:5] in own.what and own.patient == play.clinic.vault.find(TWO)
    assert own.options == ("take it back", "other patients too")
    assert ONE not in repr(own) and str(play.clinic.vault.find(ONE)) not in repr(own)


def test_other_patients_come_in_once_somebody_says_so(play: Play, hooks: list[str]) -> None:
    play.scan("start over", ONE, hooks[0], TWO)

    named = play.scan("undo", "other patients too")
    done = play.scan("undo")

    assert named.patient == play.clinic.vault.find(ONE)
    assert done.word == "Taken back"
    assert met(play, hooks[0]) == []
    assert in_hand(play).patient == play.clinic.vault.find(TWO)


def test_with_nobody_in_hand_it_keeps_to_what_is_of_nobody(play: Play, hooks: list[str]) -> None:
    play.scan("start over", "clean", hooks[0], "start over", ONE, hooks[1], "start over")

    answer = play.scan("undo")

    assert "Step “clean” done: Hook" in answer.what
    assert answer.options == ("take it back", "other patients too")


def test_a_mark_told_for_a_patient_is_of_that_patient(play: Play, hooks: list[str]) -> None:
    play.scan("start over", ONE, hooks[0], "dropped", "undo")

    assert "marked “dropped”" in play.scan("start over", ONE, "undo").what
    assert "marked" not in play.scan(TWO, "undo").what


def test_scans_that_were_moved_are_of_the_patient_they_were_moved_to(
    play: Play, hooks: list[str]
) -> None:
    play.scan("start over", ONE, hooks[0], "move to another patient", TWO)

    lines = play.scan("undo")

    assert "Scans of one use moved from patient" in lines.what
    assert "Used on patient" in says(lines)


# --- walked as a list -------------------------------------------------------------------------


def test_the_list_is_walked_one_by_one(play: Play, hooks: list[str]) -> None:
    play.scan("start over", ONE, *hooks)

    for hook in reversed(hooks):
        assert hook[1:5] in play.scan("undo").what
        assert play.scan("undo").word == "Taken back"

    assert [met(play, hook) for hook in hooks] == [[], [], []]
    assert play.scan("undo").tone == "no"


def test_undo_down_to_a_line_takes_back_all_above_it_too_and_nothing_below(
    play: Play, hooks: list[str]
) -> None:
    play.scan("start over", ONE, *hooks)
    named = play.scan("undo")
    down = [word for word in named.options if word.startswith("undo down to ")]

    answer = play.scan(down[0].upper())

    number = down[0].removeprefix("undo down to ")
    assert len(down) == 2
    assert f"{number}: " in says(named)
    assert answer.what.startswith("2 acts: 2 lines are withdrawn")
    assert [met(play, hook) for hook in hooks] == [[ONE], [], []]
    assert taken_back(play, hooks[1]) == 1
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_a_line_of_an_older_list_is_refused_and_nothing_is_taken_back(
    play: Play, hooks: list[str]
) -> None:
    play.scan("start over", ONE, *hooks)
    first = play.scan("undo").options[1]
    play.scan("take it back", "undo", "take it back")

    assert play.scan(first).tone == "unread"
    assert play.scan("undo", first).tone == "unread"
    assert met(play, hooks[0]) == [ONE]
    assert play.scan("undo").word == "Undo?"


def test_the_list_ends_where_somebody_else_would_have_to_take_it_back(
    play: Play, hooks: list[str]
) -> None:
    play.scan("start over", ONE, hooks[0])
    play.scan(hooks[1], hooks[2], who="trainee")

    answer = play.scan("undo", who="trainee")

    assert len([word for word in answer.options if word.startswith("undo down to")]) == 1
    assert len(play.scan("undo down to 1", "undo").options) == 3


def test_a_load_is_walked_back_to_its_opening_at_once(play: Play, hooks: list[str]) -> None:
    machine = play.add("steriliser-vacuum")
    play.cleaned(*hooks[:2])
    play.scan("start over", machine, *hooks[:2])

    answer = play.scan("undo")
    down = [word for word in answer.options if word.startswith("undo down to")]
    play.scan(down[1])

    assert load_rows.load_on(play.clinic.store, machine) is None
    assert in_hand(play).load == ""
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_where_a_load_has_gone_on_the_list_ends(play: Play, hooks: list[str]) -> None:
    machine = play.add("steriliser-vacuum")
    play.cleaned(*hooks)
    play.scan("start over", machine, hooks[0])
    play.scan("start over", machine, hooks[1], at="bench 2")

    answer = play.scan("undo")

    assert not [word for word in answer.options if word.startswith("undo down to")]
    assert play.scan("undo").word == "Taken back"
    assert "has gone on since" in play.scan("undo").what


# --- what is in hand afterwards ---------------------------------------------------------------


def test_a_finish_that_is_taken_back_can_be_said_again(play: Play, hooks: list[str]) -> None:
    play.scan("start over", ONE, hooks[0], "finish", "undo", "undo")

    forgotten = play.scan(hooks[1])
    answer = play.scan("finish")

    assert forgotten.word != "Whose?"
    assert met(play, hooks[1]) == [ONE]
    assert (answer.word, answer.what[:7]) == ("Finished", "2 items")
    use = use_rows.use_of(play.clinic.store, in_hand(play).use)
    assert use is not None and use.finished == play.clock.now


def test_in_use_the_next_scan_asks_first_once_finish_was_taken_back(
    play: Play, hooks: list[str]
) -> None:
    soiled = play.add("hook")
    play.scan("start over", ONE, "start a use", hooks[0], "finish", "undo", "undo")

    assert play.scan(soiled).word == "No"
    assert met(play, soiled) == []


def test_a_start_that_is_taken_back_asks_no_more_and_leaves_no_use(
    play: Play, hooks: list[str]
) -> None:
    play.scan("start over", ONE, "start a use", "undo", "undo")

    assert (in_hand(play).mode, in_hand(play).use) == ("tell", "")
    assert play.scan("finish").tone == "no"
    assert play.scan(hooks[0]).word == "Used"


def test_an_ear_that_is_taken_back_is_the_one_told_before(play: Play, hooks: list[str]) -> None:
    play.scan("start over", ONE, hooks[0], "left ear", "right ear", "undo", "undo")

    assert in_hand(play).ear == "left"
    use = use_rows.use_of(play.clinic.store, in_hand(play).use)
    assert use is not None and use.ear == "left"


def test_after_a_move_was_taken_back_the_next_scan_is_of_the_first_patient(
    play: Play, hooks: list[str]
) -> None:
    play.scan("start over", ONE, hooks[0], "move to another patient", TWO, "undo", "undo")

    play.scan(hooks[1])

    assert [met(play, hook) for hook in hooks[:2]] == [[ONE], [ONE]]


def test_what_was_chosen_since_is_left_as_it_is(play: Play, hooks: list[str]) -> None:
    play.scan("start over", ONE, hooks[0], "start a use", "undo", "undo")

    assert in_hand(play).mode == "use"
    stands = item_rows.standing_of(play.clinic.store, hooks[0])
    assert stands is not None and stands.uses == 0


def test_contents_of_a_pack_lie_ready_again_when_its_closing_is_taken_back(
    play: Play, hooks: list[str]
) -> None:
    play.cleaned(*hooks[:2])
    pack, other = play.fresh_pack(), play.fresh_pack()
    play.scan("start over", "pack", *hooks[:2], pack, "undo", "undo")

    play.scan(other)

    stands = item_rows.standing_of(play.clinic.store, other)
    assert stands is not None and stands.members == tuple(hooks[:2])
