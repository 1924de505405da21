"""A list as it is typed: what is read, and a sentence for each line that is not."""

from hypothesis import given
from hypothesis import strategies as st

from equip.rules.planning.day_list import Listed, read_list

KINDS = {"Both ears": "both-ears", "One ear": "one-ear"}


def test_times_and_procedures_are_read_however_they_are_written() -> None:
    typed = "9:00 both ears\n\n0930\tONE  EAR\n09.15, one-ear\n"

    assert read_list(typed, KINDS) == (
        [
            Listed(1, 540, "both-ears"),
            Listed(4, 555, "one-ear"),
            Listed(3, 570, "one-ear"),
        ],
        [],
    )


def test_each_line_that_cannot_be_read_is_named_with_what_to_do() -> None:
    typed = "both ears\n25:00 both ears\n09:00 nose\n09:10\n08:00 one ear\n09:30 one ear"

    read, unread = read_list(typed, KINDS, earliest=500)

    assert [one.number for one in read] == [6]
    assert [(one.number, one.says) for one in unread] == [
        (
            1,
            "It does not begin with a time. Write the time, then the procedure: “09:00 both ears”.",
        ),
        (2, "25:00 is no time of day. Write it from 00:00 to 23:59."),
        (
            3,
            "What stands after the time is no procedure. Write one of “Both ears”, “One ear”, "
            "and no names.",
        ),
        (4, "The procedure is missing. Write one of “Both ears”, “One ear” after the time."),
        (5, "08:00 is over. Take the line out, or choose another day."),
    ]


def test_without_any_procedure_the_list_says_where_one_is_defined() -> None:
    _, unread = read_list("09:00 both ears", {})

    assert "Setup, Procedures" in unread[0].says


def test_a_list_without_end_is_not_played() -> None:
    _, unread = read_list("09:00 one ear\n" * 201, KINDS)

    assert unread[0].number == 201


@given(st.text(max_size=200))
def test_no_text_is_lost_every_line_is_read_or_named(text: str) -> None:
    read, unread = read_list(text, KINDS)

    said = [n for n, line in enumerate(text.splitlines(), start=1) if line.strip()]
    assert sorted([one.number for one in read] + [one.number for one in unread]) == said
