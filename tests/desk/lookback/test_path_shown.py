"""What is always on, and the picture of a path, from what a clinic did."""

import re
from xml.etree import ElementTree

from equip.desk.lookback import exposed_now, exposure_answer
from equip.desk.lookback.exposed_now import Exposed
from equip.desk.lookback.path import path_page
from equip.store.readings import use_rows
from tests.support import pasts
from tests.support.playing import Play

TOKEN = re.compile(r"\bt[a-z2-7]{12}\b")


def every(play: Play) -> list[Exposed]:
    found, onward = [], ""
    while True:
        page = exposed_now.listed(play.clinic, is_open=True, onward=onward, most=7)
        found += page.rows
        if not (onward := page.onward):
            return found


def test_the_listed_exposures_are_those_of_the_sweep_and_as_many_as_the_tally_says(
    play: Play,
) -> None:
    pasts.shared(play, 30)
    pasts.mixed(play)

    found = [one.found for one in every(play)]

    whole = exposure_answer.open_now(play.clinic)
    assert sorted(found, key=lambda one: (one.at, one.item, one.use)) == whole
    assert exposed_now.panel(play.clinic).now == len(whole) == 30


def test_newest_come_first_and_many_sources_are_counted_not_listed(play: Play) -> None:
    pasts.shared(play, 30)

    found = every(play)

    assert [one.row.at for one in found] == sorted((one.row.at for one in found), reverse=True)
    assert len(found[0].sources) + found[0].more_sources == 29
    assert len(found[0].sources) < 29


def test_a_picture_shows_the_mixing_and_names_nobody(play: Play) -> None:
    pasts.mixed(play)
    one = every(play)[0]

    shown = path_page.shown(play.clinic, one.found)

    says = [line.says for line in shown.lines]
    assert any("of the 20 untagged instruments mixed there, from 5 packs" in text for text in says)
    assert any("failed: it counts as nothing" in text for text in says)
    assert "who may have been exposed" in says[-1]
    assert one.percent == "60.0"
    for picture in (shown.wide, shown.narrow):
        ElementTree.fromstring(str(picture))
        assert "80001" not in picture
        assert not TOKEN.search(picture)
    assert not any("80000" in text for text in says)
    assert all(
        use_rows.touches_on(play.clinic.store, t) for text in says for t in TOKEN.findall(text)
    )


def test_the_words_follow_the_path_of_the_sweep_entry_by_entry(play: Play) -> None:
    pasts.mixed(play)
    one = every(play)[0].found

    lines = path_page.shown(play.clinic, one).lines

    on_path = [line.path for line in lines if line.on_path]
    assert on_path == list(exposed_now.surest(one).path.entries())


def test_a_long_life_keeps_the_first_patient_and_the_exposed_one(play: Play) -> None:
    pasts.shared(play, 200)
    last = every(play)[0]

    shown = path_page.shown(play.clinic, last.found)

    assert "from here on it may have carried" in shown.lines[0].says
    assert "who may have been exposed" in shown.lines[-1].says
    assert shown.lines[1].says == "176 more uses"
    assert len(shown.narrow) < 20_000


def test_a_load_that_nobody_released_is_no_proof_and_says_so(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    play.sterile_pack(steriliser, hook)
    play.scan("start over", "123456", hook, "finish")
    play.cleaned(hook)
    play.run(steriliser, play.packed(hook))
    play.scan("start over", "654321", hook, "finish")
    one = every(play)[0]

    says = " ".join(line.says for line in path_page.shown(play.clinic, one.found).lines)

    assert one.row.certainty.word == "no-proof"
    assert "nobody has released it, so no proof that it cleared" in says


def test_what_cleared_the_thing_afterwards_ends_the_picture(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    play.sterile_pack(steriliser, hook)
    play.scan("start over", "123456", hook, "finish", "start over", "654321", hook, "finish")
    play.sterile_pack(steriliser, hook)

    shown = path_page.shown(play.clinic, every(play)[0].found)

    assert [line.on_path for line in shown.lines] == [False, True, True, False]
    assert all("effective decontamination" in shown.lines[end].says for end in (0, -1))
