"""May it be used now? Every reason against it, computed from its life, the clock and the rules."""

import re
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import msgspec
import pytest

from equip import facts
from equip.facts import ItemType, RouteStep
from equip.rules.fitness.gates import Member, lapse, missing_steps, proof
from equip.rules.fitness.shelf import ShelfLimits
from equip.rules.fitness.standing import doubted
from equip.rules.fitness.why_not import AUTHORITY, Why, item_at_fault, why_not_use
from equip.scan import show_tag
from tests.support.lives import (
    GATE,
    HOOK,
    HOOK_TYPE,
    LIMITS,
    LOAD,
    LONDON,
    MACHINE,
    NEXT_LOAD,
    NURSE,
    ONE,
    PACK_TAG,
    PACK_TYPE,
    SCOPE,
    SCOPE_TYPE,
    SECOND,
    SET_TAG,
    SET_TYPE,
    SINGLE,
    TWO,
    Life,
    against,
    asking,
    codes,
)

OWN = msgspec.structs.replace(HOOK_TYPE, code="own", reuse="single-patient")
IRRIGATOR = ItemType(
    code="irrigator",
    name="Irrigator",
    sort="machine",
    contact="water-or-air",
    holds="day",
    route=(RouteStep(step="disinfect", stops=("bacteria-viruses",)), RouteStep(step="rinse")),
)
COUNTED = msgspec.structs.replace(HOOK_TYPE, code="counted", use_limit=2, cycle_limit=3)


@pytest.fixture
def hook() -> Life:
    return Life(HOOK).added()


@pytest.fixture
def ready(hook: Life) -> Life:
    """A hook fresh from its round."""
    return hook.round()


@pytest.fixture
def pack() -> Life:
    """A pack fresh from its load, with the hook in it."""
    return Life(PACK_TAG).packed().cycle(wrapped=True)


@pytest.fixture
def inside() -> Life:
    """The hook in that pack, cleaned and inspected before."""
    life = Life(HOOK).added().stepped("clean", "inspect").packed()
    return life.cycle(put=PACK_TAG, wrapped=True)


@pytest.fixture
def scope() -> Life:
    """A rigid scope that was wiped down: clean, disinfect."""
    return Life(SCOPE).added(type="scope-wiped").stepped("clean", "disinfect")


def member(life: Life, kind: ItemType = HOOK_TYPE) -> Member:
    return life.stands, kind


def at(life: Life, when: datetime, kind: ItemType = HOOK_TYPE, **more: Any) -> list[str]:
    return codes(why_not_use(life.stands, kind, asking(when, **more)))


# --- yes --------------------------------------------------------------------------------------


def test_a_hook_fresh_from_its_round_may_be_used(ready: Life) -> None:
    assert against(ready) == []


def test_a_pack_fresh_from_its_load_may_be_opened(pack: Life, inside: Life) -> None:
    assert against(pack, PACK_TYPE, [member(inside)]) == []


def test_a_wiped_scope_may_be_used(scope: Life) -> None:
    assert against(scope, SCOPE_TYPE) == []


def test_a_single_use_tip_that_nobody_opened_may_be_used() -> None:
    assert against(Life(HOOK).added(type="tip-once"), SINGLE) == []


def test_a_machine_without_a_route_may_be_used() -> None:
    pump = ItemType(code="pump", name="Suction pump", sort="machine", contact="neither")

    assert against(Life("D000000013").added(type="pump"), pump) == []


def test_stock_that_a_named_person_declared_on_going_live_may_be_used() -> None:
    assert against(Life(HOOK).added("go-live", declared_by=NURSE)) == []


def test_stock_taken_over_that_nobody_declared_may_not() -> None:
    assert codes(against(Life(HOOK).added("go-live"))) == ["never-processed"]


def test_what_was_declared_on_going_live_is_declared_for_its_first_use_only() -> None:
    life = Life(HOOK).added("go-live", declared_by=NURSE).used()

    assert codes(against(life)) == ["soiled"]


def test_the_same_thing_told_again_in_one_use_gives_no_reasons(ready: Life) -> None:
    ready.used(ONE, "use-1")

    assert against(ready, patient=ONE, use="use-1") == []
    assert codes(against(ready, patient=ONE, use="use-2")) == ["soiled"]


def test_even_in_the_same_use_a_quarantine_is_told(ready: Life) -> None:
    ready.used(ONE, "use-1").kept_back()

    assert codes(against(ready, patient=ONE, use="use-1")) == ["quarantined"]


def test_no_use_in_hand_is_no_use_the_same(hook: Life) -> None:
    hook.marked("dropped", "soil")

    assert codes(against(hook, use="")) == ["soiled"]


# --- no ---------------------------------------------------------------------------------------


def test_a_new_hook_has_to_go_round_first(hook: Life) -> None:
    assert codes(against(hook)) == ["never-processed"]


def test_a_used_hook_is_soiled_and_says_since_when_and_what_is_to_do(hook: Life) -> None:
    reasons = against(hook.round().used().stepped("clean"))

    assert codes(reasons) == ["soiled"]
    assert "used on a patient (" in reasons[0].says
    assert reasons[0].says.endswith("still to do: inspect and sterilise.")


@pytest.mark.parametrize(
    ("what", "says"),
    [
        ("opened", "opened for a patient"),
        ("loaned", "came in from outside"),
        ("dropped", "was dropped"),
        ("image-fault", "marked “image fault”"),
    ],
)
def test_what_soiled_it_is_said(hook: Life, what: str, says: str) -> None:
    match what:
        case "opened":
            hook.used(opened_only=True)
        case "loaned":
            hook.then(facts.Arrived, item=HOOK, arrival="loaned")
        case _:
            hook.marked(what, "soil")

    assert says in against(hook)[0].says


@pytest.mark.parametrize(
    ("how_far", "code"),
    [
        ("filling", "load-not-finished"),
        ("running", "load-not-finished"),
        ("ended", "load-not-released"),
        ("passed", "load-not-released"),
        ("failed", "load-failed"),
        ("undecided", "load-undecided"),
        ("rejected", "load-refused"),
        ("held back", "load-refused"),
    ],
)
@pytest.mark.parametrize("before", ["soiled", "new", "ready"])
def test_a_load_that_is_not_passed_and_released_makes_nothing_fit(
    how_far: str, code: str, before: str
) -> None:
    """Also not what was fit before it went in: what its last load says decides."""
    life = Life(HOOK).added()
    if before == "soiled":
        life.used().stepped("clean", "inspect")
    if before == "ready":
        life.round(NEXT_LOAD)
    life.put_in()
    if how_far != "filling":
        life.started()
    if how_far not in ("filling", "running"):
        life.ended()
    match how_far:
        case "passed":
            life.judged()
        case "failed":
            life.judged("fail")
        case "undecided":
            life.judged("undecided")
        case "rejected":
            life.judged().then(facts.LoadRejected, load=LOAD, reason="damp", covers=(HOOK,))
        case "held back":
            life.judged().then(facts.LoadReleased, load=LOAD, released=(), held=(HOOK,))
        case _:
            pass

    reasons = against(life)

    assert codes(reasons) == [code]
    assert not reasons[0].overridable
    assert "L 0000 0001 E" in reasons[0].says


def test_a_passed_load_after_a_failed_one_makes_it_fit(hook: Life) -> None:
    hook.stepped("clean", "inspect").put_in().started().ended().judged("fail")
    hook.then(facts.LoadRejected, load=LOAD, reason="run again", covers=(HOOK,))

    assert against(hook.cycle(NEXT_LOAD)) == []


def test_the_latest_load_is_the_one_that_is_named(hook: Life) -> None:
    hook.put_in().started().ended().judged("fail").put_in(NEXT_LOAD).started(NEXT_LOAD)
    hook.ended(NEXT_LOAD).judged("undecided", NEXT_LOAD)

    assert codes(against(hook)) == ["load-undecided"]


def test_taking_it_out_of_a_load_that_never_ran_leaves_it_as_fit_as_it_was(ready: Life) -> None:
    ready.put_in(NEXT_LOAD).then(facts.LoadTakenOut, load=NEXT_LOAD, item=HOOK)

    assert against(ready) == []


def test_a_wash_that_is_not_the_last_gate_does_not_make_it_fit(hook: Life) -> None:
    hook.used().cycle(LOAD, "clean", "rinse", "disinfect", "dry")

    assert codes(against(hook)) == ["soiled"]


def test_every_earlier_step_that_nobody_recorded_is_a_reason(hook: Life) -> None:
    reasons = against(hook.used().cycle())

    assert codes(reasons) == ["step-missing", "step-missing"]
    assert "“clean”" in reasons[0].says
    assert "“inspect”" in reasons[1].says
    assert not any(why.overridable for why in reasons)


def test_a_step_that_is_not_required_is_not_missed(hook: Life) -> None:
    assert against(hook.used().stepped("clean", "inspect").cycle()) == []


def test_what_is_washed_anew_after_its_cycle_goes_round_anew(hook: Life) -> None:
    hook.used().cycle().stepped("clean", "inspect")

    assert codes(against(hook)) == ["soiled"]


def test_an_inspection_after_the_cycle_takes_nothing_away(hook: Life) -> None:
    hook.round().stepped("inspect")

    assert codes(against(hook)) == []


@pytest.mark.parametrize(
    ("verdict", "decided", "missing"),
    [
        ("pass", "released", []),
        ("fail", "", ["clean"]),
        ("undecided", "", ["clean"]),
        ("pass", "rejected", ["clean"]),
    ],
)
def test_a_wash_known_to_be_bad_is_no_cleaning(
    hook: Life, verdict: str, decided: str, missing: list[str]
) -> None:
    hook.used().put_in().started().ended(LOAD, "clean", "rinse").judged(verdict)
    if decided == "rejected":
        hook.then(facts.LoadRejected, load=LOAD, reason="door fault", covers=(HOOK,))
    elif decided:
        hook.then(facts.LoadReleased, load=LOAD, released=(HOOK,))
    hook.stepped("inspect").cycle(NEXT_LOAD)

    assert missing_steps(hook.stands, HOOK_TYPE, hook.at) == missing
    assert codes(against(hook)) == ["step-unproven"] * len(missing)


@pytest.mark.parametrize(
    ("verdict", "says"),
    [
        ("", f"wait for the log of load {show_tag(LOAD)}"),
        ("pass", f"wait for the release of load {show_tag(LOAD)}"),
    ],
)
def test_a_wash_that_nobody_decided_lets_the_next_step_count_for_nothing(
    hook: Life, verdict: str, says: str
) -> None:
    hook.used().put_in().started().ended(LOAD, "clean", "rinse")
    if verdict:
        hook.judged(verdict)
    hook.stepped("inspect").cycle(NEXT_LOAD)

    [why] = against(hook)

    assert why.code == "step-unproven"
    assert not why.overridable
    assert says in why.says


def test_a_wash_in_doubt_takes_the_cycle_behind_it_along(hook: Life) -> None:
    hook.used().put_in().started().ended(LOAD, "clean", "rinse").judged("pass")
    hook.then(facts.LoadReleased, load=LOAD, released=(HOOK,)).stepped("inspect").cycle(NEXT_LOAD)

    in_doubt = doubted(hook.stands, lambda done: done.load == LOAD)

    assert codes(against(hook)) == []
    [why] = why_not_use(in_doubt, HOOK_TYPE, asking(hook.at))
    assert why.code == "step-unproven"
    assert "an open look-back holds it in doubt" in why.says


def test_a_quarantine_says_why_and_what_may_be_done_with_it(ready: Life) -> None:
    [alone] = against(ready.kept_back())
    reasons = against(ready.kept_back("bag-it"))

    assert "(clean it now): marked “bent”" in alone.says
    assert codes(reasons) == ["quarantined", "quarantined"]
    assert all("(bag it, do not clean it)" in why.says for why in reasons)


@pytest.mark.parametrize("how", ["used", "opened"])
def test_a_single_use_tip_is_never_used_again(how: str) -> None:
    tip = Life(HOOK).added(type="tip-once").used(opened_only=how == "opened")

    assert codes(against(tip, SINGLE)) == ["single-use-again"]


def test_a_single_use_tip_that_was_reprocessed_all_the_same_is_never_used_again() -> None:
    kind = msgspec.structs.replace(HOOK_TYPE, reuse="single-use")
    tip = Life(HOOK).added().round().used().round(NEXT_LOAD)

    assert codes(against(tip, kind)) == ["single-use-again"]


def test_a_thing_for_one_patient_is_for_that_patient_only(hook: Life) -> None:
    hook.round().used(ONE, "use-1").round(NEXT_LOAD)

    assert against(hook, OWN, patient=ONE) == []
    assert codes(against(hook, OWN, patient=TWO)) == ["other-patient"]
    assert codes(against(hook, OWN)) == ["which-patient"]


def test_a_thing_for_one_patient_belongs_to_nobody_before_its_first_use(ready: Life) -> None:
    assert against(ready, OWN) == []
    assert against(ready, OWN, patient=TWO) == []


def test_a_thing_moved_to_another_patient_belongs_to_that_one(hook: Life) -> None:
    hook.round().used(ONE, "use-1").then(
        facts.MovedToPatient, use="use-1", was=ONE, patient=TWO, covers=(HOOK,)
    )
    hook.round(NEXT_LOAD)

    assert against(hook, OWN, patient=TWO) == []
    assert codes(against(hook, OWN, patient=ONE)) == ["other-patient"]


def test_limits_of_its_maker_are_met_when_they_are_reached(hook: Life) -> None:
    hook.round().used(ONE, "u1").round().used(ONE, "u2").round()

    reasons = against(hook, COUNTED)

    assert codes(reasons) == ["use-limit", "cycle-limit"]
    assert "used 2 times; its maker allows 2" in reasons[0].says
    assert "through 3 cycles; its maker allows 3" in reasons[1].says


def test_one_before_its_limits_it_may_be_used(hook: Life) -> None:
    assert against(hook.round().used(ONE, "u1").round(), COUNTED) == []


def test_a_failed_inspection_outlasts_the_cycle_that_follows(hook: Life) -> None:
    hook.stepped("clean").stepped("inspect", passed=False).cycle()

    assert codes(against(hook)) == ["step-missing", "inspection-failed"]


def test_a_mark_asks_for_an_inspection(ready: Life) -> None:
    reasons = against(ready.marked("tube-touched-scope", "inspect"))

    assert codes(reasons) == ["inspection-due"]
    assert "“tube touched scope”" in reasons[0].says


def test_what_is_sealed_in_a_pack_is_asked_by_its_pack(inside: Life) -> None:
    reasons = against(inside)

    assert codes(reasons) == ["in-a-pack"]
    assert "P 0000 0001 1" in reasons[0].says


@pytest.mark.parametrize(
    ("kind", "code"), [(facts.Retired, "retired"), (facts.SentOut, "sent-out")]
)
def test_what_is_not_here_is_not_used(ready: Life, kind: type[facts.Fact], code: str) -> None:
    fields = {"why": "repair"} | ({"receiver": "Fenwick"} if kind is facts.SentOut else {})

    assert codes(against(ready.then(kind, item=HOOK, **fields))) == [code]


def test_all_reasons_are_listed_and_not_the_first_only(hook: Life) -> None:
    hook.used(ONE, "u1").used(ONE, "u2").kept_back().marked("bent", "inspect")
    hook.then(facts.SentOut, item=HOOK, receiver="Fenwick", why="repair")

    reasons = against(hook, msgspec.structs.replace(COUNTED, reuse="single-patient"), patient=TWO)

    assert codes(reasons) == [
        "sent-out",
        "quarantined",
        "other-patient",
        "soiled",
        "inspection-due",
        "use-limit",
    ]


# --- time alone -------------------------------------------------------------------------------


def test_a_pack_lasts_to_the_end_of_its_last_day_and_no_longer() -> None:
    pack = Life(PACK_TAG, datetime(2026, 3, 4, 10, 0, tzinfo=UTC)).packed().cycle(wrapped=True)

    last = datetime(2027, 3, 4, 23, 59, 59, 999_999, tzinfo=LONDON)
    assert at(pack, last, PACK_TYPE) == []
    assert at(pack, last + timedelta(microseconds=1), PACK_TYPE) == ["shelf-life-over"]


def test_a_pack_is_wrapped_also_where_its_load_did_not_say_so() -> None:
    pack = Life(PACK_TAG).packed().cycle(wrapped=False)

    assert against(pack, PACK_TYPE, after=timedelta(days=300)) == []


def test_an_unwrapped_hook_in_the_room_lasts_for_its_day() -> None:
    hook = Life(HOOK, datetime(2026, 3, 4, 10, 0, tzinfo=UTC)).added().round()

    assert at(hook, datetime(2026, 3, 4, 23, 59, 59, tzinfo=LONDON)) == []
    assert at(hook, datetime(2026, 3, 5, 0, 0, tzinfo=LONDON)) == ["shelf-life-over"]


@pytest.mark.parametrize("place", ["store", "clean-room"])
def test_an_unwrapped_hook_kept_clean_lasts_a_week_more(place: str) -> None:
    hook = Life(HOOK, datetime(2026, 3, 4, 10, 0, tzinfo=UTC)).added().round()

    assert at(hook, datetime(2026, 3, 11, 23, 59, tzinfo=LONDON), place_sort=place) == []
    assert at(hook, datetime(2026, 3, 12, tzinfo=LONDON), place_sort=place) == ["shelf-life-over"]


@pytest.mark.parametrize(
    ("zone", "day"),
    [
        ("Europe/London", datetime(2026, 3, 28)),  # noqa: DTZ001 — the night an hour is lost
        ("Europe/London", datetime(2026, 10, 24)),  # noqa: DTZ001 — the night it comes back
        ("Asia/Beirut", datetime(2024, 3, 30)),  # noqa: DTZ001 — midnight itself is lost
        ("America/Havana", datetime(2026, 10, 31)),  # noqa: DTZ001 — midnight comes twice
        ("Australia/Lord_Howe", datetime(2026, 4, 4)),  # noqa: DTZ001 — half an hour
        ("Pacific/Kiritimati", datetime(2026, 6, 1)),  # noqa: DTZ001 — far from UTC
    ],
)
def test_the_day_ends_at_local_midnight_also_when_the_clocks_change(
    zone: str, day: datetime
) -> None:
    there = ZoneInfo(zone)
    ended = day.replace(hour=22, tzinfo=there).astimezone(UTC)
    hook = Life(HOOK, ended - timedelta(hours=1)).added().stepped("clean", "inspect")
    hook.put_in().started().ended().judged().released()

    # The first moment of the next day, found without the code's help: minute by minute in UTC.
    moment = ended
    while moment.astimezone(there).date() <= day.date():
        moment += timedelta(minutes=1)

    assert at(hook, moment - timedelta(minutes=1), zone=there) == []
    assert at(hook, moment, zone=there) == ["shelf-life-over"]


def test_an_evening_load_counts_from_its_local_day_and_not_from_utc() -> None:
    sydney = ZoneInfo("Australia/Sydney")
    hook = Life(HOOK, datetime(2026, 6, 2, 8, 0, tzinfo=sydney).astimezone(UTC)).added().round()

    assert at(hook, datetime(2026, 6, 2, 23, 59, tzinfo=sydney), zone=sydney) == []
    assert at(hook, datetime(2026, 6, 3, 0, 1, tzinfo=sydney), zone=sydney) == ["shelf-life-over"]


def test_a_wiped_scope_lasts_three_hours_exactly(scope: Life) -> None:
    after = scope.at + timedelta(hours=3)

    assert at(scope, after, SCOPE_TYPE) == []
    assert at(scope, after + timedelta(seconds=1), SCOPE_TYPE) == ["shelf-life-over"]


def test_a_wiped_scope_lasts_three_hours_through_the_night_the_clocks_change() -> None:
    wiped = datetime(2026, 3, 29, 0, 30, tzinfo=UTC)
    scope = Life(SCOPE, wiped - timedelta(minutes=3)).added().stepped("clean", "disinfect")

    assert at(scope, wiped + timedelta(hours=3), SCOPE_TYPE) == []
    assert at(scope, wiped + timedelta(hours=3, seconds=1), SCOPE_TYPE) == ["shelf-life-over"]


@pytest.mark.parametrize("years", [1, 30])
def test_where_the_rule_book_sets_no_limit_nothing_ages(
    pack: Life, scope: Life, years: int
) -> None:
    boundless = ShelfLimits(None, None, None, None, None)
    later = pack.at + timedelta(days=365 * years + 2)

    assert at(pack, later, PACK_TYPE, shelf=boundless) == []
    assert at(scope, later, SCOPE_TYPE, shelf=boundless) == []


def test_nothing_but_time_passes_between_yes_and_no(pack: Life, scope: Life, ready: Life) -> None:
    """Readiness is computed: the same standing is asked twice, and no fact lies between."""
    for life, kind, days in ((pack, PACK_TYPE, 367), (scope, SCOPE_TYPE, 1), (ready, HOOK_TYPE, 2)):
        stands = life.stands

        answers = [
            codes(why_not_use(stands, kind, asking(life.at + timedelta(days=later))))
            for later in (0, days)
        ]

        assert answers == [[], ["shelf-life-over"]]


def test_an_aged_tray_without_a_wrap_names_what_in_it_has_aged(ready: Life) -> None:
    tray = Life(SET_TAG).added(type="set").then(facts.Joined, set=SET_TAG, item=HOOK)

    reasons = against(tray, SET_TYPE, [member(ready)], after=timedelta(days=2))

    assert codes(reasons) == ["shelf-life-over"]
    assert reasons[0].says.startswith("Hook E 0000 0001 9: Processed")


def test_how_long_it_is_over_is_said(ready: Life) -> None:
    reasons = against(ready, after=timedelta(days=2))

    assert re.search(r"ran out 1 day \d+ h ago\.$", reasons[0].says)


def test_stricter_rules_of_today_age_what_yesterdays_let_be(pack: Life) -> None:
    later = pack.at + timedelta(days=100)
    strict = ShelfLimits(60, 0, 7, 3, 3)

    assert at(pack, later, PACK_TYPE, shelf=LIMITS) == []
    assert at(pack, later, PACK_TYPE, shelf=strict) == ["shelf-life-over"]


# --- packs and sets ---------------------------------------------------------------------------


def test_an_opened_pack_is_done_and_each_thing_of_it_speaks_for_itself(
    pack: Life, inside: Life
) -> None:
    for life in (pack, inside):
        life.used(ONE, "use-1", item=PACK_TAG, covers=(HOOK,))

    reasons = against(pack, PACK_TYPE, [member(inside)])

    assert codes(reasons) == ["pack-opened", "soiled"]
    assert reasons[1].says.startswith("Hook E 0000 0001 9:")


def test_an_opened_pack_scanned_again_in_its_use_gives_no_reasons(pack: Life, inside: Life) -> None:
    for life in (pack, inside):
        life.used(ONE, "use-1", item=PACK_TAG, covers=(HOOK,))

    assert against(pack, PACK_TYPE, [member(inside)], use="use-1") == []


@pytest.mark.parametrize("what", ["torn", "wet"])
def test_a_torn_or_wet_pack_is_not_used(pack: Life, inside: Life, what: str) -> None:
    for life in (pack, inside):
        life.marked(what, "unpack", item=PACK_TAG, covers=(HOOK,))

    assert codes(against(pack, PACK_TYPE)) == ["pack-spoilt"]
    assert codes(against(inside)) == ["soiled"]


def test_what_was_in_a_torn_pack_is_fit_again_in_another(pack: Life, inside: Life) -> None:
    inside.marked("torn", "unpack", item=PACK_TAG, covers=(HOOK,))
    inside.packed("P00000005U").cycle(NEXT_LOAD, put="P00000005U", wrapped=True)

    assert codes(against(inside)) == ["in-a-pack"]


def _unfit(life: Life, how: str) -> tuple[Life, ItemType]:
    match how:
        case "quarantined":
            return life.kept_back(), HOOK_TYPE
        case "inspection-failed":
            return life.stepped("inspect", passed=False), HOOK_TYPE
        case "inspection-due":
            return life.marked("blocked", "inspect"), HOOK_TYPE
        case "retired":
            return life.then(facts.Retired, item=HOOK, why="worn"), HOOK_TYPE
        case "cycle-limit":
            return life, msgspec.structs.replace(HOOK_TYPE, cycle_limit=1)
        case _:
            return life, msgspec.structs.replace(
                HOOK_TYPE, route=(RouteStep(step="disinfect"), *HOOK_TYPE.route)
            )


@pytest.mark.parametrize(
    "how",
    [
        "quarantined",
        "inspection-failed",
        "inspection-due",
        "retired",
        "cycle-limit",
        "step-missing",
    ],
)
def test_a_pack_is_not_used_with_one_unfit_thing_in_it(pack: Life, inside: Life, how: str) -> None:
    life, kind = _unfit(inside, how)

    second = Life(SECOND).added().round().packed()
    reasons = against(pack, PACK_TYPE, [member(life, kind), member(second)])

    assert codes(reasons) == [how]
    assert reasons[0].says.startswith("Inside, hook E 0000 0001 9: ")


def test_a_pack_is_not_used_once_what_it_held_was_used_apart_from_it(
    pack: Life, inside: Life
) -> None:
    reasons = against(pack, PACK_TYPE, [member(inside.used())])

    assert codes(reasons) == ["pack-opened", "soiled"]
    assert reasons[0].says == "Inside, hook E 0000 0001 9: It is not in this pack any more."


def test_a_pack_is_not_used_once_what_it_held_is_packed_elsewhere(pack: Life, inside: Life) -> None:
    inside.packed("P00000005U").cycle(NEXT_LOAD, put="P00000005U", wrapped=True)

    assert codes(against(pack, PACK_TYPE, [member(inside)])) == ["pack-opened"]


def test_a_pack_is_not_used_whose_cycle_did_not_count_for_what_it_holds(pack: Life) -> None:
    never = Life(HOOK).added().used().stepped("clean", "inspect").packed()

    assert codes(against(pack, PACK_TYPE, [member(never)])) == ["soiled"]


def test_a_pack_that_holds_another_patients_own_thing_is_not_used(pack: Life) -> None:
    own = Life(HOOK).added().round().used(ONE, "u1").stepped("clean", "inspect").packed()
    own.cycle(NEXT_LOAD, put=PACK_TAG, wrapped=True)

    assert against(pack, PACK_TYPE, [member(own, OWN)], patient=ONE) == []
    assert codes(against(pack, PACK_TYPE, [member(own, OWN)], patient=TWO)) == ["other-patient"]
    assert codes(against(pack, PACK_TYPE, [member(own, OWN)])) == ["which-patient"]


def test_a_set_is_fit_when_everything_in_it_is(ready: Life) -> None:
    tray = Life(SET_TAG).added(type="set")
    second = Life(SECOND).added().round()

    assert against(tray, SET_TYPE, [member(ready), member(second)]) == []


def test_a_set_with_one_unfit_member_is_unfit_and_names_it(ready: Life) -> None:
    tray = Life(SET_TAG).added(type="set")
    second = Life(SECOND).added().used()

    reasons = against(tray, SET_TYPE, [member(ready), member(second)])

    assert codes(reasons) == ["soiled"]
    assert reasons[0].says.startswith("Hook E 0000 0002 7: It was used")


def test_a_set_of_nothing_is_incomplete() -> None:
    assert codes(against(Life(SET_TAG).added(type="set"), SET_TYPE)) == ["set-incomplete"]


def test_a_set_that_is_sealed_in_a_pack_is_asked_by_its_pack(inside: Life) -> None:
    tray = Life(SET_TAG).added(type="set").packed(PACK_TAG, SET_TAG, HOOK)

    assert codes(against(tray, SET_TYPE, [member(inside)])) == ["in-a-pack"]


def test_a_set_in_quarantine_is_not_used_however_fit_its_members(ready: Life) -> None:
    tray = Life(SET_TAG).added(type="set").kept_back()

    assert codes(against(tray, SET_TYPE, [member(ready)])) == ["quarantined"]


# --- what made it fit -------------------------------------------------------------------------


def test_the_proof_is_the_last_gate_that_counts(hook: Life) -> None:
    hook.round(LOAD).round(NEXT_LOAD)

    done = proof(hook.stands, HOOK_TYPE, hook.at)

    assert done is not None
    assert done.load == NEXT_LOAD


def test_there_is_no_proof_for_what_has_no_gate_on_its_route(ready: Life) -> None:
    kind = msgspec.structs.replace(HOOK_TYPE, route=(RouteStep(step="clean"),))

    assert proof(ready.stands, kind, ready.at) is None
    assert missing_steps(ready.stands, kind, ready.at) == []


def test_of_two_gates_on_a_route_the_last_one_decides(hook: Life) -> None:
    kind = msgspec.structs.replace(
        HOOK_TYPE, route=(RouteStep(step="disinfect", stops=("bacteria-viruses",)), GATE)
    )
    hook.used().stepped("disinfect")
    assert codes(against(hook, kind)) == ["soiled"]

    assert against(hook.cycle(), kind) == []


def test_when_it_lapses_can_be_told_beforehand(ready: Life) -> None:
    done = proof(ready.stands, HOOK_TYPE, ready.at)
    assert done is not None

    until = lapse(ready.stands, HOOK_TYPE, done, asking(ready.at))

    assert until == datetime(2026, 3, 5, tzinfo=LONDON)


# --- who may set it aside ---------------------------------------------------------------------

NEVER = {
    "piece-missing",
    "waterline-due",
    "load-failed",
    "load-undecided",
    "load-not-released",
    "load-refused",
    "single-use-again",
    "other-patient",
    "stops-too-little",
    "nothing-effective",
    "soiled",
    "quarantined",
}


@pytest.mark.parametrize("code", sorted(NEVER))
def test_nobody_can_set_aside_what_is_not_to_be_set_aside(code: str) -> None:
    assert not Why(code, "").overridable


@pytest.mark.parametrize("code", ["shelf-life-over", "pack-spoilt", "pack-opened", "in-a-pack"])
def test_a_fault_of_the_pack_or_the_shelf_does_not_keep_the_thing_back(code: str) -> None:
    assert item_at_fault([Why(code, "")]) == []


def test_faults_of_the_thing_itself_keep_it_back() -> None:
    told = [Why("shelf-life-over", "a"), Why("soiled", "b"), Why("service-overdue", "c")]

    assert codes(item_at_fault(told)) == ["soiled"]


def test_every_reason_in_the_table_can_be_given_and_no_other() -> None:
    """Services, checks and machines are the desk's to find; every other code is found here."""
    given = {why.code for reasons in _all_reasons() for why in reasons}
    beside = {code for code in AUTHORITY if code.startswith(("check-", "machine-"))}

    assert given == set(AUTHORITY) - {"service-overdue"} - beside


def _all_reasons() -> list[list[Why]]:
    def new() -> Life:
        return Life(HOOK).added()

    hour, years = timedelta(hours=1), timedelta(days=800)
    opened = Life(PACK_TAG).packed().used(item=PACK_TAG)

    def wiped() -> Life:
        return new().used().then(facts.Stepped, item=HOOK, step="disinfect", contact_s=600)

    rejected = new().put_in().started().ended()
    rejected.then(facts.LoadRejected, load=LOAD, reason="x", covers=(HOOK,))
    owned = new().used(ONE)
    bare = msgspec.structs.replace(HOOK_TYPE, route=(RouteStep(step="clean"),))
    no_lot = Life(SCOPE).added().stepped("clean")
    no_lot.then(facts.Stepped, item=SCOPE, step="disinfect", stops=())
    return [
        against(new(), bare),
        against(no_lot, SCOPE_TYPE),
        against(new()),
        against(new().used()),
        against(new().kept_back()),
        against(new().then(facts.Retired, item=HOOK, why="worn")),
        against(new().then(facts.SentOut, item=HOOK, receiver="x", why="loan")),
        against(new().used(), SINGLE),
        against(owned, OWN, patient=TWO),
        against(owned, OWN),
        against(new().put_in()),
        against(new().put_in().started().ended()),
        against(new().put_in().started().ended().judged("fail")),
        against(new().put_in().started().ended().judged("undecided")),
        against(rejected),
        against(new().cycle(), after=hour),
        against(new().stepped("inspect", passed=False)),
        against(new().marked("bent", "inspect")),
        against(new().used(ONE, "1").used(ONE, "2").cycle().cycle().cycle(), COUNTED),
        against(new().round(), after=years),
        against(Life(PACK_TAG).packed().marked("torn", "unpack", item=PACK_TAG), PACK_TYPE),
        against(opened, PACK_TYPE),
        against(new().packed()),
        against(Life(SET_TAG).added(type="set"), SET_TYPE),
        against(new().used().put_in().started().ended(LOAD, "clean").cycle(NEXT_LOAD)),
        against(wiped(), SCOPE_TYPE),
        against(wiped().stepped("rinse"), SCOPE_TYPE),
        why_not_use(
            msgspec.structs.replace(new().stands, in_case="case-1"), HOOK_TYPE, asking(new().at)
        ),
        against(new().round().then(facts.PieceMissing, set=SET_TAG, search="s", item=HOOK)),
        against(Life(MACHINE).added(type="irrigator"), IRRIGATOR),
    ]


@pytest.mark.parametrize("reasons", _all_reasons())
def test_every_reason_is_a_sentence(reasons: list[Why]) -> None:
    for why in reasons:
        assert why.says[0].isupper()
        assert why.says.endswith(".")
        assert "None" not in why.says
