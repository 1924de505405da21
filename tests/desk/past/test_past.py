"""The past brought in: checked whole, resumed, added once; every fault by its line."""

import pytest

from equip import facts
from equip.desk.past import bring_in as past
from equip.desk.past import tell
from equip.desk.past.file import COLUMNS, WHATS, read_past
from equip.desk.register.import_file import UnreadableFile
from equip.store.fold.exposures import tallies
from equip.store.fold.rebuild import differences
from equip.store.ledger import ledger
from equip.store.post import agenda
from equip.store.readings import item_rows, load_rows, past_rows, use_rows
from tests.support.past_play import as_file, bring_in, row
from tests.support.playing import Play

LINES = [
    row(0, "use", "A", patient="REF1", ear="left"),
    row(0, "use", "B", patient="REF1", ear="right"),
    row(10, "load", "A", load="L 1", machine="M1", programme="steam-134", result="pass", who="N1"),
    row(10, "load", "B", load="L 1", machine="M1", programme="steam-134", result="pass", who="N2"),
    row(20, "use", "A", patient="REF2"),
    row(30, "quarantine", "A", note="a burr"),
    row(40, "lift", "A", note="polished"),
    row(50, "retire", "B", note="worn"),
    row(60, "test", machine="M1", result="pass", note="leak-rate"),
]


def told(play: Play) -> list[facts.Fact]:
    return [entry.fact for entry in ledger.everything(play.clinic.store)]


def test_every_sort_of_line_that_a_file_may_have_is_told_by_a_function_of_its_own() -> None:
    assert list(tell.LINES) == list(WHATS)
    assert len(set(tell.LINES.values())) == len(WHATS)


def test_names_become_aliases_and_what_happened_is_told(play: Play) -> None:
    before = len(told(play))
    summary = bring_in(play.clinic, as_file(LINES))
    new = told(play)[before:]

    assert (summary.rows, summary.added, summary.items, summary.loads) == (9, 9, 3, 1)
    assert [type(fact) for fact in new].count(facts.Used) == 3
    assert [fact.ear for fact in new if isinstance(fact, facts.UseBegun)] == ["both", ""]
    hook = item_rows.aliased(play.clinic.store, "A")
    stands = item_rows.standing_of(play.clinic.store, str(hook))
    assert stands is not None
    assert (stands.uses, stands.quarantines) == (2, ())
    load = load_rows.load_of(
        play.clinic.store, str(past_rows.old_name(play.clinic.store, "load", "L 1"))
    )
    assert load is not None
    assert (load.state, load.verdict, len(load.inside)) == ("released", "pass", 2)
    assert load not in load_rows.open_loads(play.clinic.store)
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_bringing_in_the_past_sends_no_word(play: Play) -> None:
    bring_in(play.clinic, as_file([*LINES, row(25, "use", "A", patient="REF3")]))

    assert agenda.waiting(play.clinic.store) == []


def test_the_summary_says_what_the_file_leaves_exposed_and_unknown(play: Play) -> None:
    exposing = [*LINES, row(25, "use", "A", patient="REF3"), row(70, "use", "C", patient="REF4")]

    first = bring_in(play.clinic, as_file(exposing))
    again = bring_in(play.clinic, as_file(exposing))

    assert (first.exposed, first.gaps) == (1, 3)
    assert (again.exposed, again.gaps) == (0, 0)


def test_the_same_file_again_adds_nothing(play: Play) -> None:
    data = as_file(LINES)
    bring_in(play.clinic, data)
    entries = len(told(play))

    assert bring_in(play.clinic, data).added == 0
    assert len(told(play)) == entries


def test_an_interrupted_file_goes_on_where_it_stopped(
    play: Play, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(past, "BATCH", 2)
    data, stopped = as_file(LINES), []

    def stop(done: int, of: int) -> None:
        stopped.append(done)
        if done == 4:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        past.bring_in(play.clinic, read_past(data).rows, data, "past.csv", stop)
    summary = bring_in(play.clinic, data)

    assert (summary.already, summary.added) == (4, 5)
    uses = [fact for fact in told(play) if isinstance(fact, facts.Used)]
    assert len({(use.use, use.item) for use in uses}) == len(uses) == 3
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_lines_written_below_what_was_brought_in_are_added_alone(play: Play) -> None:
    bring_in(play.clinic, as_file(LINES))
    summary = bring_in(play.clinic, as_file([*LINES, row(70, "use", "A", patient="REF3")]))

    assert (summary.already, summary.added) == (9, 1)


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        (row(0, "use", "A"), "“patient” is empty"),
        (row(0, "use", "", patient="R"), "“item” is empty"),
        (row(0, "load", "A"), "“load” is empty"),
        (row(0, "polish", "A"), "“polish” is nothing that happens here"),
        (row(0, "load", "A", load="L", result="good"), "The result “good” was read"),
        (row(0, "use", "A", patient="R", ear="upper"), "The ear “upper” was read"),
        (row(0, "use", "A", patient="R") | {"when": "yesterday"}, "“yesterday” is no time"),
        (row(0, "use", "A", patient="R") | {"when": "2026-02-02T08:00"}, "has no offset"),
        (row(0, "load", "A", load="L", note="contents=0"), "contents=0 was read"),
    ],
)
def test_every_fault_is_said_with_its_line(bad: dict[str, str], says: str) -> None:
    found = read_past(as_file([row(0, "use", "A", patient="REF1"), bad]))

    assert [problem.line for problem in found.problems] == [3]
    assert says in found.problems[0].says


def test_what_no_single_line_shows_is_a_fault_too() -> None:
    found = read_past(
        as_file(
            [
                row(0, "use", "P", patient="REF1"),
                row(10, "load", "A", load="L", result="pass"),
                row(10, "load", "B", load="L", result="fail"),
                row(20, "packed", "P", load="L", note="fine tip"),
                row(20, "packed", "P", load="L", note="fine tip"),
                row(5, "packed", "N", load="L", note="fine tip"),
            ]
        )
    )
    says = {problem.line: problem.says for problem in found.problems}

    assert "was told otherwise on line 3" in says[4]
    assert "line 2 has it earlier" in says[5]
    assert "was packed on line 5 already" in says[6]
    assert "before that load ended" in says[7]


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "The first line is"),
        (b"when;what\n", "The first line is"),
        (b"\xff\xfe", "not UTF-8"),
        (b"a\0b", "not text"),
        (",".join(COLUMNS).encode() + b'\n"open', "no CSV"),
    ],
)
def test_a_file_that_is_none_is_a_sentence(data: bytes, says: str) -> None:
    with pytest.raises(UnreadableFile, match=says):
        read_past(data)


def test_a_time_that_has_not_come_yet_is_a_fault(play: Play) -> None:
    rows = read_past(as_file([row(60 * 24 * 365, "use", "A", patient="R")])).rows

    assert [line for line, _ in past.problems_in(play.clinic, rows)] == [2]


def test_a_late_line_finds_in_a_set_what_was_in_it_then_and_not_what_came_later(
    play: Play, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(past, "BATCH", 2)
    lines = [
        row(0, "join", "A", note="S1"),
        row(30, "join", "B", note="S1"),
        row(40, "leave", "A", note="S1"),
        row(50, "use", "C", patient="REF2"),
        row(20, "use", "S1", patient="REF1"),
    ]

    bring_in(play.clinic, as_file(lines))
    bring_in(play.clinic, as_file([row(25, "use", "S1", patient="REF3")]))

    inside = item_rows.aliased(play.clinic.store, "A")
    covers = [fact.covers for fact in told(play) if isinstance(fact, facts.Used) and fact.covers]
    assert covers == [(inside,), (inside,)]


def test_a_thing_that_is_here_already_may_be_named_by_its_tag(play: Play) -> None:
    hook = play.add("hook")

    summary = bring_in(play.clinic, as_file([row(0, "use", hook, patient="REF1")]))

    assert summary.items == 0
    stands = item_rows.standing_of(play.clinic.store, hook)
    assert stands is not None and stands.uses == 1


def test_a_use_from_before_an_item_came_on_the_register_is_a_source_of_the_next(
    play: Play,
) -> None:
    hook = play.add("hook", "go-live")
    bring_in(play.clinic, as_file([row(0, "use", hook, patient="123456")]))
    play.scan("234567", hook, "finish")

    [first, second] = use_rows.touches_of(play.clinic.store, hook)

    assert tallies(play.clinic.store)["open"] == 1
    assert (first.gap, second.gap) != ("", "")
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_what_was_done_to_an_item_before_it_came_in_on_loan_does_not_make_it_fit(
    play: Play,
) -> None:
    hook = play.add("hook", "loaned")
    more = {"machine": "M1", "programme": "steam-134", "result": "pass"}
    bring_in(play.clinic, as_file([row(0, "load", hook, load="L 1", **more)]))

    answer = play.scan("lay up", hook)

    assert play.codes(answer) == ["soiled"]
