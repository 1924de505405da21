"""The cycle record of a load: everything that proves it on one or two pages, and no patient."""

import io
import os
import re
import shutil
import subprocess
from datetime import timedelta
from pathlib import Path

import pytest
from PIL import Image, ImageFilter
from pypdf import PdfReader

from equip.desk.act.act import Refused, acting
from equip.desk.cycles.reasons import CAUTION
from equip.desk.cycles.record_sheet import load_named, record_of, record_pdf
from equip.desk.loads.end import LogFile, ReadOff, end_load
from equip.desk.loads.release import reject_load, release_load
from equip.desk.lookback.cases import case_acts
from equip.desk.register import items
from equip.rules.loads.load import Load
from equip.scan import show_tag
from equip.store.ledger import ledger
from equip.store.readings import load_rows
from tests.support.playing import Play

WASHER = (Path(__file__).parents[2] / "published" / "cycles" / "washer-90.csv").read_bytes()


def text_of(data: bytes) -> str:
    """All its text on one line: words may be folded anywhere."""
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]
    return " ".join(" ".join(pages).split())


def load_of(play: Play, tag: str) -> Load:
    load = load_rows.load_of(play.clinic.store, tag)
    assert load is not None
    return load


def failed(play: Play) -> Load:
    """A load that was too short and was rejected."""
    tag = play.run(play.add("steriliser-vacuum"), play.add("hook"), hold_s=140)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        reject_load(act, load_of(play, tag), play.people["nurse"], "too short, run again")
    return load_of(play, tag)


def read(play: Play, load: Load) -> str:
    return text_of(record_pdf(play.clinic, load, play.clock()))


def test_a_failed_cycle_says_its_verdict_every_reason_and_the_rule_of_each(play: Play) -> None:
    load = failed(play)
    says = read(play, load)

    assert says.startswith("The Instrument Book – cycle record")
    assert " Failed " in says
    assert "Nell Ash" in says and "Reason: too short, run again" in says
    for reason in load.reasons:
        assert reason.says in says
    assert "steam-134.hold 180 s" in says
    for rule in load.rules:
        assert rule.id in says and rule.source in says
    assert "memory: check it" in says
    assert CAUTION in says


def test_figures_stand_with_their_units_and_the_pages_are_counted(play: Play) -> None:
    data = record_pdf(play.clinic, failed(play), play.clock())
    says = text_of(data)

    assert re.search(r"Lowest temperature in the holding time 134\.\d+ °C", says)
    assert re.search(r"Holding time \d+ s", says)
    count = len(PdfReader(io.BytesIO(data)).pages)
    assert count == 2
    assert [f"page {n} of {count}" in says for n in (1, 2)] == [True, True]


def test_what_proves_it_stands_at_the_end(play: Play) -> None:
    load = failed(play)
    says = read(play, load)

    head = ledger.heads(play.clinic.store)["TEST"]
    for proof in (load.log, load.book, load.judge, head.seal.hex(), f"at TEST/{head.position}"):
        assert proof and proof in says
    told = re.search(r"opened TEST/(\d+); added TEST/(\d+); started TEST/(\d+)", says)
    assert told is not None
    entry = ledger.entry(play.clinic.store, "TEST", int(told[3]))
    assert entry is not None and type(entry.fact).__name__ == "LoadStarted"


def test_a_released_load_says_who_let_it_go_and_what_was_held_back(play: Play) -> None:
    steriliser, hook, probe = play.add("steriliser-vacuum"), play.add("hook"), play.add("hook")
    tag = play.run(steriliser, hook, probe)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        release_load(act, load_of(play, tag), play.people["nurse"], [probe], "one was wet")
    says = read(play, load_of(play, tag))

    assert " Passed " in says
    assert re.search(r"Released \d+ Mar 2026 \d\d:\d\d GMT by Nell Ash, B [0-9 A-Z]+,", says)
    assert "but 1 of 2 held back" in says
    assert "Note: one was wet" in says
    assert f"{show_tag(probe)} no Nell Ash" in says and "held back" in says


def test_a_look_back_on_the_load_stands_beside_its_verdict(play: Play) -> None:
    load = failed(play)
    with acting(play.clinic, by=play.people["manager"]) as act:
        case = case_acts.raise_doubt(act, [load.load], "the curve looks odd")

    assert f"In look-back {case} since" in read(play, load)


def test_typed_values_make_a_record_that_says_there_is_nothing_to_draw(play: Play) -> None:
    play.scan("start over", play.add("steriliser-vacuum"), play.add("hook"), "start the load")
    tag = load_rows.open_loads(play.clinic.store)[0].load
    typed = {"completed": "yes", "lowest_c": "134.4", "highest_c": "135.1", "hold_min": "3.5"}
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load_of(play, tag), ReadOff(typed))
    says = read(play, load_of(play, tag))

    assert "Cannot be judged" in says and "Treat it as not passed." in says
    assert "no log was handed in" in says and "134.4 °C" in says
    assert "values read off the machine" in says and "none recorded" in says


def test_a_washers_record_has_its_a0_and_no_holding_time(play: Play) -> None:
    play.asks_a0_3000()
    play.scan("start over", play.add("washer"), play.add("hook"), "start the load")
    tag = load_rows.open_loads(play.clinic.store)[0].load
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load_of(play, tag), LogFile(WASHER), cycle_no="7")
    says = read(play, load_of(play, tag))

    assert "A0 so far, s: it came to 1,938.6" in says and "needed: 3,000 s" in says
    assert "65 °C: floor of A0" in says and "olding time" not in says


def test_the_same_load_at_the_same_time_gives_the_same_bytes(play: Play) -> None:
    load, now = failed(play), play.clock()
    once = record_pdf(play.clinic, load, now)

    assert record_pdf(play.clinic, load, now) == once
    later = record_pdf(play.clinic, load, now + timedelta(days=1))
    assert later != once
    assert "made 5 Mar 2026" in text_of(later)


def test_the_time_of_making_is_the_one_that_was_handed_in(play: Play) -> None:
    load = failed(play)
    summer = play.clock().replace(month=7, day=2, hour=9, minute=30)

    assert record_of(play.clinic, load, summer).made == "2 Jul 2026 10:30 BST"


def test_no_patient_stands_in_the_record_of_a_load_that_was_used(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    pack = play.sterile_pack(steriliser, hook)
    load = load_rows.last_load(play.clinic.store, steriliser)
    play.scan("start over", "123456", "start a use", pack, "finish")
    token = play.clinic.vault.find("123456")
    assert load is not None and token
    says = read(play, load_of(play, load.load))

    assert "123456" not in says and token not in says
    assert pack in says.replace(" ", "")


def test_names_in_other_scripts_are_printed_as_far_as_the_type_goes_and_it_says_so(
    play: Play,
) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        other = items.add_person(act, "Иван 山田 Łőrinc", "nurse", ["release"])
    tag = play.run(play.add("steriliser-vacuum"), play.add("hook"))
    with acting(play.clinic, by=other) as act:
        release_load(act, load_of(play, tag), other, [], "<b>dry</b> & whole 🙂")
    says = read(play, load_of(play, tag))

    assert f"???? ?? Łorinc, {show_tag(other)}" in says
    assert "<b>dry</b> & whole ?" in says
    assert "Some letters are not in the type of this record" in says
    assert "Some letters" not in read(play, failed(play))


@pytest.mark.parametrize("state", ["filling", "running"])
def test_a_load_that_has_not_ended_has_no_record(play: Play, state: str) -> None:
    play.scan("start over", play.add("steriliser-vacuum"), play.add("hook"))
    if state == "running":
        play.scan("start the load")
    load = load_rows.open_loads(play.clinic.store)[0]

    with pytest.raises(Refused, match="has not ended yet"):
        record_of(play.clinic, load, play.clock())


def test_a_load_is_found_by_its_tag_however_it_is_typed(play: Play) -> None:
    load = failed(play)

    assert load_named(play.clinic, show_tag(load.load).lower()) == load
    with pytest.raises(Refused, match="There is no load"):
        load_named(play.clinic, play.add("hook"))


def test_a_load_of_many_things_and_long_words_runs_over_pages(play: Play) -> None:
    hooks = [play.add("hook", name=f"no. {n} " + "W" * 60) for n in range(40)]
    tag = play.run(play.add("steriliser-vacuum"), *hooks, hold_s=140)
    data = record_pdf(play.clinic, load_of(play, tag), play.clock())

    assert len(PdfReader(io.BytesIO(data)).pages) > 2
    says = text_of(data).replace(" ", "")
    assert [hook for hook in hooks if hook not in says] == []


def test_the_trouble_of_a_failed_cycle_is_marked_in_ink_on_paper(play: Play) -> None:
    """The mark is a full black box; the same cycle with time enough has none."""
    poppler = shutil.which("pdftoppm")
    if poppler is None and os.environ.get("CI", "").lower() in ("1", "true"):
        pytest.fail("pdftoppm is missing: install poppler-utils, the cycle record goes unchecked")
    if poppler is None:
        pytest.skip("THE CYCLE RECORD GOES UNCHECKED: pdftoppm (poppler-utils) is not installed")
    good = load_of(play, play.run(play.add("steriliser-vacuum"), play.add("hook")))

    boxes = [
        black_boxes(poppler, record_pdf(play.clinic, load, play.clock()))
        for load in (good, failed(play))
    ]

    assert boxes[0] == 0
    assert boxes[1] == 4  # one in each panel and one with its words


def black_boxes(poppler: str, data: bytes) -> int:
    """How many boxes the size of a mark's are on the first page, mostly ink; the banner is none."""
    done = subprocess.run(
        [poppler, "-r", "72", "-gray", "-f", "1", "-l", "1", "-"],
        input=data, capture_output=True, check=True, timeout=60,
    )  # fmt: skip
    page = Image.open(io.BytesIO(done.stdout)).convert("L")
    ink = page.point(lambda level: 255 if level < 90 else 0).crop((40, 170, 555, page.height - 60))
    full = ink.filter(ImageFilter.BoxBlur(4)).point(lambda share: 255 if share > 190 else 0)
    found: list[tuple[int, int]] = []
    for index, level in enumerate(full.tobytes()):
        y, x = divmod(index, full.width)
        if level and all(abs(x - a) > 14 or abs(y - b) > 14 for a, b in found):
            found.append((x, y))
    return len(found)
