"""Duties by count, certificate, meter, type and move: when they fall due and what they stop."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from importlib import import_module
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.register import items
from equip.desk.upkeep import duties, duty_acts, late_use, meter_acts
from equip.desk.upkeep.due_line import Due
from equip.facts import DutyTerms
from equip.rules.upkeep.due import NO_DAY, Duty
from equip.scan import next_tag
from equip.store.fold import rebuild
from equip.store.fold.counts import encode
from equip.store.ledger import ledger
from equip.store.readings import duty_rows, item_rows
from tests.support.playing import Play

TODAY = date(2026, 3, 4)  # a Wednesday, as the clock of the tests begins
_PATIENT = 123456


def set_duty(play: Play, tag: str, duty: str = "filter", anchor: date = TODAY, **more: Any) -> None:
    terms = {name: more.pop(name) for name in list(more) if name in DutyTerms.__struct_fields__}
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, tag, duty, anchor, terms=DutyTerms(**terms), **more)


def met(play: Play, tag: str, duty: str, done: date, **more: Any) -> date:
    with acting(play.clinic, by=play.people["manager"]) as act:
        return duty_acts.meet_duty(act, tag, duty, done, **more)


def read(play: Play, tag: str, reading: str, **more: Any) -> None:
    play.clock.passes(seconds=1)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        meter_acts.read_meter(act, tag, "hours", Decimal(reading), **more)


def the(play: Play, tag: str, on: date = TODAY) -> Due:
    (found,) = duties.due_of(play.clinic, tag, on)
    return found


def used(play: Play, tag: str, times: int) -> None:
    for _ in range(times):
        play.scan("start over", str(_PATIENT), tag, "finish")


# --- by a count -------------------------------------------------------------------------------


def test_a_duty_by_count_falls_due_with_the_use_that_reaches_it_and_is_overdue_the_day_after(
    play: Play,
) -> None:
    pump = play.add("suction-pump")
    set_duty(play, pump, every_count=3, counts="uses", grounds=True)

    used(play, pump, 2)
    before = the(play, pump)
    used(play, pump, 1)
    reached = the(play, pump)

    assert (before.standing, before.has_day, before.counted_says) == ("ok", False, "2 of 3 uses")
    assert (reached.standing, reached.next_due, reached.brought_by) == ("due", TODAY, "count")
    tomorrow = the(play, pump, TODAY + timedelta(days=1))
    assert (tomorrow.standing, tomorrow.stops) == ("overdue", True)


def test_what_was_counted_already_counts_and_doing_it_begins_anew(play: Play) -> None:
    pump = play.add("suction-pump")
    set_duty(play, pump, every_count=3, counts="uses", already=2)

    used(play, pump, 1)
    assert the(play, pump).standing == "due"
    assert met(play, pump, "filter", TODAY) == TODAY
    used(play, pump, 1)

    assert the(play, pump).counted_says == "1 of 3 uses"
    assert duty_rows.duties_met(play.clinic.store, pump)[0].counted == 3


def test_what_had_come_to_its_count_before_falls_due_at_once_and_not_with_the_next_use(
    play: Play,
) -> None:
    pump = play.add("suction-pump")
    set_duty(play, pump, every_count=3, counts="uses", already=3, grounds=True)

    the_day = the(play, pump)

    assert (the_day.standing, the_day.next_due) == ("due", TODAY)
    assert the(play, pump, TODAY + timedelta(days=1)).stops
    play.clock.passes(days=2)
    used(play, pump, 1)
    assert the(play, pump, TODAY + timedelta(days=2)).next_due == TODAY


def test_a_use_that_was_taken_back_does_not_count(play: Play) -> None:
    pump = play.add("suction-pump")
    set_duty(play, pump, every_count=3, counts="uses")

    play.scan("123456", pump, "undo", "undo")

    assert the(play, pump).counted_says == "0 of 3 uses"


def test_cycles_of_a_steriliser_are_counted_and_whichever_comes_first_governs(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    set_duty(
        play,
        steriliser,
        "service",
        date(2026, 9, 1),
        every_months=6,
        every_count=1,
        counts="cycles",
    )
    before = the(play, steriliser)

    play.sterile_pack(steriliser, hook)

    assert (before.next_due, before.brought_by) == (date(2026, 9, 1), "day")
    assert (the(play, steriliser).next_due, the(play, steriliser).brought_by) == (TODAY, "count")


def test_a_late_entry_is_counted_where_it_happened(play: Play) -> None:
    pump = play.add("suction-pump")
    set_duty(play, pump, every_count=5, counts="uses")
    used(play, pump, 1)
    play.clock.passes(days=2)
    before = play.clock.now - timedelta(days=1)
    with acting(play.clinic, by=play.people["nurse"], at=before) as act:
        token = act.clinic.vault.token("DEMO-7")
        act.tell(facts.UseBegun, use=act.id, patient=token)
        act.tell(facts.Used, use=act.id, item=pump, patient=token)

    assert the(play, pump).counted_says == "2 of 5 uses"
    assert rebuild.differences(play.clinic.store, play.clinic.settings.data) == []


# --- by a certificate -------------------------------------------------------------------------


def test_the_end_on_the_report_governs_whatever_may_run_over(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    set_duty(
        play,
        steriliser,
        "pressure examination",
        date(2027, 5, 1),
        every_months=14,
        certificate=True,
        not_after=date(2026, 3, 10),
        tolerance_days=30,
        shift="after",
        grounds=True,
    )

    day_after = the(play, steriliser, date(2026, 3, 11))

    assert the(play, steriliser).next_due == date(2026, 3, 10)
    assert (day_after.standing, day_after.stops, day_after.runs_loads) == ("overdue", True, True)
    assert "starts no load" in day_after.says
    assert "Nobody may start a load" in day_after.who_may(["Mo Reed"])


def test_a_duty_by_certificate_is_due_until_the_first_is_in_hand_and_met_by_a_new_one(
    play: Play,
) -> None:
    steriliser = play.add("steriliser-vacuum")
    set_duty(play, steriliser, "pressure examination", TODAY, certificate=True)
    assert the(play, steriliser).standing == "due"

    with pytest.raises(Refused, match="give the day until"):
        met(play, steriliser, "pressure examination", TODAY)
    met(play, steriliser, "pressure examination", TODAY, not_after=date(2027, 5, 3))

    assert the(play, steriliser).next_due == date(2027, 5, 3)


@pytest.mark.parametrize(
    ("done", "not_after", "says"),
    [
        (date(2026, 3, 2), date(2026, 3, 1), "ends on 2026-03-01, before 2026-03-02"),
        (date(2026, 3, 2), date(2062, 3, 1), "more than 30 years"),
        (date(2026, 2, 1), date(2027, 3, 1), "is older"),
    ],
)
def test_a_certificate_that_contradicts_the_days_is_refused(
    play: Play, done: date, not_after: date, says: str
) -> None:
    steriliser = play.add("steriliser-vacuum")
    set_duty(play, steriliser, "pressure examination", TODAY, certificate=True)
    met(play, steriliser, "pressure examination", date(2026, 3, 1), not_after=date(2026, 12, 1))

    with pytest.raises(Refused, match=says):
        met(play, steriliser, "pressure examination", done, not_after=not_after)


# --- over its day, off closed days, after a move ------------------------------------------------


def test_within_the_days_it_may_run_over_it_is_due_and_stops_nothing(play: Play) -> None:
    pump = play.add("suction-pump")
    set_duty(play, pump, "service", TODAY, every_months=12, tolerance_days=7, grounds=True)

    assert the(play, pump, date(2026, 3, 11)).standing == "due"
    play.clock.passes(days=7)
    assert "service-overdue" not in play.codes(play.scan("lay up", pump))
    play.clock.passes(days=1)
    assert play.codes(play.scan("lay up", pump)) == ["service-overdue"]
    assert the(play, pump, date(2026, 3, 12)).stops


@pytest.mark.parametrize(
    ("shift", "day"),
    [("none", date(2026, 4, 3)), ("before", date(2026, 4, 2)), ("after", date(2026, 4, 7))],
)
def test_a_due_day_moves_off_good_friday_and_easter_and_the_row_behind_it_does_not_drift(
    play: Play, shift: Any, day: date
) -> None:
    pump = play.add("suction-pump")
    set_duty(play, pump, "service", date(2026, 4, 3), every_months=1, shift=shift)

    assert the(play, pump).next_due == day
    play.clock.now = datetime(2026, 4, 8, 12, tzinfo=UTC)
    met(play, pump, "service", date(2026, 4, 7))

    row = the(play, pump).row
    assert row is not None and row.next_due == date(2026, 5, 3)


def test_the_rule_book_says_where_a_due_day_moves_if_the_duty_does_not(play: Play) -> None:
    pump = play.add("suction-pump")
    set_duty(play, pump, "service", date(2026, 3, 8), every_months=1)  # a Sunday
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.set_rule(act, "due.closed-day", "before", "nobody comes on Sundays", TODAY)

    assert the(play, pump).next_due == date(2026, 3, 6)
    assert [d.next_due for d in duties.due(play.clinic, TODAY, within_days=2)] == [date(2026, 3, 6)]


def test_a_move_brings_the_next_calibration_forward_and_doing_it_ends_that(play: Play) -> None:
    audiometer = play.add("audiometer", place=play.places["room"])
    set_duty(
        play, audiometer, "calibration", date(2026, 12, 1), every_months=12, after_move_days=90
    )
    assert the(play, audiometer).next_due == date(2026, 12, 1)

    play.scan("store", play.places["shelf"], audiometer)
    moved = the(play, audiometer)
    met(play, audiometer, "calibration", TODAY)

    assert (moved.next_due, moved.brought_by) == (date(2026, 6, 2), "move")
    assert the(play, audiometer).brought_by == "day"


def test_coming_back_from_repair_brings_it_forward_too(play: Play) -> None:
    audiometer = play.add("audiometer")
    set_duty(play, audiometer, "calibration", date(2026, 12, 1), every_months=12, after_move_days=0)
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.send_out(act, audiometer, "A bench", "repair")
    play.clock.passes(minutes=5)
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.arrive(act, audiometer, "repaired")

    assert (the(play, audiometer).next_due, the(play, audiometer).standing) == (TODAY, "due")


# --- meters -----------------------------------------------------------------------------------


def test_hours_by_the_meter_count_through_a_replaced_one_and_one_that_went_round(
    play: Play,
) -> None:
    pump = play.add("suction-pump")
    set_duty(play, pump, every_count=100, counts="hours")

    read(play, pump, "9950")
    read(play, pump, "9990.5")
    read(play, pump, "3.5", how="rolled-over", ended=Decimal(10000))
    read(play, pump, "1", how="replaced", ended=Decimal("20"))

    assert the(play, pump).counted_says == "71 of 100 hours"  # 40.5 + 13 + 16.5 + 1
    assert rebuild.differences(play.clinic.store, play.clinic.settings.data) == []


def test_a_slip_is_corrected_by_the_reading_after_it(play: Play) -> None:
    pump = play.add("suction-pump")
    set_duty(play, pump, every_count=100, counts="hours")

    read(play, pump, "10")
    read(play, pump, "1500")
    read(play, pump, "15", how="corrects")

    assert the(play, pump).counted_says == "5 of 100 hours"


@pytest.mark.parametrize(
    ("reading", "more", "says"),
    [
        ("9", {}, "only goes up"),
        ("-1", {}, "below nought"),
        ("20.55", {}, "to a tenth"),
        ("3", {"how": "rolled-over"}, "begins again at nought"),
        ("30", {"how": "rolled-over", "ended": Decimal(100)}, "did not go round"),
        ("3", {"how": "replaced", "ended": Decimal(5)}, "cannot have shown 5 last"),
        ("3", {"how": "replaced", "began": Decimal(4)}, "less than the 4"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(
    play: Play, reading: str, more: dict[str, Any], says: str
) -> None:
    pump = play.add("suction-pump")
    read(play, pump, "20")

    with pytest.raises(Refused, match=says):
        read(play, pump, reading, **more)


# --- of a whole type --------------------------------------------------------------------------


def test_a_type_has_its_duty_for_what_is_there_and_what_comes_but_not_for_what_has_its_own(
    play: Play,
) -> None:
    there, own = play.add("suction-pump"), play.add("suction-pump")
    set_duty(play, own, "service", date(2026, 5, 1), every_months=3)
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_type_duty(act, "suction-pump", "service", date(2026, 6, 1), every_months=12)
    play.clock.passes(days=10)
    new = play.add("suction-pump")

    found = [the(play, tag).next_due for tag in (there, own, new)]

    assert found == [date(2026, 6, 1), date(2026, 5, 1), date(2027, 3, 14)]
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.drop_duty(act, "service", "by the maker now", code="suction-pump")
    assert duties.due_of(play.clinic, there, TODAY) == []
    assert the(play, own).next_due == date(2026, 5, 1)
    assert rebuild.differences(play.clinic.store, play.clinic.settings.data) == []


def serviced_each_year_in_sydney(play: Play) -> None:
    """Every pump; it is ten in the morning there."""
    with acting(play.clinic, by="") as act:
        act.tell(facts.SiteOpened, site="TEST", name="T", zone="Australia/Sydney", book="australia")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_type_duty(act, "suction-pump", "service", date(2026, 6, 1), every_months=12)
    play.clock.now = datetime(2026, 3, 10, 23, 0, tzinfo=UTC)


def test_what_comes_in_the_morning_far_from_greenwich_begins_on_its_own_day(play: Play) -> None:
    """At 23:00 in Greenwich it is ten in the morning of the next day in Sydney."""
    serviced_each_year_in_sydney(play)
    new = play.add("suction-pump")

    assert the(play, new).next_due == date(2027, 3, 11)


def test_an_older_book_in_which_they_began_a_day_early_is_folded_again(play: Play) -> None:
    serviced_each_year_in_sydney(play)
    new, store = play.add("suction-pump"), play.clinic.store
    early = Duty(date(2027, 3, 10), every_months=12)
    with store.writing():
        store.run("UPDATE duty SET goes_by = ?, next_due = '2027-03-10'", encode(early))
        store.run("DELETE FROM schema_migration WHERE name = '0028_days_of_type_duties'")

    rebuild.migrated(store)

    assert the(play, new).next_due == date(2027, 3, 11)
    assert rebuild.differences(store, play.clinic.settings.data) == []


def test_an_older_book_that_spelled_each_term_in_a_column_answers_the_same(play: Play) -> None:
    pump, store = play.add("suction-pump"), play.clinic.store
    set_duty(play, pump, every_count=3, counts="uses", already=1, cost=Decimal("12.50"))
    set_duty(play, pump, "report", certificate=True, not_after=date(2026, 9, 1), shift="before")
    met(play, pump, "report", TODAY, not_after=date(2027, 9, 1))
    used(play, pump, 2)
    before = duties.due_of(play.clinic, pump, TODAY)
    columns = import_module("equip.store.migrations.0014_duties").DutyRow
    store.run("DROP TABLE duty")
    with store.db.bind_ctx((columns,)):
        store.db.create_tables((columns,))
    store.run("DELETE FROM schema_migration WHERE name = '0030_duties_whole'")

    rebuild.migrated(store)

    assert [one.duty for one in before] == ["filter", "report"]
    assert duties.due_of(play.clinic, pump, TODAY) == before
    assert rebuild.differences(store, play.clinic.settings.data) == []


# --- used all the same ------------------------------------------------------------------------


def test_what_was_used_while_overdue_is_listed_then_and_once_it_was_done(play: Play) -> None:
    pump = play.add("suction-pump")
    set_duty(play, pump, "service", date(2026, 3, 3), every_months=12, grounds=True)

    used(play, pump, 2)
    now = late_use.late_use(play.clinic, the(play, pump), play.clock.now)
    met(play, pump, "service", TODAY)
    play.clock.passes(minutes=1)
    used(play, pump, 1)

    assert now is not None and now.uses == 2
    (been,) = late_use.been_late(play.clinic, pump, play.clock.now)
    assert (been.uses, been.duty, been.until is not None) == (2, "service", True)
    stands = item_rows.standing_of(play.clinic.store, pump)
    assert stands is not None and stands.quarantines == ()


def test_a_lot_whose_time_runs_out_is_in_the_list_until_it_is_taken_out_of_use(play: Play) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        lot = next_tag("T", 7)
        act.tell(
            facts.LotAdded, lot=lot, sort="wipe", name="Wipe", number="A1", expires=date(2026, 3, 1)
        )

    (one,) = duties.due(play.clinic, TODAY)

    assert (one.item, one.duty, one.standing, one.stops) == (lot, "stock expiry", "overdue", True)


# --- days that are none, days that are short ----------------------------------------------------


@pytest.mark.parametrize(
    ("zone", "day"),
    [
        ("Europe/London", date(2026, 3, 29)),  # an hour is left out
        ("Europe/London", date(2026, 10, 25)),  # an hour comes twice
        ("America/Sao_Paulo", date(2018, 11, 4)),  # midnight itself is left out
    ],
)
def test_a_day_ends_at_its_own_midnight_whichever_way_the_clocks_go(
    play: Play, zone: str, day: date
) -> None:
    play.clinic.house.zone = ZoneInfo(zone)

    end = late_use.end_of_day(play.clinic, day)

    here = end.astimezone(UTC).astimezone(ZoneInfo(zone))
    just_before = (end.astimezone(UTC) - timedelta(seconds=1)).astimezone(ZoneInfo(zone))
    assert here.date() == day + timedelta(days=1)
    assert just_before.date() == day


def test_a_site_that_changes_its_zone_keeps_its_due_days_and_proves_its_tables(play: Play) -> None:
    pump = play.add("suction-pump")
    set_duty(play, pump, "service", date(2028, 2, 29), every_months=12)
    set_duty(play, pump, "filter", every_count=1, counts="uses")
    play.clock.now = datetime(2026, 3, 4, 23, 30, tzinfo=UTC)
    used(play, pump, 1)
    before = {one.duty: one.next_due for one in duties.due_of(play.clinic, pump, TODAY)}
    with acting(play.clinic, by="") as act:
        act.tell(facts.SiteOpened, site="TEST", name="T", zone="Australia/Sydney", book="australia")

    after = {one.duty: one.next_due for one in duties.due_of(play.clinic, pump, TODAY)}

    assert (before["service"], after["service"]) == (date(2028, 2, 29),) * 2
    assert (before["filter"], after["filter"]) == (TODAY, date(2026, 3, 5))
    assert rebuild.differences(play.clinic.store, play.clinic.settings.data) == []


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"every_count": -1, "counts": "uses"}, "below nought"),
        ({"every_count": 5, "counts": "uses", "already": -1}, "below nought"),
        ({"every_count": 5}, "needs both"),
        ({"counts": "uses", "every_months": 1}, "needs both"),
        ({"every_months": 1, "already": 3}, "goes by no count"),
        ({"every_months": 1, "tolerance_days": -1}, "below nought"),
        ({"every_months": 1, "after_move_days": -1}, "below nought"),
        ({"every_months": 1, "cost": Decimal(-1)}, "below nought"),
        ({"every_months": 1, "not_after": date(2026, 9, 1)}, "needs no certificate"),
        ({"certificate": True, "not_after": date(2126, 9, 1)}, "look at the year"),
        ({}, "Say how often"),
    ],
)
def test_terms_that_make_no_sense_are_refused(play: Play, more: dict[str, Any], says: str) -> None:
    pump = play.add("suction-pump")

    with pytest.raises(Refused, match=says):
        set_duty(play, pump, **more)


def test_every_table_follows_from_the_ledger(play: Play) -> None:
    pump = play.add("suction-pump", place=play.places["room"])
    set_duty(play, pump, every_count=2, counts="uses", after_move_days=5)
    used(play, pump, 3)
    play.scan("start over", "store", play.places["shelf"], pump)
    met(play, pump, "filter", TODAY)
    used(play, pump, 1)
    play.scan("123456", pump, "undo", "undo")

    assert rebuild.differences(play.clinic.store, play.clinic.settings.data) == []
    assert ledger.sites(play.clinic.store)
    assert date.max == NO_DAY
