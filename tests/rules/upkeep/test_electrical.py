"""A leakage beside its reference value: how far it may rise before somebody has to ask why."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.upkeep.measuring.electrical import why_changed
from equip.rules.verdict import Reason, worst

LIMIT, SHARE = Decimal(500), Decimal("0.2")  # figures of this test, of no standard
MICROAMPERES = st.decimals(0, 1000, places=1)


def changed(now: str, reference: str = "100") -> list[Reason]:
    return why_changed("Its leakage", Decimal(now), Decimal(reference), LIMIT, SHARE)


@pytest.mark.parametrize("now", ["0", "99.9", "100", "150", "200"])
def test_a_fall_or_a_rise_up_to_its_share_of_the_limit_is_no_reason(now: str) -> None:
    assert changed(now) == []


def test_a_rise_by_more_says_from_what_to_what_and_is_no_failure() -> None:
    [reason] = changed("200.10")

    assert reason.code == "risen"
    assert reason.says == (
        "Its leakage rose from 100 to 200.1, by more than 20 % of its limit: find out why and test"
        " it sooner next time."
    )
    assert worst([reason]) == "pass"


@given(MICROAMPERES, MICROAMPERES, MICROAMPERES)
def test_it_is_the_rise_that_counts_wherever_it_begins(
    now: Decimal, reference: Decimal, more: Decimal
) -> None:
    first = why_changed("x", now, reference, LIMIT, SHARE)
    second = why_changed("x", now + more, reference + more, LIMIT, SHARE)

    assert bool(first) == bool(second) == (now - reference > 100)
