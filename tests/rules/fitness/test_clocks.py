"""Soil waits up to its limit; a contact time is over at its very end, broken by any touch."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip import facts
from equip.facts import RouteStep
from equip.rules.fitness import clocks
from equip.rules.fitness.agents import Agent, Contact, contacts_by, minutes_by_hand
from equip.rules.fitness.clocks import why_too_late
from equip.rules.fitness.gates import proof
from equip.rules.fitness.why_not import AUTHORITY
from equip.rules.verdict import worst
from tests.support.lives import (
    LONDON,
    NURSE,
    PACK_TAG,
    SCOPE,
    SCOPE_TYPE,
    SPORICIDAL,
    Life,
    against,
    codes,
)
from tests.support.stopped import NOON

RINSED = msgspec.structs.replace(SCOPE_TYPE, route=(*SCOPE_TYPE.route, RouteStep(step="rinse")))
seconds = st.integers(1, 3600)


def wiped(contact_s: int = 60, **more: object) -> Life:
    scope = Life(SCOPE).added(type="scope-wiped").used().stepped("clean")
    return scope.then(
        facts.Stepped,
        item=SCOPE,
        step="disinfect",
        contact_s=contact_s,
        **SPORICIDAL,
        **more,
    )


def stepped_after(life: Life, step: str, span: float) -> Life:
    return life.then(facts.Stepped, minutes=span / 60, item=SCOPE, step=step)


@given(seconds, st.integers(0, 7200))
def test_it_is_fit_from_the_end_of_its_contact_time_and_not_a_moment_before(
    contact_s: int, after: int
) -> None:
    reasons = codes(against(wiped(contact_s), SCOPE_TYPE, after=timedelta(seconds=after)))

    assert (reasons == ["still-wet"]) == (after < contact_s)
    assert after < contact_s or "still-wet" not in reasons


def test_a_microsecond_early_is_early() -> None:
    end = timedelta(seconds=60)

    assert codes(against(wiped(), SCOPE_TYPE, after=end - timedelta(microseconds=1))) == [
        "still-wet"
    ]
    assert against(wiped(), SCOPE_TYPE, after=end) == []


@given(seconds, st.integers(0, 7200))
def test_a_rinse_counts_only_once_the_contact_time_was_kept(contact_s: int, after: int) -> None:
    scope = stepped_after(wiped(contact_s), "rinse", after)

    later = timedelta(seconds=max(contact_s - after, 0) + 1)
    reasons = against(scope, RINSED, after=later)

    assert codes(reasons) == ([] if after >= contact_s else ["step-refused"])


def test_what_was_cut_short_says_by_how_much() -> None:
    scope = stepped_after(wiped(90), "rinse", 30)

    [why] = against(scope, RINSED, after=timedelta(minutes=5))

    assert why.says == (
        "Its step “disinfect” does not count: it stayed wet for 30 s and has to for 1 min 30 s."
    )
    assert proof(scope.stands, RINSED, scope.at + timedelta(minutes=5)) is None


def test_a_step_told_late_cuts_it_short_by_its_own_time() -> None:
    scope = wiped(60)
    scope.then(facts.Stepped, minutes=10, item=SCOPE, step="rinse")
    late = msgspec.structs.replace(scope.told[-1], at=scope.told[-2].at + timedelta(seconds=20))
    scope.told[-1:] = [late]

    assert codes(against(scope, RINSED)) == ["step-refused"]


def test_packing_it_wet_cuts_it_short() -> None:
    scope = wiped(60).packed(PACK_TAG, SCOPE)
    scope.told[-1] = msgspec.structs.replace(
        scope.told[-1], at=scope.told[-2].at + timedelta(seconds=59)
    )

    assert "wet for 59 s" in scope.stands.done[-2].refused


def test_an_inspection_that_fails_is_told_however_wet_it_is() -> None:
    scope = wiped(60).then(facts.Stepped, minutes=0.5, item=SCOPE, step="inspect", passed=False)

    assert scope.stands.failed_inspection is not None
    assert scope.stands.done[1].refused == ""


def test_wiping_it_again_starts_its_contact_time_anew_and_breaks_nothing() -> None:
    scope = wiped(60).then(
        facts.Stepped, minutes=0.5, item=SCOPE, step="disinfect", contact_s=60, **SPORICIDAL
    )

    assert codes(against(scope, SCOPE_TYPE, after=timedelta(seconds=59))) == ["still-wet"]
    assert against(scope, SCOPE_TYPE, after=timedelta(seconds=60)) == []


def test_who_may_not_let_it_go_leaves_it_soiled() -> None:
    scope = wiped(60, unreleased=True)

    [why] = against(scope, SCOPE_TYPE, after=timedelta(hours=0.5))

    assert why.code == "step-refused"
    assert why.says.endswith("whoever did it may not let it go.")


def test_nobody_sets_a_contact_time_aside() -> None:
    assert AUTHORITY["still-wet"] == AUTHORITY["step-refused"] == ("item", False)


def test_a_mark_hides_no_patient_while_the_contact_time_runs() -> None:
    dropped = wiped(60).marked("dropped", "soil", minutes=0.5)
    soiling = dropped.stands.soiling

    assert soiling is not None
    assert soiling.patient == "p-one"


def test_a_step_of_before_contact_times_were_kept_counts_at_once() -> None:
    scope = Life(SCOPE).added(type="scope-wiped").stepped("clean", "disinfect")

    assert against(scope, SCOPE_TYPE, after=timedelta(0)) == []


def test_the_rinse_ahead_and_behind_is_no_washing_anew() -> None:
    route = (RouteStep(step="clean"), RouteStep(step="rinse"), RINSED.route[1], RINSED.route[2])
    twice = msgspec.structs.replace(SCOPE_TYPE, route=route)
    scope = Life(SCOPE).added(type="scope-wiped").stepped("clean", "rinse", "disinfect", "rinse")

    assert against(scope, twice) == []
    assert codes(against(scope.stepped("clean"), twice)) != []


@given(seconds, st.floats(0, 3599.999))
def test_what_is_left_is_never_said_too_short(contact_s: int, after: float) -> None:
    until = NOON + timedelta(seconds=contact_s)
    at = NOON + timedelta(seconds=after)

    left = clocks.left_s(until, at)

    assert at + timedelta(seconds=left) >= until
    assert left == 0 or at + timedelta(seconds=left - 1) < until


def test_the_wait_is_said_by_the_clock_and_in_seconds() -> None:
    scope = wiped(60)
    why = clocks.why_wait(scope.stands, scope.at + timedelta(seconds=37), LONDON)

    assert why is not None
    assert why.says == "It has to stay wet until 12:05:00: wait 23 s more."
    assert clocks.why_wait(scope.stands, scope.at + timedelta(seconds=60), LONDON) is None
    assert clocks.why_wait(scope.stands, scope.at - timedelta(seconds=1), LONDON) is None


def test_the_step_names_its_lot_and_who_did_it() -> None:
    done = wiped(60).stands.done[-1]

    assert (done.lots, done.contact_s, done.by) == (SPORICIDAL["lots"], 60, NURSE)


TEN = Contact(Decimal(10), Decimal(20))
FIVE = Contact(Decimal(5), Decimal(25), automated_only=True)


@pytest.mark.parametrize(
    ("agent", "basis", "minutes"),
    [
        (Agent({"": [TEN, FIVE]}, 14), "label", 10),
        (Agent({"": [FIVE]}, 14), "label", 5),
        (Agent({"label": [TEN], "society": [replace(TEN, minutes=Decimal(7))]}, 14), "society", 7),
    ],
)
def test_by_hand_the_shortest_way_without_a_machine_decides(
    agent: Agent, basis: str, minutes: int
) -> None:
    assert minutes_by_hand(agent, basis) == minutes
    assert contacts_by(agent, basis)


# --- from use to cleaning ---------------------------------------------------------------------

ENDED = datetime(2026, 3, 2, 10, 10, tzinfo=UTC)
LIMITS = st.integers(0, 600)
OFFSETS = st.integers(-12 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))


@given(LIMITS, OFFSETS)
def test_the_limit_passes_and_a_moment_more_fails_in_any_zone(limit: int, zone: timezone) -> None:
    last = (ENDED + timedelta(minutes=limit)).astimezone(zone)

    assert why_too_late(ENDED, last, limit) == []
    assert worst(why_too_late(ENDED, last + timedelta(microseconds=1), limit)) == "fail"


def test_a_late_start_says_how_long_and_what_to_do() -> None:
    [reason] = why_too_late(ENDED, ENDED + timedelta(minutes=70), 60)

    assert reason.says == (
        "It waited for cleaning more than the 60 min allowed (1 h 10 min). "
        "Follow its maker's instructions for delayed cleaning."
    )
