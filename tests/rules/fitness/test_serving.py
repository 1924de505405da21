"""What is used with a machine is as fit as the fittest machine that it may be used with."""

from hypothesis import given
from hypothesis import strategies as st

from equip.rules.fitness.served_by import Server, in_question, why_not_served
from equip.rules.fitness.why_not import AUTHORITY, Why

_MISSING = Why("check-missing", "Its suction vacuum has not been checked for this session.")
_FAILED = Why("check-failed", "Its suction vacuum failed its check 09:00.")
_OVERDUE = Why("service-overdue", "Service has been due since 2026-01-02.")


def _pump(item: str, *against: Why, place: str = "") -> Server:
    return Server(item, place, f"Suction pump {item}", against)


def _codes(*pumps: Server) -> list[str]:
    return [why.code for why in why_not_served("suction pump", pumps)]


def test_where_the_book_has_no_such_machine_nothing_is_asked_for() -> None:
    assert why_not_served("suction pump", []) == []


def test_one_that_is_fit_is_enough() -> None:
    assert why_not_served("suction pump", [_pump("D1", _FAILED), _pump("D2")]) == []


def test_the_only_one_gives_its_reason() -> None:
    (why,) = why_not_served("suction pump", [_pump("D1", _MISSING)])

    assert why.code == "machine-unchecked"
    assert why.says == (
        "Suction pump D1: its suction vacuum has not been checked for this session."
    )


def test_of_several_the_one_nearest_to_being_fit_is_named() -> None:
    pumps = [_pump("D1", _FAILED), _pump("D2", _OVERDUE), _pump("D3", _MISSING)]

    (why,) = why_not_served("suction pump", pumps)

    assert why.code == "machine-unchecked"
    assert why.says.startswith(
        "None of 3 suction pumps is fit for use. Suction pump D3: its suction vacuum has not"
    )
    assert _codes(*pumps[:2]) == ["machine-not-fit"]
    assert _codes(pumps[0]) == ["machine-failed"]


def test_a_check_that_failed_weighs_more_than_what_else_stands_against_a_machine() -> None:
    assert _codes(_pump("D1", _OVERDUE, _FAILED)) == ["machine-failed"]
    assert _codes(_pump("D1", _MISSING, _OVERDUE)) == ["machine-not-fit"]


def test_it_is_never_the_fault_of_what_is_used_with_it() -> None:
    table = {code: AUTHORITY[code] for code in AUTHORITY if code.startswith("machine-")}

    assert table == {
        "machine-unchecked": ("session", True),
        "machine-failed": ("session", False),
        "machine-not-fit": ("session", True),
        "machine-not-to-run": ("session", False),
    }


def test_what_was_scanned_for_the_use_counts_then_the_place_in_hand_then_any() -> None:
    here, there, nowhere = (
        _pump("D1", place="R1"),
        _pump("D2", place="R2"),
        _pump("D3"),
    )
    every = [here, there, nowhere]

    assert in_question(every) == every
    assert in_question(every, "R1") == [here]
    assert in_question(every, "R3") == every
    assert in_question(every, "R1", used=("D2", "E9")) == [there]
    assert in_question(every, "R1", used=("E9",)) == [here]


_AGAINST = st.lists(st.sampled_from([_MISSING, _FAILED, _OVERDUE]), max_size=3)


@given(st.lists(_AGAINST, max_size=4), _AGAINST)
def test_one_more_machine_never_makes_it_less_fit(
    before: list[list[Why]], one_more: list[Why]
) -> None:
    rank = ["machine-unchecked", "machine-not-fit", "machine-failed"]
    pumps = [_pump(f"D{number}", *against) for number, against in enumerate(before)]

    without, with_it = _codes(*pumps), _codes(*pumps, _pump("D9", *one_more))

    if before and not without:
        assert not with_it
    elif without:
        assert not with_it or rank.index(with_it[0]) <= rank.index(without[0])
    else:
        assert bool(with_it) == bool(one_more)
