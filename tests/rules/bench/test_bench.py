"""What a bench has in hand: each transition, what is forgotten and when."""

from datetime import timedelta

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.facts import Loose
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from tests.support.lives import HOOK, LOAD, NURSE, ONE, OTHER, PACK_TAG, ROOM, SECOND, TWO
from tests.support.stopped import NOON

IDLE, BADGE_IDLE = timedelta(minutes=20), timedelta(hours=4)


@pytest.fixture
def idle_hands() -> Context:
    """Somebody's badge was scanned in a room; nothing is in hand."""
    return transitions.at_place(transitions.with_badge(Context(at=NOON), NURSE, NOON), ROOM)


@pytest.fixture
def using(idle_hands: Context) -> Context:
    """A use of two things on a patient, in the left ear."""
    context = transitions.eared(transitions.with_patient(idle_hands, ONE), "left")
    context = transitions.started(transitions.using(context, "use-1"))
    return transitions.told(transitions.used(context, HOOK, (SECOND,)), "act-1")


def later(context: Context, span: timedelta) -> Context:
    return transitions.at_moment(context, NOON + span, IDLE, BADGE_IDLE)


def left_of(context: Context) -> Context:
    """What stays when all else is forgotten."""
    return Context(
        at=context.at, badge=context.badge, badge_at=context.badge_at, place=context.place
    )


# --- forgetting -------------------------------------------------------------------------------


def test_a_patient_in_hand_stays_for_as_long_as_the_limit_says(using: Context) -> None:
    assert later(using, IDLE) == msgspec.structs.replace(using, at=NOON + IDLE)


def test_a_moment_longer_and_the_patient_is_gone_but_not_the_badge(using: Context) -> None:
    after = later(using, IDLE + timedelta(microseconds=1))

    assert after == left_of(after)
    assert (after.patient, after.use, after.badge, after.place) == ("", "", NURSE, ROOM)


def test_each_scan_starts_the_idle_time_anew(using: Context) -> None:
    for minutes in range(15, 121, 15):
        using = later(using, timedelta(minutes=minutes))

    assert using.patient == ONE


def test_a_badge_counts_so_long_after_its_own_scan_however_busy_the_bench(using: Context) -> None:
    for minutes in range(15, 241, 15):
        using = later(using, timedelta(minutes=minutes))
    assert using.badge == NURSE

    after = later(using, BADGE_IDLE + timedelta(seconds=1))

    assert (after.badge, after.badge_at) == ("", None)
    assert after.patient == ONE


def test_scanning_the_badge_again_keeps_it(using: Context) -> None:
    again = transitions.with_badge(using, NURSE, NOON + timedelta(hours=3))
    again = msgspec.structs.replace(again, at=NOON + timedelta(hours=6, minutes=50))

    assert later(again, timedelta(hours=7)).badge == NURSE


def test_a_late_scan_from_before_forgets_nothing(using: Context) -> None:
    assert later(using, -timedelta(hours=9)).patient == ONE


def test_what_can_be_taken_back_is_forgotten_with_the_patient(using: Context) -> None:
    assert later(using, timedelta(minutes=21)).undoable == ()


def test_a_new_bench_has_nothing_to_forget() -> None:
    assert later(Context(), timedelta(0)) == Context(at=NOON)


def test_starting_over_leaves_who_works_here_where_and_what_may_be_taken_back(
    using: Context,
) -> None:
    kept = msgspec.structs.replace(left_of(using), undoable=using.undoable)

    assert using.undoable
    assert transitions.over(using) == kept


# --- a patient --------------------------------------------------------------------------------


def test_after_a_patient_each_scan_tells(idle_hands: Context) -> None:
    context = transitions.with_patient(idle_hands, ONE)

    assert (context.mode, context.patient, context.use, context.finished) == (
        "tell",
        ONE,
        "",
        False,
    )


def test_the_same_patient_again_changes_nothing(using: Context) -> None:
    assert transitions.with_patient(using, ONE) == using


def test_another_patient_ends_the_use_in_hand(using: Context) -> None:
    context = transitions.with_patient(using, TWO)

    assert (context.patient, context.use, context.used, context.ear) == (TWO, "", (), "")
    assert (context.badge, context.place) == (NURSE, ROOM)


def test_starting_asks_first_and_finishing_tells(using: Context) -> None:
    assert (using.mode, using.finished) == ("use", False)

    context = transitions.finished(using)
    assert (context.mode, context.finished, context.patient) == ("tell", True, ONE)

    context = transitions.started(context)
    assert (context.mode, context.finished) == ("use", False)


def test_another_badge_takes_over_what_is_in_hand(using: Context) -> None:
    context = transitions.with_badge(using, OTHER, NOON)

    assert (context.badge, context.patient, context.used) == (OTHER, ONE, (HOOK, SECOND))


def test_what_was_used_is_in_hand_once_each(using: Context) -> None:
    context = transitions.used(using, SECOND, (HOOK, "E000000035"))

    assert context.used == (HOOK, SECOND, "E000000035")
    assert (context.item, context.refused) == (SECOND, False)


def test_a_refusal_is_remembered_until_the_next_thing(using: Context) -> None:
    context = transitions.noticed(using, SECOND, refused=True)
    assert (context.item, context.refused) == (SECOND, True)

    assert not transitions.noticed(context, HOOK).refused
    assert not transitions.used(context, HOOK, ()).refused


def test_moving_gives_the_use_to_another_patient_and_asks_no_more(using: Context) -> None:
    context = transitions.moved(transitions.asking(using, "patient-to-move-to"), TWO)

    assert (context.patient, context.use, context.used, context.asks) == (
        TWO,
        "use-1",
        (HOOK, SECOND),
        "",
    )


# --- other work -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("context", "mode"),
    [
        (lambda c: transitions.laying_up(c), "lay-up"),
        (lambda c: transitions.stepping(c, "clean"), "step"),
        (lambda c: transitions.packing(c), "pack"),
        (lambda c: transitions.storing(c), "store"),
        (lambda c: transitions.loading(c, LOAD), "load"),
    ],
)
def test_other_work_puts_the_patient_out_of_hand(
    using: Context, context: object, mode: str
) -> None:
    after = context(using)  # type: ignore[operator]

    assert after.mode == mode
    assert (after.patient, after.use, after.used, after.item) == ("", "", (), "")
    assert (after.badge, after.place) == (NURSE, ROOM)


def test_a_step_knows_whether_it_passed(idle_hands: Context) -> None:
    failed = transitions.stepping(idle_hands, "inspect", passed=False)
    assert (failed.step, failed.passed) == ("inspect", False)

    assert transitions.stepping(failed, "clean").passed


def test_taking_out_is_about_the_load_in_hand(idle_hands: Context) -> None:
    context = transitions.taking_out(transitions.loading(idle_hands, LOAD))

    assert (context.mode, context.load) == ("take-out", LOAD)


def test_a_place_scanned_while_putting_away_changes_where(idle_hands: Context) -> None:
    context = transitions.at_place(transitions.storing(idle_hands), "R00000002B")

    assert (context.mode, context.place) == ("store", "R00000002B")


# --- packing ----------------------------------------------------------------------------------


def test_things_lie_ready_once_each_in_the_order_they_were_scanned(idle_hands: Context) -> None:
    context = transitions.packed_with(transitions.packing(idle_hands), (HOOK,))
    context = transitions.packed_with(context, (SECOND, HOOK))

    assert (context.contents, context.item) == ((HOOK, SECOND), SECOND)


def test_nothing_more_to_pack_leaves_what_is_in_hand(idle_hands: Context) -> None:
    context = transitions.packed_with(transitions.packing(idle_hands), (HOOK,))

    assert transitions.packed_with(context, ()) == context


def test_untagged_things_are_counted_by_type(idle_hands: Context) -> None:
    context = transitions.packing(idle_hands)
    for code in ("fine-tip", "fine-tip", "wool-carrier"):
        context = transitions.counted(context, code)

    assert context.loose == (Loose(type="fine-tip", count=2), Loose(type="wool-carrier", count=1))


def test_the_type_that_was_counted_last_stands_last(idle_hands: Context) -> None:
    """A number that is typed next is about the card that was scanned last."""
    context = transitions.packing(idle_hands)
    for code in ("fine-tip", "wool-carrier", "fine-tip"):
        context = transitions.counted(context, code)

    assert context.loose[-1] == Loose(type="fine-tip", count=2)


def test_a_typed_count_replaces_and_nought_takes_out(idle_hands: Context) -> None:
    context = transitions.counted(
        transitions.asking(transitions.packing(idle_hands), "count"), "fine-tip", 7
    )
    assert (context.loose, context.asks) == ((Loose(type="fine-tip", count=7),), "")

    assert transitions.counted(context, "fine-tip", 0).loose == ()


def test_a_sealed_pack_leaves_nothing_for_the_next(idle_hands: Context) -> None:
    context = transitions.counted(
        transitions.packed_with(transitions.packing(idle_hands), (HOOK,)), "fine-tip"
    )

    context = transitions.sealed(context, PACK_TAG)

    assert (context.mode, context.contents, context.loose, context.item) == (
        "pack",
        (),
        (),
        PACK_TAG,
    )


# --- taking back ------------------------------------------------------------------------------


def test_acts_can_be_taken_back_from_the_last_to_the_first(using: Context) -> None:
    context = transitions.told(using, "act-2")
    assert context.undoable == ("act-1", "act-2")

    context = transitions.untold(context, "act-2", (SECOND,))
    assert context.undoable == ("act-1",)
    assert (context.use, context.used, context.item, context.asks) == ("use-1", (HOOK,), "", "")


def test_taking_back_the_act_that_began_the_use_ends_it_and_keeps_the_patient(
    using: Context,
) -> None:
    begun = transitions.told(transitions.using(using, "act-9"), "act-9")

    context = transitions.untold(begun, "act-9", (HOOK,))

    assert (context.use, context.used, context.patient) == ("", (), ONE)


def test_no_more_than_twenty_acts_are_remembered(idle_hands: Context) -> None:
    context = idle_hands
    for number in range(30):
        context = transitions.told(context, f"act-{number}")

    assert len(context.undoable) == 20
    assert context.undoable[-1] == "act-29"


# --- keeping ----------------------------------------------------------------------------------

_STEPS = st.sampled_from(
    [
        lambda c: transitions.with_badge(c, NURSE, NOON),
        lambda c: transitions.with_patient(c, ONE),
        lambda c: transitions.with_patient(c, TWO),
        lambda c: transitions.using(c, "use-1"),
        lambda c: transitions.noticed(c, HOOK, refused=True),
        lambda c: transitions.used(c, HOOK, (SECOND,)),
        lambda c: transitions.eared(c, "both"),
        lambda c: transitions.asking(c, "reason"),
        transitions.started,
        transitions.finished,
        transitions.laying_up,
        lambda c: transitions.stepping(c, "inspect", passed=False),
        transitions.storing,
        transitions.packing,
        lambda c: transitions.packed_with(c, (HOOK,)),
        lambda c: transitions.counted(c, "fine-tip", 5),
        lambda c: transitions.sealed(c, PACK_TAG),
        lambda c: transitions.loading(c, LOAD),
        transitions.taking_out,
        lambda c: transitions.at_place(c, ROOM),
        lambda c: transitions.told(c, "act-1"),
        lambda c: transitions.untold(c, "act-1", (HOOK,)),
        lambda c: transitions.moved(c, TWO),
        lambda c: transitions.at_moment(c, NOON + timedelta(hours=1), IDLE, BADGE_IDLE),
        transitions.over,
    ]
)


@given(st.lists(_STEPS, max_size=12))
def test_whatever_is_in_hand_survives_the_row_it_is_kept_in(steps: list[object]) -> None:
    context = Context(at=NOON)
    for step in steps:
        context = step(context)  # type: ignore[operator]

    body = msgspec.json.encode(context)

    assert msgspec.json.decode(body, type=Context) == context
