"""An irrigator meets its patients: its waterline is disinfected for the day, and a day missed."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

import msgspec
import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.act.answer import Answer
from equip.desk.lookback import exposure_answer
from equip.desk.lookback.cases import case_acts, case_evidence
from equip.desk.lookback.cases.case_evidence import EvidenceSeen
from equip.desk.lookback.exposure_answer import Scope
from equip.desk.lookback.water_path import WaterPath, water_path
from equip.desk.machines import lots
from equip.desk.register import items, stock
from equip.facts import Stated
from equip.rules.lookback.sweep import Exposure
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.ledger.ledger import Entry
from equip.store.readings import item_rows
from tests.support.playing import Play

AGENT = "hypochlorite-0.1"
ONE, TWO, THREE, FOUR = "123451", "123452", "123453", "123454"


@dataclass
class Room:
    """An irrigator, its handpieces and what its waterline is disinfected with."""

    play: Play
    irrigator: str
    handpieces: list[str]
    tablets: str

    def morning(self) -> Answer:
        """Disinfected, left in for its time, rinsed; then checked for the session."""
        self.play.scan("start over", "disinfect", self.tablets, self.irrigator)
        self.play.clock.passes(minutes=10)
        answer = self.play.scan("start over", "rinse", self.irrigator)
        self.checked()
        return answer

    def checked(self) -> None:
        self.play.scan("start over", "check", self.irrigator, "good", "37", "1")

    def evening(self) -> Answer:
        return self.play.scan("start over", "dry", self.irrigator)

    def next_day(self) -> None:
        now = self.play.clock.now
        tomorrow = (now + timedelta(days=1)).replace(hour=8, minute=0)
        self.play.clock.passes(seconds=(tomorrow - now).total_seconds())

    def used_on(self, *patients: str) -> None:
        for patient in patients:
            self.play.scan("start over", patient, self.irrigator, "finish")

    def asked(self, patient: str = FOUR) -> Answer:
        return self.play.scan("start over", patient, "start a use", self.irrigator)

    def token(self, patient: str) -> str:
        return self.play.clinic.vault.find(patient) or "?"

    def path(self) -> WaterPath:
        found = water_path(self.play.clinic, self.irrigator, self.play.clock.now)
        assert found is not None
        return found

    def exposed(self) -> dict[str, set[str]]:
        """Patients who were exposed by its water, and to whom, on present knowledge."""
        return self.by_whom(exposure_answer.open_now(self.play.clinic))

    def by_whom(self, found: list[Exposure]) -> dict[str, set[str]]:
        names = {self.token(one): one for one in (ONE, TWO, THREE, FOUR)}
        return {
            names[one.patient]: {names[source.patient or ""] for source in one.sources}
            for one in found
            if one.item == self.irrigator
        }


@pytest.fixture
def room(play: Play) -> Room:
    play.keeps_checks = False
    irrigator = play.add("irrigator")
    with acting(play.clinic, by=play.people["manager"]) as act:
        stated = Stated(contact_s=600, agent=AGENT, percent=Decimal("0.1"))
        tablets = lots.add(act, "waterline", "Tablets", "W-1", stated=stated)
    room = Room(play, irrigator, [], tablets)
    room.next_day()
    room.handpieces = [play.add("irrigator-handpiece", "go-live") for _ in range(3)]
    return room


# --- its gate ---------------------------------------------------------------------------------


def test_a_new_irrigator_says_no_until_its_waterline_is_disinfected_and_rinsed(room: Room) -> None:
    room.checked()
    new = room.asked()
    room.play.scan("start over", "disinfect", room.tablets, room.irrigator)
    room.play.clock.passes(minutes=10)
    unrinsed = room.asked()
    room.play.scan("start over", "rinse", room.irrigator)

    assert room.play.codes(new) == ["waterline-due"]
    assert new.reasons[0].says.startswith("Its waterline was not disinfected today")
    assert "step “rinse”" in unrinsed.reasons[0].says
    assert room.asked().tone == "yes"


def test_the_step_keeps_agent_strength_minutes_and_lot(room: Room) -> None:
    wet = room.play.scan("start over", "disinfect", room.tablets, room.irrigator)

    stands = item_rows.standing_of(room.play.clinic.store, room.irrigator)
    assert stands is not None
    (done,) = stands.done
    assert (done.steps, done.lots, done.contact_s) == (("disinfect",), (room.tablets,), 600)
    assert wet.word.startswith("In until")
    entries = [entry.fact for entry in _told(room)]
    assert any(
        isinstance(fact, facts.Stepped) and fact.with_what == "Tablets, 0.1 %" for fact in entries
    )


def _told(room: Room) -> list[Entry]:
    return told_about(room.play.clinic.store, room.irrigator)


def test_rinsed_too_early_is_refused_and_it_still_says_no(room: Room) -> None:
    room.play.scan("start over", "disinfect", room.tablets, room.irrigator)
    room.play.clock.passes(minutes=5)

    early = room.play.scan("start over", "rinse", room.irrigator)

    assert early.word.startswith("Wait")
    assert room.asked().tone == "no"


@pytest.mark.parametrize(
    ("stated", "code"),
    [
        (Stated(contact_s=600, agent=AGENT, percent=Decimal("0.05")), "too-weak"),
        (None, "lot-needed"),
    ],
)
def test_too_weak_a_solution_or_none_that_was_scanned_is_no_disinfection(
    room: Room, stated: Stated | None, code: str
) -> None:
    words = ["start over", "disinfect"]
    if stated is not None:
        with acting(room.play.clinic, by=room.play.people["manager"]) as act:
            words.append(lots.add(act, "waterline", "Weak tablets", "W-2", stated=stated))

    answer = room.play.scan(*words, room.irrigator)

    assert (answer.tone, room.play.codes(answer)) == ("no", [code])
    assert room.asked().tone == "no"


def test_wipes_disinfect_no_waterline_and_tablets_no_scope(room: Room) -> None:
    scope = room.play.add("scope-wiped")
    with acting(room.play.clinic, by=room.play.people["manager"]) as act:
        wipes = lots.add(act, "wipe", "Wipes", "W-3", stated=Stated(contact_s=60))

    by_wipe = room.play.scan("start over", "disinfect", wipes, room.irrigator)
    of_scope = room.play.scan("start over", "disinfect", room.tablets, scope)

    assert room.play.codes(by_wipe) == ["lot-unsuited"]
    assert room.play.codes(of_scope) == ["lot-unsuited"]


def test_a_packet_that_says_less_than_the_rule_is_left_in_as_long_as_the_rule_says(
    room: Room,
) -> None:
    with acting(room.play.clinic, by=room.play.people["manager"]) as act:
        quick = Stated(contact_s=60, agent=AGENT, percent=Decimal("0.5"))
        short = lots.add(act, "waterline", "Quick tablets", "W-4", stated=quick)
    room.play.scan("start over", "disinfect", short, room.irrigator)

    stands = item_rows.standing_of(room.play.clinic.store, room.irrigator)
    assert stands is not None
    assert stands.done[-1].contact_s == 600


@pytest.mark.parametrize(
    "stated",
    [
        Stated(contact_s=600, agent=AGENT),
        Stated(agent=AGENT, percent=Decimal("0.1")),
        Stated(contact_s=600, percent=Decimal("0.1")),
    ],
)
def test_a_lot_for_a_waterline_states_agent_strength_and_time(room: Room, stated: Stated) -> None:
    manager = room.play.people["manager"]
    with (
        pytest.raises(Refused, match="needs its agent"),
        acting(room.play.clinic, by=manager) as act,
    ):
        lots.add(act, "waterline", "Tablets", "W-5", stated=stated)


# --- its patients share it for the day --------------------------------------------------------


def test_it_serves_one_patient_after_the_other_of_a_day_and_exposes_nobody(room: Room) -> None:
    room.morning()

    first = room.asked(ONE)
    room.play.scan("finish")
    second = room.asked(TWO)

    assert (first.tone, second.tone) == ("yes", "yes")
    for answer in (first, second):
        assert answer.reasons[0].says.startswith("Last step “disinfect”")
    assert room.exposed() == {}
    assert [one.patient for one in room.path().uses] == [room.token(TWO), room.token(ONE)]
    assert room.path().holds


def test_a_wipe_of_its_case_between_patients_does_not_end_its_day(room: Room) -> None:
    room.morning()
    room.used_on(ONE)

    room.play.scan("start over", "wipe", room.irrigator)

    assert room.asked(TWO).tone == "yes"


def test_drained_it_serves_nobody_more_on_that_day(room: Room) -> None:
    room.morning()
    room.used_on(ONE)
    room.evening()

    assert room.play.codes(room.asked(TWO)) == ["waterline-due"]


def test_drained_before_anybody_it_serves_nobody_on_that_day_either(room: Room) -> None:
    room.morning()
    room.evening()

    answer = room.asked()

    assert room.play.codes(answer) == ["waterline-due"]
    assert answer.reasons[0].says.startswith("It was drained and dried for the day")


def test_a_fall_ends_its_day(room: Room) -> None:
    room.morning()
    room.used_on(ONE)

    room.play.scan("start over", "lay up", room.irrigator, "dropped")
    room.checked()

    assert room.play.codes(room.asked(TWO)) == ["waterline-due"]


def test_it_holds_to_midnight_and_no_longer(room: Room) -> None:
    room.morning()
    midnight = room.play.clock.now.replace(hour=23, minute=59, second=0)
    room.play.clock.passes(seconds=(midnight - room.play.clock.now).total_seconds())
    room.checked()
    assert room.asked().tone == "yes"

    room.play.clock.passes(minutes=2)

    assert "waterline-due" in room.play.codes(room.asked())


def test_dried_at_the_days_end_and_disinfected_in_the_morning_it_is_fit_again(room: Room) -> None:
    room.morning()
    room.used_on(ONE)
    room.evening()
    room.next_day()

    before = room.asked(TWO)
    room.morning()

    assert "waterline-due" in room.play.codes(before)
    assert room.asked(TWO).tone == "yes"
    assert room.exposed() == {}


def test_left_wet_overnight_it_says_no_until_it_is_dried_and_disinfected_anew(room: Room) -> None:
    room.morning()
    room.used_on(ONE)
    room.next_day()
    room.morning()

    wet = room.asked(TWO)
    room.evening()
    room.morning()

    assert room.play.codes(wet) == ["waterline-due"]
    assert "drained and dried" in wet.reasons[0].says
    assert room.asked(TWO).tone == "yes"


def test_water_that_stood_in_it_over_a_closed_week_is_not_forgotten(room: Room) -> None:
    room.morning()
    room.play.clock.passes(hours=24 * 9)
    room.morning()

    wet = room.asked(TWO)

    assert room.play.codes(wet) == ["waterline-due"]
    assert "drained and dried" in wet.reasons[0].says


def test_what_was_done_to_it_long_ago_is_kept_in_the_ledger_alone(room: Room) -> None:
    for _ in range(12):
        room.morning()
        room.evening()
        room.next_day()

    stands = item_rows.standing_of(room.play.clinic.store, room.irrigator)
    assert stands is not None
    assert len(stands.done) <= 9
    assert differences(room.play.clinic.store, room.play.clinic.settings.data) == []


def test_it_stays_left_wet_for_the_next_patient_too(room: Room) -> None:
    room.morning()
    room.used_on(ONE)
    room.next_day()
    room.morning()
    room.used_on(TWO)

    assert "drained and dried" in room.asked(THREE).reasons[-1].says


# --- a day missed -----------------------------------------------------------------------------


def missed(room: Room) -> None:
    """Two patients on a good day; on the next nobody disinfects, and two more are told of."""
    room.morning()
    room.used_on(ONE, TWO)
    room.evening()
    room.next_day()
    room.checked()
    room.used_on(THREE, FOUR)


def test_a_missed_disinfection_lists_the_patients_since_the_last_one(room: Room) -> None:
    missed(room)

    assert room.exposed() == {THREE: {ONE, TWO}, FOUR: {ONE, TWO, THREE}}
    path = room.path()
    assert (path.holds, path.patients) == (False, 4)
    assert path.since is not None
    assert path.since < path.uses[-1].at


def test_it_answers_no_nobody_may_set_that_aside_and_it_is_kept_back(room: Room) -> None:
    missed(room)

    refused = room.asked(ONE)
    anyway = room.play.scan("used anyway", who="manager")

    assert "waterline-due" in room.play.codes(refused)
    assert "Nobody can set this aside" in anyway.what + anyway.word + anyway.next
    stands = item_rows.standing_of(room.play.clinic.store, room.irrigator)
    assert stands is not None
    assert stands.quarantines


def test_its_handpiece_says_no_with_it_and_nobody_may_set_that_aside(room: Room) -> None:
    room.checked()

    answer = room.play.scan("start over", ONE, "start a use", room.handpieces[0])
    anyway = room.play.scan("used anyway", who="manager")

    assert room.play.codes(answer) == ["machine-failed"]
    assert "its waterline was not disinfected today" in answer.reasons[0].says
    assert "Nobody can set this aside" in anyway.what + anyway.word + anyway.next


def test_a_look_back_on_its_water_lists_whoever_rested_on_those_disinfections(room: Room) -> None:
    room.morning()
    room.used_on(ONE, TWO)
    room.evening()
    room.next_day()
    room.morning()
    room.used_on(THREE)
    play = room.play
    seen = EvidenceSeen(case_evidence.evidence_named("water"), room.irrigator)

    found = case_evidence.propose(play.clinic, seen, play.clock.now)
    answer = exposure_answer.look_back(play.clinic, Scope(gates=found.gates))

    assert len(found.gates) == 2
    assert "2 steps by hand are in doubt" in found.says
    assert room.by_whom(list(answer.exposures)) == {TWO: {ONE}, THREE: {ONE, TWO}}
    with acting(play.clinic, by=play.people["manager"]) as act:
        case_acts.open_case(act, found, room.irrigator, "a bad sample", found.loads, found.gates)
    assert room.exposed() == {TWO: {ONE}, THREE: {ONE, TWO}}
    assert "waterline-due" in play.codes(room.asked(FOUR))
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_a_look_back_on_the_machine_or_on_the_lot_lists_whoever_it_reached(room: Room) -> None:
    room.morning()
    room.used_on(ONE, TWO)
    clinic, now = room.play.clinic, room.play.clock.now

    by_machine = exposure_answer.of_machine(clinic, room.irrigator, now - timedelta(days=1), now)
    by_lot = exposure_answer.of_lot(clinic, room.tablets)

    assert by_machine.gates == by_lot.gates != ()
    for scope in (by_machine, by_lot):
        answer = exposure_answer.look_back(clinic, scope)
        assert room.by_whom(list(answer.exposures)) == {TWO: {ONE}}


def test_a_disinfection_that_is_taken_back_exposes_whoever_relied_on_it(room: Room) -> None:
    room.morning()
    room.used_on(ONE)
    room.evening()
    room.next_day()
    room.play.scan("start over", "disinfect", room.tablets, room.irrigator)
    (done,) = [entry.fact for entry in _told(room)[-1:] if isinstance(entry.fact, facts.Stepped)]
    room.play.clock.passes(minutes=10)
    room.play.scan("start over", "rinse", room.irrigator)
    room.checked()
    room.used_on(TWO)
    assert room.exposed() == {}

    with acting(room.play.clinic, by=room.play.people["manager"]) as act:
        act.tell(facts.Withdrawn, withdrawn=done.act, covers=(room.irrigator,))

    assert room.exposed() == {TWO: {ONE}}
    assert differences(room.play.clinic.store, room.play.clinic.settings.data) == []


def test_against_spores_the_disinfection_of_a_waterline_stops_nothing(room: Room) -> None:
    room.morning()
    room.used_on(ONE, TWO)

    found = exposure_answer.open_now(room.play.clinic, "spores")

    assert room.by_whom(found) == {TWO: {ONE}}


def test_told_late_the_disinfection_of_the_day_counts_for_its_patients(room: Room) -> None:
    room.checked()
    room.used_on(ONE, TWO)
    assert room.exposed() == {TWO: {ONE}}
    late = room.play.clock.now - timedelta(hours=1)

    with acting(room.play.clinic, by=room.play.people["nurse"]) as act:
        act.tell(
            facts.Stepped,
            item=room.irrigator,
            step="disinfect",
            at=late,
            lots=(room.tablets,),
            contact_s=600,
            agent=AGENT,
            stops=("bacteria-viruses",),
        )

    assert room.exposed() == {}


# --- who meets it without a scan --------------------------------------------------------------


def test_the_only_irrigator_meets_the_patient_of_its_handpiece_without_a_scan(room: Room) -> None:
    room.morning()

    room.play.scan("start over", ONE, "start a use", room.handpieces[0], "finish")

    assert [one.patient for one in room.path().uses] == [room.token(ONE)]


def test_of_several_the_one_in_the_place_in_hand_meets_the_patient(room: Room) -> None:
    play = room.play
    other = play.add("irrigator", place=play.places["room"])
    room.morning()
    play.watered(other)
    play.checked(other)

    play.scan("start over", play.places["room"], ONE, room.handpieces[0])

    found = water_path(play.clinic, other, play.clock.now)
    assert found is not None
    assert [one.patient for one in found.uses] == [room.token(ONE)]
    assert room.path().uses == ()


def test_where_several_can_be_meant_its_scan_is_asked_for(room: Room) -> None:
    play = room.play
    other = play.add("irrigator")
    room.morning()
    play.watered(other)
    play.checked(other)

    asks = play.scan("start over", ONE, "start a use", room.handpieces[0])
    finished = play.scan("finish")
    play.scan("one more", room.irrigator)
    assert play.scan("finish").reasons == ()
    play.scan("one more")
    after = play.scan(room.handpieces[1])

    says = "Scan the irrigator that it is used with: there are several."
    assert says in [one.says for one in asks.reasons]
    assert finished.tone == "warn"
    assert finished.reasons[0].says.startswith(f"{says} Say “one more”")
    assert [one.patient for one in room.path().uses] == [room.token(ONE)]
    assert says not in [one.says for one in after.reasons]


def test_an_unfit_irrigator_behind_a_handpiece_is_kept_back_and_exposes(room: Room) -> None:
    room.morning()
    room.used_on(ONE)
    room.evening()
    room.next_day()
    room.checked()

    answer = room.play.scan("start over", TWO, room.handpieces[0])

    assert answer.tone == "no"
    assert "exposed" in room.play.codes(answer)
    assert room.exposed() == {TWO: {ONE}}
    stands = item_rows.standing_of(room.play.clinic.store, room.irrigator)
    assert stands is not None
    assert stands.quarantines


# --- the register -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"code": "jug", "sort": "instrument"}, "Irrigator is no machine"),
        ({"contact": "neither"}, "is no machine that touches"),
        ({"route": ()}, "nothing effective on its route"),
    ],
)
def test_only_a_machine_with_a_gate_is_shared_for_the_day(
    room: Room, change: dict[str, object], says: str
) -> None:
    kind = msgspec.structs.replace(room.play.clinic.house.types["irrigator"], **change)

    with pytest.raises(Refused, match=says), acting(room.play.clinic, by="") as act:
        items.define_type(act, kind)


def test_stock_says_ready_or_why_not(room: Room) -> None:
    def shown() -> stock.Thing:
        found = stock.thing(room.play.clinic, room.irrigator, room.play.clock.now)
        assert found is not None
        return found

    room.checked()
    assert not shown().fit
    room.morning()
    room.used_on(ONE)

    assert shown().fit
    assert shown().round == "ready"


# --- used while the solution was still in it --------------------------------------------------


def test_used_while_the_solution_was_in_it_its_disinfection_serves_nobody_later(room: Room) -> None:
    """A look at it lifts the quarantine, and makes no gate of what was cut short."""
    play = room.play
    room.checked()
    play.scan("start over", "disinfect", room.tablets, room.irrigator)
    play.clock.passes(minutes=3)
    room.used_on(ONE)
    play.clock.passes(minutes=9)
    play.scan("start over", "rinse", room.irrigator)
    stands = item_rows.standing_of(play.clinic.store, room.irrigator)
    assert stands is not None
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.lift(act, room.irrigator, "looked at", items.name_of(stands.quarantines[0]))

    answer = room.asked(TWO)
    room.used_on(TWO)

    assert play.codes(answer) == ["waterline-due"]
    assert "used before its time was up" in answer.reasons[0].says
    assert room.exposed() == {TWO: {ONE}}
    assert differences(play.clinic.store, play.clinic.settings.data) == []
