"""The picture of a judged log: whole, bounded, and showing where, why and by how much it failed."""

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import accumulate
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from equip import rulebook
from equip.deliver.picture.cycle import Drawn
from equip.deliver.picture.ink import Picture, Stroke, Words
from equip.deliver.picture.layout import NARROW, PAPER, SCREEN, Size, picture
from equip.deliver.picture.svg import svg
from equip.deliver.picture.table import tabled
from equip.demo.cycles import steam_log, washer_log
from equip.desk.act.as_told import rules_used
from equip.desk.cycles.picture.cycle import drawn
from equip.facts import Told
from equip.logs.plain import Trace, read_plain
from equip.rulebook.cycles import judge, programme_of
from equip.rules.loads.load import Load

CYCLES = Path(__file__).parents[2] / "published" / "cycles"
RULES = rulebook.load("england").on(date(2026, 3, 1))
SVG = "{http://www.w3.org/2000/svg}"

SAMPLES = {
    "passed": (steam_log(1), "steam-134"),
    "short": (steam_log(2, hold_s=140), "steam-134"),
    "dipped": ((CYCLES / "dip-134.csv").read_bytes(), "steam-134"),
    "air": ((CYCLES / "air-134.csv").read_bytes(), "steam-134"),
    "three probes": ((CYCLES / "clean-134-three-probes.csv").read_bytes(), "steam-134"),
    "never hot": (steam_log(3, plateau_c=128.0), "steam-134"),
    "cold": (steam_log(3, plateau_c=106.0), "steam-134"),
    "washer": (washer_log(1), "thermal-a0-3000"),
    "washer, short": (washer_log(1, hold_s=40), "thermal-a0-3000"),
}
SIZES = {"screen": SCREEN, "narrow": NARROW, "paper": PAPER}


def judged(log: bytes, programme: str) -> Drawn:
    return judged_trace(read_plain(log), programme)


def judged_trace(trace: Trace, programme: str) -> Drawn:
    found = judge(RULES, programme, trace)
    load = Load(
        load="L000004127",
        programme=programme,
        verdict=found.verdict,
        reasons=tuple(
            Told(code=r.code, says=r.says, at_s=r.at_s if r.at_s is None else Decimal(str(r.at_s)))
            for r in found.reasons
        ),
        figures={name: str(value) for name, value in found.figures.items() if value is not None},
        rules=rules_used(RULES.behind(programme)),
    )
    limits = programme_of(programme, load.rules)
    assert limits is not None
    return drawn(trace, limits, load, f"Load <{programme}>")


def said(made: Picture) -> list[str]:
    return [mark.text for mark in made.marks if isinstance(mark, Words)]


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
@pytest.mark.parametrize("sample", SAMPLES)
def test_every_picture_is_well_formed_named_and_within_its_edges(sample: str, size: Size) -> None:
    made = picture(judged(*SAMPLES[sample]), size)

    root = ElementTree.fromstring(svg(made, "cycle-wide"))
    title, desc = root[0], root[1]
    assert (title.tag, desc.tag) == (f"{SVG}title", f"{SVG}desc")
    assert root.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
    assert title.text and title.text.startswith("Load <")
    assert desc.text and desc.text.startswith(("Passed", "Failed", "Cannot be judged"))
    for mark in made.marks:
        if isinstance(mark, Stroke):
            assert all(-0.1 <= x <= made.width + 0.1 for x, _ in mark.points)
            assert all(-0.1 <= y <= made.height + 0.1 for _, y in mark.points)


@pytest.mark.parametrize("sample", SAMPLES)
def test_a_narrow_screen_has_type_of_eleven_dots_at_least(sample: str) -> None:
    made = picture(judged(*SAMPLES[sample]), NARROW)

    scale = (360 - 32) / made.width  # the page leaves a rem at each side
    assert min(m.size for m in made.marks if isinstance(m, Words)) * scale >= 11


@pytest.mark.parametrize(
    ("sample", "short"),
    [
        ("short", "hot enough for too short a time"),
        ("dipped", "fell below the band"),
        ("air", "steam and chamber disagree"),
        ("washer, short", "A0 too low"),
    ],
)
def test_what_went_wrong_is_numbered_at_its_moment_in_words(sample: str, short: str) -> None:
    found = judged(*SAMPLES[sample])
    trouble = next(one for one in found.troubles if short in one.says)
    made = picture(found, SCREEN)

    shows = [p for p in found.panels if p.start <= trouble.at_s <= p.end]
    upright = [
        m for m in made.marks
        if isinstance(m, Stroke) and m.tone == "accent" and m.points[0][0] == m.points[1][0]
    ]  # fmt: skip
    assert said(made).count(str(trouble.number)) >= len(shows) + 1
    assert len(upright) >= len(shows)
    assert trouble.says in said(made)


def test_what_was_held_and_what_was_needed_stand_over_each_other_close_up() -> None:
    close = next(p for p in judged(*SAMPLES["short"]).panels if p.close)

    held, needed = close.spans
    assert needed.end - needed.start == 180
    assert held.start == needed.start
    assert 0 < held.end - held.start < 180
    assert close.end > needed.end


def test_a_cycle_far_too_cold_has_no_holding_time_to_look_at() -> None:
    assert [p.close for p in judged(*SAMPLES["never hot"]).panels] == [False, False, True]
    assert [p.close for p in judged(*SAMPLES["cold"]).panels] == [False, False]


def test_pressure_has_a_scale_of_its_own_with_the_saturation_pressure_of_the_band() -> None:
    pressure = judged(*SAMPLES["passed"]).panels[1]

    assert pressure.band == pytest.approx((304.199, 331.852), abs=0.01)  # IAPWS R7-97
    assert pressure.curves[0].unit == "kPa"


def test_a_log_without_pressure_is_drawn_without_it() -> None:
    bare = b"\n".join(line.rpartition(b",")[0] for line in steam_log(4).splitlines())
    found = judged(bare, "steam-134")

    assert [p.close for p in found.panels] == [False, True]
    assert [c.mark for c in found.panels[0].curves] == ["T"]


def test_lines_differ_by_their_strokes_and_by_letters_on_them() -> None:
    found = judged(*SAMPLES["three probes"])

    curves = found.panels[0].curves
    assert len({curve.dash for curve in curves}) == len(curves) == 4
    assert {"T1", "T2", "T3", "S"} <= set(said(picture(found, SCREEN)))


def test_no_line_bridges_a_hole_of_the_log() -> None:
    lines = steam_log(5).splitlines()
    cut = b"\n".join([*lines[:350], *lines[380:]])  # a minute is missing
    found = judged(cut, "steam-134")
    hole = next(b for _, b in found.panels[0].curves[0].whole)

    seconds = found.panels[0].curves[0].seconds
    assert seconds[hole] - seconds[hole - 1] > 60
    row = next(r for r in tabled(found).rows if "no reading" in r.values)
    assert set(row.values) == {"no reading"}


def test_a_log_of_ten_hours_is_drawn_in_bounded_size_with_its_extremes() -> None:
    short = steam_log(6).decode().splitlines()
    end = float(short[-1].partition(",")[0])
    rest = [f"{end + n},{60 + n % 7},{80 + n % 11}" for n in range(1, 36_001)]
    rest[20_000] = f"{end + 20_001},133.25,90"  # one reading, far from the holding time
    found = judged("\n".join([*short, *rest]).encode(), "steam-134")

    made = picture(found, SCREEN)
    assert len(svg(made)) + len(svg(picture(found, NARROW))) < 400_000
    assert len(tabled(found).rows) < 50
    panel = replace(found, panels=found.panels[:1], troubles=())
    strokes = [m for m in picture(panel, SCREEN).marks if isinstance(m, Stroke)]
    line = max(strokes, key=lambda m: len(m.points) if not m.dash else 0)
    later = [y for x, y in line.points if x > 300]
    assert min(later) < sorted(later)[10] - 40  # the one peak stands out of the rest


@settings(max_examples=60)
@given(
    st.lists(st.floats(1e-6, 400), min_size=1, max_size=30),
    st.lists(st.tuples(*[st.floats(-30, 200) | st.floats(133, 138)] * 2), min_size=31, max_size=31),
    st.floats(-5, 1000),
    st.sampled_from(["steam-134", "thermal-a0-600"]),
)
def test_whatever_a_log_holds_it_is_drawn_in_every_size_and_as_a_table(
    steps: list[float], probes: list[tuple[float, float]], kpa: float, programme: str
) -> None:
    seconds = list(accumulate(steps, initial=-5.1234567))
    columns = tuple([pair[n] for pair in probes[: len(seconds)]] for n in (0, 1))
    found = judged_trace(Trace(seconds, columns, [kpa] * len(seconds)), programme)

    for size in SIZES.values():
        ElementTree.fromstring(svg(picture(found, size)))
    assert tabled(found).rows


def test_the_table_says_where_the_hold_was_and_marks_the_row_that_fails() -> None:
    table = tabled(judged(*SAMPLES["short"]))

    happened = {row.says.partition(";")[0]: row for row in table.rows if row.says}
    assert "holding time begins" in happened
    wrong = [row for row in table.rows if row.wrong]
    assert len(wrong) == 1
    assert re.search(r"1: hot enough for too short a time", wrong[0].says)
    assert table.heads[0] == "T: chamber, °C"
    assert all(len(row.values) == len(table.heads) for row in table.rows)


def test_a_picture_is_drawn_by_the_rules_of_its_judgement_not_by_those_of_today() -> None:
    used = rules_used(RULES.behind("steam-134"))
    stricter = [
        rule if rule.id != "steam-134.hold" else type(rule)(id=rule.id, value="240", unit="s")
        for rule in used
    ]

    before, after = programme_of("steam-134", used), programme_of("steam-134", stricter)

    assert before == RULES.programme("steam-134")
    assert after == replace(before, hold_s=240.0)
    assert programme_of("thermal-a0-600", rules_used(RULES.behind("thermal-a0-600"))) == (
        RULES.thermal_programme("thermal-a0-600")
    )
    assert programme_of("steam-134", used[:3]) is None
