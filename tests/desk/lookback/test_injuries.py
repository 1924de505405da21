"""Somebody was hurt by an instrument: whom it may carry, told at once; the sheet of it."""

from datetime import timedelta
from pathlib import Path

import pytest

from equip import facts
from equip.deliver.paper.injury import pdf
from equip.desk.act.act import acting
from equip.desk.act.answer import Answer
from equip.desk.lookback import injury_sheet
from equip.facts import Loose
from equip.scan import next_tag
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.post import agenda
from tests.support.playing import Play

FIRST, SECOND, THIRD = "12345601", "12345602", "12345603"


def token(play: Play, reference: str) -> str:
    return str(play.clinic.vault.find(reference))


def says(answer: Answer) -> str:
    return " ".join([answer.what, *(reason.says for reason in answer.reasons), answer.next])


def hurt_of(play: Play, tag: str) -> facts.Hurt:
    found = [one.fact for one in told_about(play.clinic.store, tag)]
    hurt = [one for one in found if isinstance(one, facts.Hurt)]
    return hurt[-1]


def use(play: Play, tag: str, patient: str) -> None:
    play.scan("start over", patient, tag, "finish", "start over")


@pytest.fixture
def machine(play: Play) -> str:
    return play.add("steriliser-vacuum")


@pytest.fixture
def hook(play: Play) -> str:
    return play.add("hook")


def test_the_first_aid_stands_first_and_local_policy_decides(play: Play, hook: str) -> None:
    use(play, hook, FIRST)

    answer = play.scan(hook, "I was hurt")

    assert answer.what.startswith("Wash the wound")
    assert "report it at once" in answer.what
    assert "local policy comes first" in answer.next
    assert "do not clean it" in answer.next
    assert "risk" not in says(answer).lower()


def test_only_patients_since_the_last_effective_decontamination_are_named(
    play: Play, machine: str, hook: str, tmp_path: Path
) -> None:
    use(play, hook, FIRST)
    use(play, play.sterile_pack(machine, hook), SECOND)

    answer = play.scan(hook, "I was hurt")

    hurt = hurt_of(play, hook)
    assert hurt.sources == (token(play, SECOND),)
    assert [(one.certainty, one.share) for one in hurt.carried] == [("certain", "1")]
    assert "Last effective decontamination: load L" in says(answer)
    assert token(play, SECOND) in says(answer)
    assert token(play, FIRST) not in says(answer)
    assert answer.sheet == hook
    assert differences(play.clinic.store, tmp_path) == []


def test_a_load_without_a_verdict_lies_between_and_is_no_proof(
    play: Play, machine: str, hook: str
) -> None:
    use(play, hook, FIRST)
    play.cleaned(hook)
    play.run(machine, play.packed(hook))  # judged, but nobody let it go

    answer = play.scan("start over", hook, "I was hurt")

    assert [one.certainty for one in hurt_of(play, hook).carried] == ["no-proof"]
    assert "no proof" in says(answer)


def test_what_was_declared_fit_on_going_live_is_not_known_and_nobody_is_left_out(
    play: Play,
) -> None:
    hook = play.add("hook", "go-live")
    use(play, hook, FIRST)

    answer = play.scan(hook, "I was hurt")

    hurt = hurt_of(play, hook)
    assert hurt.sources == (token(play, FIRST),)
    assert hurt.not_known == (hook,)
    assert "is not known" in says(answer)
    assert "No effective decontamination of it is recorded." in says(answer)


def test_what_came_on_loan_has_its_coming_in_as_a_source_without_a_patient(play: Play) -> None:
    hook = play.add("hook", "loaned")

    answer = play.scan(hook, "I was hurt")

    hurt = hurt_of(play, hook)
    assert (hurt.sources, hurt.not_known) == ((), ())
    assert [one.patient for one in hurt.carried] == [""]
    assert "came in from outside" in says(answer)


def test_a_machine_that_touches_nobody_carries_nobody(play: Play) -> None:
    pump = play.add("suction-pump")

    answer = play.scan(pump, "I was hurt")

    assert hurt_of(play, pump).carried == ()
    assert "touches no patient" in says(answer)


def test_without_anything_in_hand_the_first_aid_is_said_and_nothing_is_written(play: Play) -> None:
    answer = play.scan("I was hurt")

    assert answer.tone == "no"
    assert "Wash the wound" in answer.next


# --- untagged: by the pack or the load they came from ----------------------------------------


@pytest.fixture
def mixed(play: Play, machine: str) -> tuple[str, str]:
    """Untagged tips of two packs, used on two patients, that lay in one load nobody let go; the
    load, and a pack that was made out of it."""
    packs = [play.fresh_pack() for _ in range(3)]
    loose = (Loose(type="fine-tip", count=2),)
    nurse = play.people["nurse"]
    with acting(play.clinic, by=nurse) as act:
        for pack in packs[:2]:
            act.tell(facts.Packed, pack=pack, loose=loose)
    for pack, patient in zip(packs[:2], (FIRST, SECOND), strict=True):
        use(play, pack, patient)
    load = next_tag("L", 900)
    play.clock.passes(minutes=5)
    with acting(play.clinic, by=nurse) as act:
        act.tell(facts.LoadOpened, load=load, machine=machine, programme="steam-134")
        for pack in packs[:2]:
            act.tell(facts.LoadAdded, load=load, item=pack)
    play.clock.passes(minutes=30)
    with acting(play.clinic, by=nurse) as act:
        act.tell(
            facts.LoadEnded,
            load=load,
            machine=machine,
            steps=("sterilise",),
            covers=tuple(packs[:2]),
        )
    play.clock.passes(minutes=5)
    with acting(play.clinic, by=nurse) as act:
        act.tell(facts.Packed, pack=packs[2], loose=loose, load=load)
    return load, packs[2]


def test_an_untagged_one_of_a_pack_may_carry_whoever_any_of_the_mixed_ones_carried(
    play: Play, mixed: tuple[str, str]
) -> None:
    answer = play.scan("start over", mixed[1], "I was hurt")

    hurt = hurt_of(play, mixed[1])
    assert set(hurt.sources) == {token(play, FIRST), token(play, SECOND)}
    assert {(one.certainty, one.share) for one in hurt.carried} == {("possible", "1/2")}
    assert "1 of 2 of what lay together" in says(answer)


def test_an_untagged_one_of_a_load_may_be_any_of_it_and_the_load_is_not_kept_back(
    play: Play, mixed: tuple[str, str]
) -> None:
    answer = play.scan("start over", mixed[0], "I was hurt")

    hurt = hurt_of(play, mixed[0])
    assert set(hurt.sources) == {token(play, FIRST), token(play, SECOND)}
    assert {one.certainty for one in hurt.carried} == {"no-proof"}
    assert "mark the bag" in answer.next
    kinds = {type(one.fact) for one in told_about(play.clinic.store, mixed[0])}
    assert facts.Quarantined not in kinds


# --- the sheet --------------------------------------------------------------------------------


def test_the_sheet_says_who_what_when_and_what_lies_between_by_tokens(
    play: Play, machine: str, hook: str
) -> None:
    use(play, play.sterile_pack(machine, hook), FIRST)
    play.scan(hook, "I was hurt")
    entry = injury_sheet.newest_injury(play.clinic, hook)
    assert entry is not None

    sheet = injury_sheet.sheet(play.clinic, entry, play.clock.now)

    assert (sheet.person, [one.patient for one in sheet.sources]) == (
        "Nell Ash",
        [token(play, FIRST)],
    )
    assert sheet.sources[0].sure.startswith("certain: nothing recorded lies between")
    assert [says for _, says in sheet.last_gates] != ["None is recorded."]
    assert [one.says for one in sheet.between] == [
        f"Used on, or opened for, patient {token(play, FIRST)}."
    ]
    assert pdf(sheet).startswith(b"%PDF")
    assert pdf(sheet) == pdf(sheet)
    assert "risk" not in repr(sheet).lower()


def test_a_use_told_later_stands_on_the_sheet_and_the_sheet_says_that_it_came_later(
    play: Play, hook: str
) -> None:
    use(play, hook, FIRST)
    before = play.clock.now
    play.clock.passes(minutes=10)
    play.scan(hook, "I was hurt")
    entry = injury_sheet.newest_injury(play.clinic, hook)
    assert entry is not None
    with acting(play.clinic, by=play.people["nurse"], at=before + timedelta(minutes=1)) as act:
        late = play.clinic.vault.token(SECOND)
        act.tell(facts.UseBegun, use="late", patient=late)
        act.tell(facts.Used, use="late", item=hook, patient=late)

    sheet = injury_sheet.sheet(play.clinic, entry, play.clock.now)

    assert len(sheet.sources) == 2
    assert "1 more, 0 fewer" in sheet.since_told


def test_whoever_is_looked_up_is_written_down_with_the_reason(play: Play, hook: str) -> None:
    use(play, hook, FIRST)
    play.scan(hook, "I was hurt")
    entry = injury_sheet.newest_injury(play.clinic, hook)
    assert entry is not None

    with acting(play.clinic, by=play.people["manager"]) as act:
        who = injury_sheet.unmask(act, entry, "asked for by occupational health")
    sheet = injury_sheet.sheet(play.clinic, entry, play.clock.now, who)

    assert [one.patient for one in sheet.sources] == [FIRST]
    told = [one.fact for one in told_about(play.clinic.store, token(play, FIRST))]
    assert [one.reason for one in told if isinstance(one, facts.Unmasked)] == [
        "asked for by occupational health"
    ]


def test_word_of_an_injury_goes_to_the_manager_without_any_patient(play: Play, hook: str) -> None:
    use(play, hook, FIRST)
    play.scan(hook, "I was hurt")

    sent = [one.key for one in agenda.waiting(play.clinic.store) if one.what == "alert"]

    assert sent
