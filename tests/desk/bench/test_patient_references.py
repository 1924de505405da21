"""One patient is one patient at the bench and in every search, and can be checked by what shows."""

import re
from pathlib import Path

import pytest

from equip.clock import utc_now
from equip.desk.act.act import Refused, acting
from equip.desk.bench.in_hand import patient_end, strip
from equip.desk.lookback import history
from equip.desk.lookback.exposure_question import ON_COMMAND_LINE, read_question, scope_of
from equip.desk.register import items
from equip.installation import open_installation
from equip.settings.settings import Settings
from equip.store.kept.keys import keys_in
from tests.support.old_vault import kept_as_before
from tests.support.playing import Play


def test_a_reference_with_its_hyphen_and_without_is_one_patient_at_the_bench(play: Play) -> None:
    first = play.reply("DEMO-77001")

    for written in ("DEMO77001", "demo77001", "DEMO/77001"):
        reply = play.reply(written)
        assert reply.context.patient == first.context.patient
        assert reply.answer.what == "Still in hand."
    assert play.reply("DEMO77002").context.patient != first.context.patient


@pytest.mark.parametrize("written", ["DEMO-77001", "DEMO77001", "demo 77001", "DEMO.77001"])
def test_every_search_finds_the_patient_however_they_are_written(play: Play, written: str) -> None:
    token = play.reply("DEMO-77001").context.patient

    assert history.find(play.clinic, written) == token
    asked = read_question({"patient": [written]}, ON_COMMAND_LINE)
    assert scope_of(play.clinic, asked).patient == token


@pytest.mark.parametrize(("value", "shows"), [("4", "7001"), ("6", "077001"), ("20", "EMO077001")])
def test_the_bench_shows_as_many_characters_as_the_rule_says(
    play: Play, value: str, shows: str
) -> None:
    with acting(play.clinic, play.people["manager"]) as act:
        items.set_rule(
            act, "patient.characters-shown", value, "so that it can be checked", act.at.date()
        )
    reply = play.reply("DEMO-077001")

    assert strip(play.clinic, reply.context, "").patient == f"ends {shows}"
    assert reply.answer.patient == reply.context.patient
    assert "077001" not in str(reply.answer)


def test_the_whole_of_a_reference_shows_only_where_the_clinic_says_so(play: Play) -> None:
    token = play.reply("DEMO-0077").context.patient
    rules = {"patient.characters-shown": "8", "patient.whole-shown": "yes"}

    shown = []
    for rule, value in rules.items():
        with acting(play.clinic, play.people["manager"]) as act:
            items.set_rule(act, rule, value, "short numbers", act.at.date())
        shown.append(patient_end(play.clinic, token))
    assert shown == ["EMO0077", "DEMO0077"]


def test_fewer_than_four_characters_are_refused(play: Play) -> None:
    with (
        pytest.raises(Refused, match="2 was read; give 4 or more"),
        acting(play.clinic, play.people["manager"]) as act,
    ):
        items.set_rule(act, "patient.characters-shown", "2", "as it was", act.at.date())


def test_two_tokens_of_before_name_each_other_and_a_look_back_asks_which(play: Play) -> None:
    keys = keys_in(play.clinic.settings.data)
    one, plain = (
        kept_as_before(play.clinic.store, keys, each) for each in ("DEMO-77001", "DEMO77001")
    )
    play.clinic.vault.index_again()

    assert play.reply("DEMO-77001").context.patient == plain
    for mine, other in ((one, plain), (plain, one)):
        assert any(other in says for says in history.page(play.clinic, mine).says)
    asked = read_question({"patient": ["DEMO-77001"]}, ON_COMMAND_LINE)
    with pytest.raises(Refused, match=f"{plain} and {one}"):
        scope_of(play.clinic, asked)


def test_opening_an_old_book_indexes_its_patients_anew(tmp_path: Path) -> None:
    settings = Settings(data=tmp_path, site="TEST")
    with open_installation(settings, utc_now) as opened:
        token = kept_as_before(opened.clinic.store, opened.keys, "DEMO-77001")

    with open_installation(settings, utc_now, guarded=False) as looked:
        assert looked.clinic.vault.find("DEMO77001") is None
    with open_installation(settings, utc_now) as opened:
        assert opened.clinic.vault.find("DEMO77001") == token
        assert opened.clinic.patients == re.compile(settings.patient_pattern)
