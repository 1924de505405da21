"""A scope soaked in a bath: filled, timed by the bench, judged by its agent, let go."""

from dataclasses import dataclass
from datetime import date, timedelta
from uuid import uuid4

import pytest

from equip import facts
from equip.demo.cycles import steam_log
from equip.desk.act.act import Refused, acting
from equip.desk.act.answer import Answer
from equip.desk.bench import scanning
from equip.desk.cycles import rejudging
from equip.desk.cycles.reasons import explained
from equip.desk.loads import loads, soak_acts
from equip.desk.loads.end import Evidence, LogFile, ReadOff, SoakChecks, end_load
from equip.desk.lookback import exposure_answer, history
from equip.desk.machines import baths, lots, sheets
from equip.desk.register import items
from equip.facts import LotSort, Stated
from equip.rules.loads.load import Load
from equip.store.fold import rebuild
from equip.store.ledger.about import told_about
from equip.store.readings import load_rows, lot_rows
from tests.support.playing import Play

WARM = {"celsius": "20.0", "strip": "pass"}


def come_in(play: Play, sort: LotSort = "agent", agent: str = "opa-0.55", **more: object) -> str:
    number = f"A-{len(lot_rows.lots(play.clinic.store)) + 1}"
    stated = Stated(agent=agent if sort == "agent" else "")
    with acting(play.clinic, by=play.people["nurse"]) as act:
        return lots.add(act, sort, "Lot one", number, stated=stated, **more)  # type: ignore[arg-type]


@dataclass
class Soaking:
    play: Play
    bath: str
    scope: str
    lot: str

    @property
    def load(self) -> Load:
        load = load_rows.last_load(self.play.clinic.store, self.bath)
        assert load is not None
        return load

    def fill(self, lot: str = "") -> Answer:
        return self.play.scan("start over", self.bath, "fill the bath", lot or self.lot)

    def soak(self, minutes: float = 12) -> Answer:
        """In and out again after so many minutes, to the second."""
        self.play.scan("start over", self.bath, self.scope)
        self.play.reply("start the load")
        return self.play.reply("end the load", seconds=minutes * 60).answer

    def end(self, values: dict[str, str] | None = None, **more: object) -> None:
        with acting(self.play.clinic, by=self.play.people["nurse"]) as act:
            end_load(act, self.load, SoakChecks(values or {}, **more))  # type: ignore[arg-type]

    def rule(self, name: str, value: str) -> None:
        with acting(self.play.clinic, by=self.play.people["manager"]) as act:
            items.set_rule(act, name, value, "as our maker asks", act.house.today(act.at))


@pytest.fixture
def soak(play: Play) -> Soaking:
    """A bath filled with OPA today, and a used scope that was cleaned."""
    soak = Soaking(play, play.add("soak-bath"), play.add("scope-wiped", "go-live"), come_in(play))
    play.scan("123456", soak.scope, "finish", "start over", "clean", soak.scope)
    soak.fill()
    return soak


def test_a_soak_from_the_bath_to_the_next_patient(soak: Soaking) -> None:
    assert soak.soak().word == "Ended"
    soak.end(WARM)

    assert (soak.load.verdict, soak.load.state) == ("pass", "judged")
    assert soak.load.figures == {
        "soak_min": "12.00", "celsius": "20.0", "day_of_use": "1", "strip": "pass"
    }  # fmt: skip
    kept = {rule.id for rule in soak.load.rules}
    assert "soak.opa-0.55.minutes" in kept
    assert "soak.basis" not in kept, "one figure is in print: nothing was chosen"
    soak.play.scan(soak.load.load, "release", "rinse", soak.scope)
    assert soak.play.scan("lay up", soak.scope).tone == "yes"


def test_without_the_rinse_it_is_not_fit(soak: Soaking) -> None:
    soak.soak()
    soak.end(WARM)
    soak.play.scan(soak.load.load, "release")

    asked = soak.play.scan("lay up", soak.scope)

    assert soak.play.codes(asked) == ["step-missing"]
    assert "“rinse”" in asked.reasons[0].says


def test_the_answer_to_the_start_says_until_when_it_stays_in(soak: Soaking) -> None:
    answer = soak.play.scan("start over", soak.bath, soak.scope, "start the load")

    until = soak.play.clock.now + timedelta(minutes=12)
    local = until.astimezone(soak.play.clinic.house.zone)
    assert answer.word == f"Soak until {local:%H:%M:%S}"
    [running] = soak_acts.running(soak.play.clinic, soak.play.clock.now)
    assert (running.left_s, running.tag) == (720, soak.load.load)


def test_out_early_is_refused_at_the_bench_and_on_its_end_it_is_not(
    soak: Soaking,
) -> None:
    early = soak.soak(minutes=11.95)
    assert (early.tone, early.word) == ("no", "3 s more")
    assert soak.load.state == "running"

    assert soak.play.scan("end the load").tone == "note"


def test_an_early_end_is_owned_to_on_the_page_and_fails(soak: Soaking) -> None:
    soak.soak(minutes=7.5)
    with pytest.raises(Refused, match="4 min 30 s more"):
        soak.end()

    soak.end(early=True)

    assert soak.load.verdict == "fail"
    assert soak.load.figures["soak_min"] == "7.50"
    assert "It soaked for 7.5 min" in soak.load.reasons[0].says
    asked = soak.play.scan("lay up", soak.scope)
    assert soak.play.codes(asked) == ["load-failed"]


@pytest.mark.parametrize(
    ("values", "verdict"),
    [
        ({"celsius": "19.9", "strip": "pass"}, "fail"),
        ({"celsius": "20", "strip": "fail"}, "fail"),
        ({"celsius": "25", "strip": "pass"}, "pass"),
    ],
)
def test_it_is_judged_by_its_warmth_and_its_strip(
    soak: Soaking, values: dict[str, str], verdict: str
) -> None:
    soak.soak()

    soak.end(values)

    assert soak.load.verdict == verdict


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"celsius": "21"}, "test strip"),
        ({"strip": "pass"}, "temperature"),
        ({"celsius": "warm", "strip": "pass"}, "no number"),
        ({"celsius": "21", "strip": "green"}, "passed or failed"),
    ],
)
def test_what_is_missing_is_asked_for_by_name(
    soak: Soaking, values: dict[str, str], says: str
) -> None:
    soak.soak()

    with pytest.raises(Refused, match=says):
        soak.end(values)

    assert soak.load.state == "ended"


def test_what_was_read_before_the_start_is_enough_at_the_end(soak: Soaking) -> None:
    strips = come_in(soak.play, "test-strip")
    soak.play.scan("start over", soak.bath, soak.scope)
    with acting(soak.play.clinic, by=soak.play.people["nurse"]) as act:
        loads.start(act, soak.load, WARM, strips)

    answer = soak.play.reply("end the load", seconds=720).answer

    assert (answer.word, soak.load.verdict) == ("Passed", "pass")
    assert soak.load.lots == (soak.lot, strips)
    assert "lot-put" in [line.kind for line in history.page(soak.play.clinic, strips).lines]


def test_a_strip_that_failed_keeps_the_load_from_being_started(soak: Soaking) -> None:
    soak.play.scan("start over", soak.bath, soak.scope)

    with (
        pytest.raises(Refused, match="spent"),
        acting(soak.play.clinic, by=soak.play.people["nurse"]) as act,
    ):
        loads.start(act, soak.load, {"celsius": "21", "strip": "fail"})


def test_a_soak_that_was_never_started_has_no_time(soak: Soaking) -> None:
    soak.play.scan("start over", soak.bath, soak.scope)

    with pytest.raises(Refused, match="measured from the start"):
        soak.end(WARM)


def test_a_soak_told_late_keeps_its_own_times(soak: Soaking) -> None:
    soak.play.scan("start over", soak.bath, soak.scope)
    start = soak.play.clock.now
    soak.play.clock.passes(hours=1)
    for text, after in (("start the load", 1), ("end the load", 14)):
        order = scanning.Scan(str(uuid4()), "bench 1", text, at=start + timedelta(minutes=after))
        scanning.scan(soak.play.clinic, order, soak.play.people["nurse"])

    soak.end(WARM)

    assert soak.load.figures["soak_min"] == "13.00"


# --- the bath -------------------------------------------------------------------------------


def test_a_bath_that_nobody_filled_says_so_and_starts_nothing(play: Play) -> None:
    bath, scope = play.add("soak-bath"), play.add("scope-wiped")

    opened = play.scan(bath)
    refused = play.scan(scope, "start the load")

    assert (opened.tone, play.codes(opened)) == ("warn", ["bath-empty"])
    assert (refused.tone, "Nobody recorded" in refused.what) == ("no", True)


def test_filling_opens_the_bottle_and_is_day_one(soak: Soaking) -> None:
    answer = soak.fill(other := come_in(soak.play))

    now_in = baths.filling(soak.play.clinic, soak.bath, soak.play.clock.now)
    assert answer.word == "Filled"
    assert now_in is not None
    assert now_in.lot.tag == other
    assert now_in.lot.opened == soak.play.clinic.house.today(soak.play.clock.now)
    soak.play.clock.passes(days=13)
    assert "day 14 of 14" in soak.play.scan("start over", soak.bath).reasons[0].says


def test_past_its_days_of_use_nothing_is_started(soak: Soaking) -> None:
    soak.play.clock.passes(days=14)
    assert soak.play.codes(soak.play.scan("start over", soak.bath)) == ["too-old"]

    assert soak.play.scan(soak.scope, "start the load").tone == "no"

    soak.fill(come_in(soak.play))
    assert soak.play.scan("start the load").tone == "note"


def test_taken_back_a_filling_never_was(soak: Soaking) -> None:
    soak.fill(come_in(soak.play))

    soak.play.scan("undo", "undo")

    now_in = baths.filling(soak.play.clinic, soak.bath, soak.play.clock.now)
    assert now_in is not None
    assert now_in.lot.tag == soak.lot


def test_another_agent_in_the_bath_is_another_programme(soak: Soaking) -> None:
    soak.fill(come_in(soak.play, agent="glutaraldehyde-2.0"))
    assert soak.load.programme == "soak-glutaraldehyde-2.0"

    answer = soak.soak(minutes=44)

    assert answer.word == "1 min more"
    soak.play.clock.passes(minutes=1)
    soak.play.scan("end the load")
    soak.end({"celsius": "25", "strip": "pass"})
    assert soak.load.verdict == "pass"


def test_the_societys_figure_is_taken_where_the_clinic_says_so(soak: Soaking) -> None:
    soak.rule("soak.basis", "society")
    soak.fill(come_in(soak.play, agent="glutaraldehyde-2.0"))

    soak.soak(minutes=20)
    soak.end({"celsius": "20", "strip": "pass"})

    assert soak.load.verdict == "pass"
    assert {rule.id: rule.value for rule in soak.load.rules}["soak.basis"] == "society"


def test_each_reason_of_a_soak_says_by_which_rules(soak: Soaking) -> None:
    soak.soak()

    soak.end({"celsius": "19", "strip": "pass"})

    cold = next(one for one in explained(soak.load) if one.code == "too-cold")
    assert "soak.opa-0.55.celsius" in [rule.id for rule in cold.rules]


@pytest.mark.parametrize("what", ["wipe", "detergent"])
def test_a_bath_is_not_filled_with_what_is_no_agent(soak: Soaking, what: LotSort) -> None:
    with acting(soak.play.clinic, by=soak.play.people["nurse"]) as act:
        other = lots.add(act, what, "Other", "X", stated=Stated(contact_s=30))

    assert soak.fill(other).tone == "no"


def test_only_a_free_bath_is_filled(soak: Soaking) -> None:
    soak.play.scan("start over", soak.bath, soak.scope, "start the load")

    assert "Something is in the bath" in soak.play.scan("fill the bath").what
    steriliser = soak.play.add("steriliser-vacuum")
    assert soak.play.scan("start over", steriliser, "fill the bath").tone == "no"
    assert soak.play.scan("start over", "fill the bath").tone == "no"


def test_one_strip_a_day_serves_where_the_rule_book_says_so(soak: Soaking) -> None:
    soak.rule("soak.strip-each-load", "false")
    soak.rule("test.strip.every-days", "1")
    soak.play.keeps_sheets = False
    soak.play.scan("start over", soak.bath, soak.scope)
    assert "test strip" in soak.play.scan("start the load").what
    soak.play.tested(soak.bath)

    soak.soak()
    soak.end({"celsius": "21"})

    assert (soak.load.verdict, soak.load.figures["strip"]) == ("pass", "pass")


def test_a_bath_that_is_asked_for_no_test_needs_no_signature(soak: Soaking) -> None:
    process = soak.play.clinic.house.types["soak-bath"].process
    assert process is not None

    sheet = sheets.sheet(soak.play.clinic, soak.bath, process, soak.play.clock.now)

    assert (sheet.lines, sheet.must_sign) == ((), False)


def test_what_must_be_sterilised_is_kept_out_of_the_bath(soak: Soaking) -> None:
    hook = soak.play.add("hook")
    pack = soak.play.packed(soak.play.add("hook"))

    for thing in (hook, pack):
        answer = soak.play.scan("start over", soak.bath, thing)
        assert (answer.tone, soak.play.codes(answer)) == ("no", ["not-on-its-route"])


# --- lots with a load -----------------------------------------------------------------------


def test_a_lot_scanned_with_a_load_in_hand_is_with_the_load(play: Play) -> None:
    washer, hook, soap = play.add("washer"), play.add("hook"), come_in(play, "detergent")

    answer = play.scan(washer, soap, hook)

    load = load_rows.last_load(play.clinic.store, washer)
    assert load is not None
    assert (answer.tone, load.lots) == ("note", (soap,))
    told = [type(entry.fact) for entry in told_about(play.clinic.store, soap)]
    assert told == [facts.LotAdded, facts.LotOpened, facts.LotPut]
    assert play.scan(soap).tone == "no"


def test_a_lot_that_may_not_serve_is_kept_out_of_the_load_and_that_is_kept(play: Play) -> None:
    washer = play.add("washer")
    soap = come_in(play, "detergent", expires=date(2020, 1, 1))

    answer = play.scan(washer, soap)

    load = load_rows.last_load(play.clinic.store, washer)
    assert (answer.tone, play.codes(answer)) == ("no", ["lot-expired"])
    assert load is not None
    assert load.lots == ()
    assert [line.margin for line in history.page(play.clinic, soap).lines] == ["", "no"]


@pytest.mark.parametrize("what", ["wipe", "test-strip"])
def test_other_lots_are_not_put_with_a_washer(play: Play, what: LotSort) -> None:
    washer = play.add("washer")
    with acting(play.clinic, by=play.people["nurse"]) as act:
        lot = lots.add(act, what, "Lot", "X", stated=Stated(contact_s=30, type=5))

    assert play.scan(washer, lot).tone == "no"


def test_the_lot_in_the_bath_is_with_every_load_it_soaked(soak: Soaking) -> None:
    soak.soak()
    first = soak.load.load
    soak.end(WARM)
    soak.play.scan(first, "release", "rinse", soak.scope)
    soak.soak()

    loads_of_it = [
        entry.fact.load
        for entry in told_about(soak.play.clinic.store, soak.lot)
        if isinstance(entry.fact, facts.LotPut)
    ]

    assert loads_of_it == [first, soak.load.load]


# --- what else knows loads ------------------------------------------------------------------


def test_a_soak_is_left_out_where_logs_are_judged_again(soak: Soaking) -> None:
    soak.soak()
    soak.end(WARM)
    today = soak.play.clinic.house.today(soak.play.clock.now)

    with acting(soak.play.clinic, by=soak.play.people["manager"]) as act:
        result = rejudging.rejudge(act, soak.bath, today, today, "asked")

    assert [load for load, _ in result.left_out] == [soak.load.load]


def test_the_fold_of_baths_and_soaks_is_reproducible(soak: Soaking) -> None:
    soak.soak()
    soak.end(WARM)
    soak.fill(come_in(soak.play))
    soak.play.scan("undo", "undo")
    scratch = soak.play.clinic.settings.data
    scratch.mkdir(parents=True, exist_ok=True)

    assert rebuild.differences(soak.play.clinic.store, scratch) == []
    before = soak.load
    rebuild.rebuild(soak.play.clinic.store)
    assert soak.load == before


@pytest.mark.parametrize("evidence", [LogFile(steam_log(1)), ReadOff(WARM)], ids=["log", "values"])
def test_a_soak_takes_no_other_evidence(soak: Soaking, evidence: Evidence) -> None:
    soak.soak()

    with (
        pytest.raises(Refused, match="judged by what was checked of its bath"),
        acting(soak.play.clinic, by=soak.play.people["nurse"]) as act,
    ):
        end_load(act, soak.load, evidence)

    assert soak.load.verdict is None


def test_no_other_load_takes_the_checks_of_a_bath(play: Play) -> None:
    play.scan(play.add("steriliser-vacuum"), play.add("hook"), "start the load")
    load = load_rows.open_loads(play.clinic.store)[0]

    with pytest.raises(Refused, match="a log or by values"), acting(play.clinic, by="") as act:
        end_load(act, load, SoakChecks(WARM))


# --- what the soak stopped --------------------------------------------------------------------


def test_an_opa_soak_stops_bacteria_and_viruses_and_no_spores(soak: Soaking) -> None:
    soak.soak()
    soak.end(WARM)
    soak.play.scan(soak.load.load, "release", "rinse", soak.scope)
    soak.play.scan("start over", "234567", soak.scope, "finish")

    assert soak.load.stops == ("bacteria-viruses",)
    assert "stops.opa-0.55.spores" in {rule.id for rule in soak.load.rules}
    clinic = soak.play.clinic
    assert exposure_answer.open_now(clinic, "bacteria-viruses") == []
    assert [one.item for one in exposure_answer.open_now(clinic, "spores")] == [soak.scope]
    assert rebuild.differences(clinic.store, clinic.settings.data) == []


def test_peracetic_acid_serves_one_load_and_is_filled_anew_for_the_next(soak: Soaking) -> None:
    acid = come_in(soak.play, agent="peracetic-acid-0.2")
    soak.fill(acid)
    assert soak.soak().word == "Ended"
    soak.end({"celsius": "52", "strip": ""})
    assert soak.load.verdict == "pass"
    assert soak.load.stops == ("bacteria-viruses", "spores")
    soak.play.scan(soak.load.load, "release")

    again = soak.play.scan("start over", soak.bath)

    assert soak.play.codes(again) == ["used-before"]
    soak.fill(acid)
    assert soak.play.scan("start over", soak.bath).tone == "note"
