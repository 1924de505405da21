"""Evidence that falls away takes with it whatever was built on it, whenever it falls away."""

import msgspec
import pytest

from equip.demo.cycles import washer_log
from equip.desk.act.act import acting
from equip.desk.loads.end import LogFile, end_load
from equip.desk.loads.release import reject_load, release_load
from equip.desk.lookback import exposure_answer, history
from equip.desk.lookback.cases import case_acts
from equip.desk.lookback.exposure_answer import ExposureAnswer, Scope
from equip.desk.register import items
from equip.facts import LoadJudged, Programme, RouteStep
from equip.rules.loads.load import Load
from equip.scan import show_tag
from equip.store.fold.exposures import tallies
from equip.store.fold.rebuild import differences
from equip.store.readings import item_rows, load_rows, use_rows
from tests.support.cases import ask, opened, step
from tests.support.playing import Play

ANNA, BERT = "12345601", "12345602"


def load_of(play: Play, tag: str) -> Load:
    found = load_rows.load_of(play.clinic.store, tag)
    assert found is not None
    return found


def wash(play: Play, washer: str, *inside: str) -> str:
    """A wash that has ended and of which nobody has handed in the log; its tag."""
    play.scan("start over", washer, *inside, "start the load")
    load = load_rows.load_on(play.clinic.store, washer)
    assert load is not None
    play.clock.passes(minutes=40)
    play.scan("end the load", "71")
    assert load_of(play, load.load).state == "ended"
    return load.load


def log_in(play: Play, tag: str) -> None:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load_of(play, tag), LogFile(washer_log(71)))


def tell_judgement(play: Play, tag: str, verdict: str) -> None:
    """A judgement of the wash as the ledger may hold it, whatever its log was."""
    with acting(play.clinic, by=play.people["manager"]) as act:
        load = load_of(play, tag)
        act.tell(
            LoadJudged,
            load=tag,
            machine=load.machine,
            programme=load.programme,
            covers=load.covers,
            verdict=verdict,
            reasons=(),
            figures={},
            rules=(),
            book="",
            judge="",
        )


def release(play: Play, tag: str) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        release_load(act, load_of(play, tag), play.people["manager"])


def reject(play: Play, tag: str) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        reject_load(act, load_of(play, tag), play.people["manager"], "the door leaked")


def patient_of(play: Play, reference: str) -> str:
    with play.clinic.store.writing():
        return play.clinic.vault.token(reference)


def whom(play: Play, answer: ExposureAnswer) -> set[str]:
    return {play.clinic.vault.reveal(one.patient) for one in answer.exposures}


def asked(play: Play, wash_tag: str) -> list[set[str]]:
    """Whom a look-back lists: asked from the first patient, and by doubt about the wash."""
    scopes = (Scope(patient=patient_of(play, ANNA)), Scope(loads=(wash_tag,)))
    return [whom(play, exposure_answer.look_back(play.clinic, scope)) for scope in scopes]


def anyway(play: Play, wash_tag: str) -> set[str]:
    answer = exposure_answer.look_back(play.clinic, Scope(loads=(wash_tag,)))
    return {play.clinic.vault.reveal(one.patient) for one in answer.already_open}


@pytest.fixture
def hook(play: Play) -> str:
    return play.add("hook")


@pytest.fixture
def steriliser(play: Play) -> str:
    return play.add("steriliser-vacuum")


@pytest.fixture
def washed(play: Play, hook: str, steriliser: str) -> str:
    """The hook, clean at first, was used on Anna and washed; nobody handed in the log."""
    pack = play.sterile_pack(steriliser, hook)
    play.scan("start over", ANNA, pack, "finish")
    return wash(play, play.add("washer"), hook)


@pytest.fixture
def pack(play: Play, washed: str, hook: str, steriliser: str) -> str:
    """It was inspected, packed, steamed and released on top of that wash."""
    play.scan("start over", "inspect pass", hook)
    pack = play.packed(hook)
    play.released(steriliser, pack)
    return pack


def test_a_pack_built_on_a_wash_without_its_log_is_no_yes_and_names_the_wash(
    play: Play, washed: str, pack: str
) -> None:
    answer = play.scan("start over", BERT, "start a use", pack)

    assert play.codes(answer) == ["step-unproven"]
    assert f"wait for the log of load {show_tag(washed)}" in answer.reasons[0].says


def test_each_step_after_a_wash_without_its_log_says_that_it_waits(
    play: Play, washed: str, hook: str, steriliser: str
) -> None:
    inspected = play.scan("start over", "inspect pass", hook)
    laid_ready = play.scan("start over", "pack", hook)
    pack = play.packed(hook)
    put_in = play.scan("start over", steriliser, pack)

    for answer in (inspected, laid_ready, put_in):
        assert answer.tone == "warn"
        says = " ".join(one.says for one in answer.reasons)
        assert f"wait for the log of load {show_tag(washed)}: hand in the log" in says


def test_once_its_log_is_judged_and_released_the_pack_is_a_yes(
    play: Play, washed: str, pack: str
) -> None:
    log_in(play, washed)
    before = play.codes(play.scan("start over", BERT, "start a use", pack))
    release(play, washed)

    answer = play.scan("start over", BERT, "start a use", pack)

    assert before == ["step-unproven"]
    assert answer.tone == "yes"


def test_a_wash_that_fails_after_the_use_lists_whoever_came_after(
    play: Play, washed: str, pack: str
) -> None:
    play.scan("start over", BERT, pack, "finish")
    tell_judgement(play, washed, "fail")
    reject(play, washed)

    by_patient, by_wash = asked(play, washed)

    assert by_patient == {BERT}
    assert by_wash | anyway(play, washed) == {BERT}
    assert tallies(play.clinic.store)["open"] == 1
    [one] = exposure_answer.open_now(play.clinic)
    assert one.certainty.word == "no-proof"
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_a_wash_that_turns_out_good_after_the_use_lists_nobody(
    play: Play, washed: str, pack: str
) -> None:
    play.scan("start over", BERT, pack, "finish")
    exposed_before = tallies(play.clinic.store).get("open", 0)
    log_in(play, washed)
    release(play, washed)

    assert exposed_before == 1
    assert asked(play, washed)[0] == set()
    assert tallies(play.clinic.store).get("open", 0) == 0
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_doubt_about_a_wash_that_passed_lists_whoever_came_after(
    play: Play, washed: str, pack: str
) -> None:
    log_in(play, washed)
    release(play, washed)
    play.scan("start over", BERT, pack, "finish")

    by_patient, by_wash = asked(play, washed)

    assert by_patient == set()
    assert by_wash == {BERT}


def open_look_back(play: Play, load: str) -> str:
    return opened(play, ask(play, "load", load), load, "manager")


def test_what_an_open_look_back_holds_in_doubt_is_a_no_until_it_is_decided(
    play: Play, washed: str, pack: str
) -> None:
    log_in(play, washed)
    release(play, washed)
    open_look_back(play, washed)

    answer = play.scan("start over", BERT, "start a use", pack)

    assert "step-unproven" in play.codes(answer)
    assert any("an open look-back holds it in doubt" in one.says for one in answer.reasons)


def test_a_use_whose_only_cycle_falls_away_is_a_gap_and_says_why(
    play: Play, hook: str, steriliser: str
) -> None:
    pack = play.sterile_pack(steriliser, hook)
    play.scan("start over", ANNA, pack, "finish")
    [before] = use_rows.touches_of(play.clinic.store, hook)
    open_look_back(play, before.gate)

    [after] = use_rows.touches_of(play.clinic.store, hook)

    assert before.gap == ""
    assert after.gap == "what stood before it does not count any more"
    assert tallies(play.clinic.store)["gaps"] == 1
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_doubt_about_the_cycle_of_a_pack_is_a_no_on_every_list(
    play: Play, washed: str, pack: str
) -> None:
    log_in(play, washed)
    release(play, washed)
    stands = item_rows.standing_of(play.clinic.store, pack)
    assert stands is not None
    open_look_back(play, stands.done[-1].load)

    answer = play.scan("start over", BERT, "start a use", pack)

    assert "load-refused" in play.codes(answer)
    [listed] = [one for one in item_rows.standings(play.clinic.store) if one.item == pack]
    assert listed.done[-1].refused


def test_a_pack_of_untagged_tips_out_of_a_wash_that_nobody_judged_is_no_yes(
    play: Play, steriliser: str
) -> None:
    bath = play.add("ultrasonic-bath")
    card = next(kind.card for kind in play.clinic.house.types.values() if kind.code == "fine-tip")
    first = play.packed(card, "clean")
    play.released(steriliser, first)
    play.scan("start over", ANNA, first, "finish")
    load = wash(play, bath, first)
    second = play.fresh_pack()
    play.scan("start over", "pack", card, bath, second)
    play.released(steriliser, second)

    answer = play.scan("start over", BERT, "start a use", second)

    assert play.codes(answer) == ["step-unproven"]
    assert "waits for its log" in answer.reasons[0].says
    play.scan("start over", BERT, second, "finish")
    tell_judgement(play, load, "fail")
    reject(play, load)
    assert asked(play, load)[0] == {BERT}
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_a_patients_page_counts_exposures_before_it_says_what_is_traceable(
    play: Play, washed: str, pack: str
) -> None:
    play.scan("start over", BERT, pack, "finish")

    shown = history.page(play.clinic, patient_of(play, BERT))

    assert shown.says == ("1 use, 1 exposure, 1 traceable, 0 gaps",)


def test_an_exposure_that_a_look_back_decided_is_counted_with_that(
    play: Play, washed: str, pack: str
) -> None:
    play.scan("start over", BERT, pack, "finish")
    anna = patient_of(play, ANNA)
    case = opened(play, ask(play, "patient", anna), anna)
    step(play, case_acts.take_list, case)
    step(play, case_acts.decide, case, "told", "policy")

    shown = history.page(play.clinic, patient_of(play, BERT))

    assert shown.says == ("1 use, 1 exposure (1 decided by a look-back), 1 traceable, 0 gaps",)


def disinfecting_route(play: Play, programme: str) -> None:
    """Forceps are disinfected in the washer by *programme*, inspected and steamed."""
    kind, washer = play.clinic.house.types["forceps"], play.clinic.house.types["washer"]
    route = (
        RouteStep(step="disinfect", stops=("bacteria-viruses",)),
        *(step for step in kind.route if step.step in ("inspect", "sterilise")),
    )
    assert washer.process is not None
    process = msgspec.structs.replace(washer.process, programmes=(Programme(judged_by=programme),))
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.define_type(act, msgspec.structs.replace(kind, route=route))
        items.define_type(act, msgspec.structs.replace(washer, process=process))


@pytest.mark.parametrize("late", [False, True])
@pytest.mark.parametrize(
    ("programme", "against", "listed"),
    [("thermal-a0-600", ["step-unproven"], {BERT}), ("thermal-a0-3000", [], set[str]())],
)
def test_a_wash_that_stops_too_little_for_its_step_proves_nothing_behind_it(
    play: Play, steriliser: str, programme: str, against: list[str], listed: set[str], late: bool
) -> None:
    """Whether its log comes before what rests on it or after: the same is said in the end."""
    disinfecting_route(play, programme)
    forceps = play.add("forceps", "go-live")
    play.scan("start over", ANNA, forceps, "finish")
    load = wash(play, play.add("washer"), forceps)
    if not late:
        log_in(play, load)
        release(play, load)
    play.scan("start over", "inspect pass", forceps)
    pack = play.packed(forceps)
    play.released(steriliser, pack)
    if late:
        log_in(play, load)
        release(play, load)

    answer = play.scan("start over", "lay up", pack)
    play.scan("start over", BERT, pack, "finish")

    assert [code for code in play.codes(answer) if code != "remark"] == against
    assert anyway(play, load) == listed
    assert tallies(play.clinic.store).get("open", 0) == len(listed)
    assert asked(play, load) == [listed, {BERT} - listed]
    of_spores = exposure_answer.open_now(play.clinic, "spores")
    assert {play.clinic.vault.reveal(one.patient) for one in of_spores} == listed
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_a_fall_while_it_is_wet_leaves_the_wipe_without_effect(play: Play) -> None:
    scope = play.add("scope-wiped", "go-live")
    play.scan("start over", ANNA, scope, "finish", "start over", "clean", scope)
    play.scan("start over", "disinfect", play.wipes(), scope, "start over")
    play.clock.passes(seconds=5)

    play.scan("start over", "lay up", scope, "dropped")
    play.clock.passes(minutes=2)
    play.scan("start over", BERT, scope, "finish")

    assert tallies(play.clinic.store)["open"] == 1
    assert differences(play.clinic.store, play.clinic.settings.data) == []
