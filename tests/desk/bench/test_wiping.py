"""A scope wiped with lots: scanned, timed, let go by whoever may, and what is refused."""

from dataclasses import dataclass
from datetime import date, timedelta
from uuid import uuid4

import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.bench import scanning
from equip.desk.lookback import exposure_answer, gate_words, history
from equip.desk.machines import contact_times, lots
from equip.desk.register import items
from equip.facts import LotSort, Stated
from equip.rules.fitness.standing import Standing
from equip.store.fold import rebuild
from equip.store.fold.met import Contacts
from equip.store.ledger.about import told_about
from equip.store.readings import item_rows, lot_rows
from tests.support.playing import Play


@dataclass
class Wiping:
    play: Play
    scope: str
    lot: str

    @property
    def stands(self) -> Standing:
        stands = item_rows.standing_of(self.play.clinic.store, self.scope)
        assert stands is not None
        return stands

    def told(self, kind: type[facts.Fact], subject: str = "") -> list[facts.Fact]:
        entries = told_about(self.play.clinic.store, subject or self.scope)
        return [entry.fact for entry in entries if isinstance(entry.fact, kind)]

    def refuse_without_lot(self) -> None:
        with acting(self.play.clinic, by=self.play.people["manager"]) as act:
            items.set_rule(act, "wipe.lot-needed", "true", "traced", act.house.today(act.at))


def come_in(
    play: Play,
    sort: LotSort = "wipe",
    contact_s: int = 60,
    agent: str = "chlorine-dioxide",
    **more: object,
) -> str:
    number = f"N-{len(lot_rows.lots(play.clinic.store)) + 1}"
    stated = Stated(contact_s=contact_s, agent=agent) if sort == "wipe" else Stated()
    with acting(play.clinic, by=play.people["nurse"]) as act:
        return lots.add(act, sort, "Lot one", number, stated=stated, **more)  # type: ignore[arg-type]


@pytest.fixture
def wiping(play: Play) -> Wiping:
    """A used scope that was cleaned, and a lot of wipes that stay wet for a minute."""
    wiping = Wiping(play, play.add("scope-wiped", "go-live"), come_in(play))
    play.scan("123456", wiping.scope, "finish", "start over", "clean", wiping.scope)
    return wiping


def test_the_answer_says_until_when_it_stays_wet_and_what_comes_then(wiping: Wiping) -> None:
    answer = wiping.play.scan("disinfect", wiping.lot, wiping.scope)

    until = wiping.play.clock.now + timedelta(seconds=60)
    local = until.astimezone(wiping.play.clinic.house.zone)
    assert (answer.tone, answer.word) == ("note", f"Wet until {local:%H:%M:%S}")
    assert answer.next == "Then rinse."
    [step] = wiping.told(facts.Stepped)[1:]
    assert isinstance(step, facts.Stepped)
    assert (step.lots, step.contact_s, step.unreleased) == ((wiping.lot,), 60, False)


def test_its_first_use_opens_the_lot_and_the_second_does_not(wiping: Wiping) -> None:
    other = wiping.play.add("scope-wiped")

    wiping.play.scan("disinfect", wiping.lot, wiping.scope, other)

    assert len(wiping.told(facts.LotOpened, wiping.lot)) == 1
    assert len(wiping.told(facts.Stepped, wiping.lot)) == 2


@pytest.mark.parametrize("at", ["bench 1", "bench 2"])
def test_a_rinse_before_the_time_is_up_is_refused_at_any_bench(wiping: Wiping, at: str) -> None:
    wiping.play.scan("disinfect", wiping.lot, wiping.scope)
    wiping.play.reply("rinse", at=at, seconds=7)

    early = wiping.play.reply(wiping.scope, at=at, seconds=30).answer

    assert (early.tone, early.word) == ("no", "Wait 23 s more")
    assert [step.step for step in _steps(wiping)] == ["clean", "disinfect"]
    assert len(wiping.told(facts.StepRefused)) == 1

    in_time = wiping.play.reply(wiping.scope, at=at, seconds=23).answer

    assert (in_time.tone, in_time.next) == ("note", "Put it away.")
    assert wiping.play.scan("lay up", wiping.scope).tone == "yes"


def test_a_refused_rinse_is_nothing_to_take_back(wiping: Wiping) -> None:
    wiping.play.scan("disinfect", wiping.lot, wiping.scope, "rinse")
    before = scanning.sight(wiping.play.clinic, "bench 1", wiping.play.clock.now).context.undoable

    wiping.play.scan(wiping.scope)

    assert (
        scanning.sight(wiping.play.clinic, "bench 1", wiping.play.clock.now).context.undoable
        == before
    )


def test_wet_it_is_no_and_told_after_a_patient_it_is_kept_back_with_its_reason(
    wiping: Wiping,
) -> None:
    wiping.play.scan("disinfect", wiping.lot, wiping.scope)
    assert wiping.play.codes(wiping.play.scan("lay up", wiping.scope)) == ["still-wet"]

    told = wiping.play.scan("654321", wiping.scope)

    assert (told.word, wiping.play.codes(told)) == ("Used, not fit", ["exposed", "still-wet"])
    exposed = exposure_answer.open_now(wiping.play.clinic)
    assert [(one.item, one.certainty.word) for one in exposed] == [(wiping.scope, "certain")]


def test_a_rinse_told_late_is_written_down_and_the_wipe_does_not_count(wiping: Wiping) -> None:
    wiping.play.scan("disinfect", wiping.lot, wiping.scope)
    wiped = wiping.play.clock.now
    wiping.play.clock.passes(seconds=600)

    for text, after in (("rinse", 10), (wiping.scope, 20)):
        at = wiped + timedelta(seconds=after)
        order = scanning.Scan(str(uuid4()), "bench 2", text, at=at)
        answer = scanning.scan(wiping.play.clinic, order, wiping.play.people["nurse"]).answer

    assert (answer.tone, answer.word) == ("no", "Too early")
    assert [step.at - wiped for step in _steps(wiping)][-1] == timedelta(seconds=20)
    asked = wiping.play.scan("lay up", wiping.scope)
    assert wiping.play.codes(asked) == ["step-refused"]
    assert "wet for 20 s" in asked.reasons[0].says
    lines = history.page(wiping.play.clinic, wiping.scope).lines
    assert [line.margin for line in lines if "“disinfect” done" in line.text] == [""]


def test_a_wipe_that_was_kept_is_a_gate_in_the_logbook_that_names_who_let_it_go(
    wiping: Wiping,
) -> None:
    wiping.play.scan("disinfect", wiping.lot, wiping.scope, "rinse")
    wiping.play.reply(wiping.scope, seconds=61)

    [line] = [
        line
        for line in history.page(wiping.play.clinic, wiping.scope).lines
        if "“disinfect”" in line.text
    ]

    assert line.margin == "gate"
    assert f"{wiping.play.people['nurse']} releases it" in line.text
    assert wiping.lot in line.text


@pytest.mark.parametrize(
    ("right", "signed", "lets_go"),
    [("wipe", "pia", True), ("lift", "pia", False), ("wipe", "nurse", False)],
)
def test_only_a_badge_with_the_right_that_is_signed_in_lets_it_go(
    wiping: Wiping, right: str, signed: str, lets_go: bool
) -> None:
    with acting(wiping.play.clinic, by="") as act:
        badge = items.add_person(act, "Pia Fern", "nurse", [right])
    wiping.play.people["pia"] = badge
    wiping.play.scan("start over", badge, "disinfect", wiping.lot, who=signed)

    answer = wiping.play.scan(wiping.scope, who=signed)

    assert (answer.tone == "note") == lets_go
    wiping.play.clock.passes(seconds=120)
    wiping.play.scan("rinse", wiping.scope)
    asked = wiping.play.scan("lay up", wiping.scope)
    assert (asked.tone == "yes") == lets_go
    assert lets_go or answer.word == "Does not count"
    if signed == "nurse":
        assert (
            "The badge of Pia Fern is in hand, and Nell Ash is signed in" in answer.reasons[0].says
        )


def test_a_lot_that_may_not_serve_is_refused_with_its_reasons_and_nothing_is_lost(
    wiping: Wiping,
) -> None:
    old = come_in(wiping.play, expires=date(2020, 1, 31))

    scanned = wiping.play.scan("disinfect", old)
    answer = wiping.play.scan(wiping.scope)

    assert (scanned.tone, scanned.word) == ("no", "Not this lot")
    assert (answer.tone, wiping.play.codes(answer)) == ("no", ["lot-expired"])
    assert [step.step for step in _steps(wiping)] == ["clean"]
    assert len(wiping.told(facts.StepRefused, old)) == 1
    assert wiping.told(facts.LotOpened, old) == []
    assert wiping.play.scan(wiping.lot, wiping.scope).tone == "note"


@pytest.mark.parametrize(
    ("step", "what", "taken"),
    [("disinfect", "detergent", False), ("clean", "detergent", True), ("clean", "other", True),
     ("clean", "test-strip", False), ("disinfect", "other", False)],
)  # fmt: skip
def test_a_lot_serves_only_the_steps_it_is_for(
    wiping: Wiping, step: str, what: LotSort, taken: bool
) -> None:
    lot = come_in(wiping.play, what)

    answer = wiping.play.scan("start over", step, lot, wiping.scope)

    assert (answer.tone == "note") == taken
    assert taken or wiping.play.codes(answer) == ["lot-unsuited"]


def test_each_step_keeps_its_own_lot_in_hand_until_start_over(wiping: Wiping) -> None:
    cloth, rinse = come_in(wiping.play, "detergent"), come_in(wiping.play, "other")
    wiping.play.scan("clean", cloth, wiping.scope, "disinfect", wiping.lot, wiping.scope)
    wiping.play.clock.passes(seconds=60)
    wiping.play.scan("rinse", rinse, wiping.scope)
    other = wiping.play.add("scope-wiped")

    wiping.play.scan("clean", other, "disinfect", other)
    wiping.play.clock.passes(seconds=60)
    wiping.play.scan("start over", "clean", other)

    told = [entry.fact for entry in told_about(wiping.play.clinic.store, other)]
    lots_of = [fact.lots for fact in told if isinstance(fact, facts.Stepped)]
    assert lots_of == [(cloth,), (wiping.lot,), ()]
    assert _steps(wiping)[-1].lots == (rinse,)


def test_a_rinse_with_water_is_not_put_on_the_lot_of_the_wipe(wiping: Wiping) -> None:
    wiping.play.scan("disinfect", wiping.lot, wiping.scope)
    wiping.play.clock.passes(seconds=60)

    wiping.play.scan("rinse", wiping.scope)

    assert _steps(wiping)[-1].lots == ()


def test_a_lot_scanned_ahead_of_the_card_is_that_of_the_step(wiping: Wiping) -> None:
    ahead = wiping.play.scan("start over", wiping.lot)
    wiping.play.scan("disinfect", wiping.scope)

    assert "disinfect" in ahead.options
    assert _steps(wiping)[-1].lots == (wiping.lot,)


def test_without_a_lot_a_step_counts_for_nothing_or_is_refused_as_the_rule_says(
    wiping: Wiping,
) -> None:
    free = wiping.play.scan("disinfect", wiping.scope)
    assert (free.tone, free.word) == ("no", "Does not count")
    assert wiping.play.codes(free) == ["stops-too-little"]
    assert "scan the packet" in free.reasons[0].says
    asked = wiping.play.scan("rinse", wiping.scope, "start over", "lay up", wiping.scope)
    assert wiping.play.codes(asked) == ["stops-too-little"]

    wiping.refuse_without_lot()
    refused = wiping.play.scan("disinfect", wiping.scope)

    assert (refused.tone, wiping.play.codes(refused)) == ("no", ["lot-needed"])
    assert wiping.play.scan("rinse", wiping.scope).tone == "note"


def test_taking_a_wipe_back_stops_its_clock_and_start_over_does_not(wiping: Wiping) -> None:
    wiping.play.scan("disinfect", wiping.lot, wiping.scope, "start over")
    assert len(_running(wiping)) == 1

    wiping.play.scan("undo", "undo")

    assert _running(wiping) == []
    assert wiping.play.scan("rinse", wiping.scope).tone == "note"


def test_what_runs_counts_down_and_says_when_it_is_over(wiping: Wiping) -> None:
    wiping.play.scan("disinfect", wiping.lot, wiping.scope)
    wiping.play.clock.passes(seconds=20.5)
    assert [one.left_s for one in _running(wiping)] == [40]

    wiping.play.clock.passes(seconds=100)
    assert [one.left_s for one in _running(wiping)] == [0]

    wiping.play.scan("rinse", wiping.scope)
    assert _running(wiping) == []


def test_it_cannot_be_packed_wet(wiping: Wiping) -> None:
    answer = wiping.play.scan("disinfect", wiping.lot, wiping.scope, "pack", wiping.scope)

    assert (answer.tone, answer.word) == ("no", "Wait")


def test_the_history_of_a_lot_lists_everything_it_touched(wiping: Wiping) -> None:
    wiping.play.scan("disinfect", wiping.lot, wiping.scope)

    page = history.page(wiping.play.clinic, wiping.lot)

    assert page.title.startswith("Lot N-1 of Lot one")
    assert [line.kind for line in page.lines] == ["lot-added", "lot-opened", "stepped"]
    assert wiping.scope in page.lines[-1].text


def test_a_lot_stands_nowhere_and_the_fold_is_reproducible(wiping: Wiping) -> None:
    wiping.play.scan("disinfect", wiping.lot, wiping.scope)

    assert item_rows.standing_of(wiping.play.clinic.store, wiping.lot) is None
    scratch = wiping.play.clinic.settings.data
    scratch.mkdir(parents=True, exist_ok=True)
    assert rebuild.differences(wiping.play.clinic.store, scratch) == []


def test_an_unknown_lot_is_not_read(wiping: Wiping) -> None:
    assert wiping.play.scan("disinfect", "T000000015").tone == "unread"


def _steps(wiping: Wiping) -> list[facts.Stepped]:
    return [step for step in wiping.told(facts.Stepped) if isinstance(step, facts.Stepped)]


def _running(wiping: Wiping) -> list[contact_times.Running]:
    now = wiping.play.clock.now
    return contact_times.running(
        wiping.play.clinic, scanning.sight(wiping.play.clinic, "bench 1", now).context, now
    )


def test_between_two_patients_it_lets_nothing_through_and_without_it_everything(
    wiping: Wiping,
) -> None:
    play = wiping.play
    play.scan("disinfect", wiping.lot, wiping.scope)
    play.clock.passes(minutes=2)
    play.scan("rinse", wiping.scope, "start over", "234567", wiping.scope, "finish")
    after_it = exposure_answer.open_now(play.clinic)
    play.scan("start over", "clean", wiping.scope, "start over", "345678", wiping.scope)

    without = exposure_answer.open_now(play.clinic)

    assert after_it == []
    assert [len(one.sources) for one in without] == [1]


# --- what the agent on the wipe stops ---------------------------------------------------------


def _round(wiping: Wiping, lot: str, patient: str = "234567") -> None:
    """Wiped with *lot*, its whole contact time, rinsed; then used on the next patient."""
    play = wiping.play
    play.scan("start over", "disinfect", lot, wiping.scope)
    play.clock.passes(minutes=2)
    play.scan("start over", "rinse", wiping.scope, "start over", patient, wiping.scope, "finish")


def _exposed(wiping: Wiping, hazard: facts.Hazard) -> int:
    return len(exposure_answer.open_now(wiping.play.clinic, hazard))


def test_the_step_keeps_its_agent_what_that_stops_and_by_which_rules(wiping: Wiping) -> None:
    wiping.play.scan("disinfect", wiping.lot, wiping.scope)

    step = _steps(wiping)[-1]

    assert (step.agent, step.stops) == ("chlorine-dioxide", ("bacteria-viruses", "spores"))
    assert "stops.chlorine-dioxide.spores" in {rule.id for rule in step.rules}


def test_an_alcohol_wipe_stops_no_spores_and_its_look_back_says_so(wiping: Wiping) -> None:
    alcohol = come_in(wiping.play, agent="alcohol-70")
    with acting(wiping.play.clinic, by=wiping.play.people["manager"]) as act:
        rule = "hazard.bacteria-viruses.needs-other-viruses"
        items.set_rule(act, rule, "false", "our policy", act.house.today(act.at))

    _round(wiping, alcohol)

    assert (_exposed(wiping, "bacteria-viruses"), _exposed(wiping, "spores")) == (0, 1)
    [one] = exposure_answer.open_now(wiping.play.clinic, "spores")
    [shown] = [
        gate_words.says(wiping.play.clinic, contact, "spores")
        for contact in Contacts(wiping.play.clinic.store, "spores").of(one.item)
        if contact.what == "gate"
    ]
    assert "Disinfect by hand with alcohol-70 does not stop spores" in shown


def test_a_sporicidal_wipe_lets_no_spores_through_either(wiping: Wiping) -> None:
    _round(wiping, wiping.lot)

    assert (_exposed(wiping, "bacteria-viruses"), _exposed(wiping, "spores")) == (0, 0)


def test_a_wipe_that_stops_too_little_does_not_count_and_says_what_to_scan(
    wiping: Wiping,
) -> None:
    alcohol = come_in(wiping.play, agent="alcohol-70")

    answer = wiping.play.scan("disinfect", alcohol, wiping.scope)

    assert (answer.tone, answer.word) == ("no", "Does not count")
    assert "alcohol-70" in answer.reasons[0].says
    assert "Scan a packet" in answer.next
    wiping.play.clock.passes(minutes=2)
    asked = wiping.play.scan("rinse", wiping.scope, "start over", "lay up", wiping.scope)
    assert wiping.play.codes(asked) == ["stops-too-little"]
    lines = history.page(wiping.play.clinic, wiping.scope).lines
    assert [line.margin for line in lines if "“disinfect” done" in line.text] == [""]


def test_a_lot_of_which_nobody_told_the_agent_stops_nothing(wiping: Wiping) -> None:
    unknown = come_in(wiping.play, agent="")

    scanned = wiping.play.scan("disinfect", unknown)
    answer = wiping.play.scan(wiping.scope)

    assert any("nobody told its agent" in one.says.lower() for one in scanned.reasons)
    assert wiping.play.codes(answer) == ["stops-too-little"]
    assert _steps(wiping)[-1].stops == ()


def test_whoever_may_not_let_it_go_does_not_do_so_by_leaving_out_the_lot(wiping: Wiping) -> None:
    with acting(wiping.play.clinic, by="") as act:
        badge = items.add_person(act, "Pia Fern", "nurse", [])

    for scans in (("disinfect", wiping.lot, wiping.scope), ("disinfect", wiping.scope)):
        answer = wiping.play.scan("start over", badge, *scans)
        assert (answer.tone, answer.word) == ("no", "Does not count")
        wiping.play.clock.passes(minutes=2)
        asked = wiping.play.scan("rinse", wiping.scope, "start over", "lay up", wiping.scope)
        assert asked.tone == "no"


def test_an_expired_lot_is_not_replaced_by_none(wiping: Wiping) -> None:
    old = come_in(wiping.play, expires=date(2020, 1, 31))
    wiping.play.scan("disinfect", old, wiping.scope)

    wiping.play.scan("start over", "disinfect", wiping.scope)
    wiping.play.clock.passes(minutes=2)

    asked = wiping.play.scan(
        "start over", "rinse", wiping.scope, "start over", "lay up", wiping.scope
    )
    assert wiping.play.codes(asked) == ["stops-too-little"]


# --- wipes of before, whose packets named no agent --------------------------------------------


def _as_told_before(wiping: Wiping, lot: str) -> None:
    """A wipe with *lot* and the rinse after it, as they were told before anybody asked for more."""
    with acting(wiping.play.clinic, by=wiping.play.people["nurse"]) as act:
        act.tell(facts.Stepped, item=wiping.scope, step="disinfect", lots=(lot,), contact_s=60)
    wiping.play.clock.passes(minutes=2)
    wiping.play.scan("start over", "rinse", wiping.scope, "start over")


def _differences(wiping: Wiping) -> list[str]:
    clinic = wiping.play.clinic
    clinic.settings.data.mkdir(parents=True, exist_ok=True)
    return rebuild.differences(clinic.store, clinic.settings.data)


def test_an_old_wipe_stops_nothing_until_somebody_says_what_is_in_the_packet(
    wiping: Wiping,
) -> None:
    unknown, play = come_in(wiping.play, agent=""), wiping.play
    _as_told_before(wiping, unknown)
    before = play.scan("lay up", wiping.scope)
    play.scan("start over", "234567", wiping.scope, "finish")
    exposed = _exposed(wiping, "bacteria-viruses")

    with acting(play.clinic, by=play.people["manager"]) as act:
        lots.describe(act, unknown, "chlorine-dioxide")

    assert (play.codes(before), exposed) == (["stops-too-little"], 1)
    assert (_exposed(wiping, "bacteria-viruses"), _exposed(wiping, "spores")) == (0, 0)
    [told] = wiping.told(facts.LotDescribed)
    assert isinstance(told, facts.LotDescribed)
    assert told.covers == (wiping.scope,)
    lot = lot_rows.lot_of(play.clinic.store, unknown)
    assert lot is not None
    assert lot.stated.agent == "chlorine-dioxide"
    assert _differences(wiping) == []


def test_a_packet_that_turns_out_to_be_alcohol_leaves_the_old_wipe_as_nothing(
    wiping: Wiping,
) -> None:
    unknown, play = come_in(wiping.play, agent=""), wiping.play
    _as_told_before(wiping, unknown)

    with acting(play.clinic, by=play.people["manager"]) as act:
        lots.describe(act, unknown, "alcohol-70")

    asked = play.scan("lay up", wiping.scope)
    assert play.codes(asked) == ["stops-too-little"]
    assert "alcohol-70" in asked.reasons[0].says
    assert _differences(wiping) == []


def test_what_a_packet_holds_is_told_once_and_by_an_agent_that_is_known(wiping: Wiping) -> None:
    unknown = come_in(wiping.play, agent="")

    with acting(wiping.play.clinic, by=wiping.play.people["manager"]) as act:
        with pytest.raises(Refused, match="is no agent of the rule book"):
            lots.describe(act, unknown, "water")
        with pytest.raises(Refused, match="is told already"):
            lots.describe(act, wiping.lot, "alcohol-70")
