"""Logs in the layouts that machines write, judged once their layouts are described.

The logs in `cycles/` are computed and invented: saturated steam by IAPWS-IF97 plus noise. They
stand for no real machine; their layouts lie in `layouts/`.
"""

from datetime import date
from pathlib import Path

import msgspec
import pytest

from equip import rulebook
from equip.logs.layout import Layout, air_kpa, from_json
from equip.logs.machine import MachineLog, read_with
from equip.logs.plain import UnreadableLog
from equip.rulebook.cycles import judge
from equip.rules.verdict import Judgement

HERE = Path(__file__).parent
ON = date(2026, 3, 29)


def layout(name: str) -> Layout:
    return from_json((HERE / "layouts" / f"{name}.json").read_bytes())


def read(log: str, **changed: object) -> MachineLog:
    described = msgspec.structs.replace(layout(log.partition(".")[0]), **changed)
    return read_with(described, (HERE / "cycles" / log).read_bytes())


def judged(log: MachineLog, programme: str, book: str = "england") -> Judgement:
    return judge(rulebook.load(book).on(ON), programme, log.trace)


# Source: the samples are clean cycles, in °C and gauge bar, in mbar, in °F and gauge psi.
@pytest.mark.parametrize(
    ("log", "programme", "book", "hold_s"),
    [
        ("gauge-bar-semicolon.txt", "steam-134", "england", 236),
        ("stamps-mbar-tab.log", "steam-134", "england", 233),
        ("fahrenheit-psi.csv", "prevac-132", "united-states", 270),
    ],
)
def test_each_machine_log_passes_once_its_layout_is_described(
    log: str, programme: str, book: str, hold_s: float
) -> None:
    judgement = judged(read(log), programme, book)

    assert judgement.verdict == "pass"
    assert judgement.figures["hold_s"] == hold_s
    assert abs(judgement.figures["theory_gap_max_k"]) < 0.2


def test_the_numbers_of_machine_and_cycle_are_found_ahead_of_the_header() -> None:
    log = read("gauge-bar-semicolon.txt")

    assert (log.machine, log.cycle_no) == ("D000000058", "004117")


def test_the_air_pressure_that_was_added_is_told_in_the_judgement() -> None:
    judgement = judged(read("gauge-bar-semicolon.txt"), "steam-134")

    says = next(reason.says for reason in judgement.reasons if reason.code == "as-read")

    assert "101.325 kPa of air pressure were added, the standard atmosphere at sea level" in says


@pytest.mark.parametrize("log", ["gauge-bar-semicolon.txt", "fahrenheit-psi.csv"])
def test_a_gauge_log_declared_absolute_ends_in_a_sentence_that_says_so(log: str) -> None:
    with pytest.raises(UnreadableLog, match="looks like gauge pressure, but the layout says"):
        read(log, gauge=False)


def test_without_its_vacuum_the_judgement_says_so_in_place_of_the_reader() -> None:
    text = (HERE / "cycles" / "gauge-bar-semicolon.txt").read_text("utf-8").splitlines()
    hot = [line for line in text[5:] if float(line.split(";")[2].replace(",", ".")) > 1]
    absolute = msgspec.structs.replace(layout("gauge-bar-semicolon"), gauge=False)
    kept = "\n".join([*text[:5], *hot, ""])

    judgement = judged(read_with(absolute, kept.encode()), "steam-134")

    assert judgement.verdict == "fail"
    assert "this looks like gauge pressure" in judgement.reasons[0].says


def test_an_absolute_log_declared_gauge_ends_in_a_sentence_that_says_so() -> None:
    judgement = judged(read("stamps-mbar-tab.log", gauge=True), "steam-134")

    assert judgement.verdict == "fail"
    assert "this looks like absolute pressure" in judgement.reasons[0].says


@pytest.mark.parametrize("zone", ["", "Europe/London", "Europe/Berlin", "America/New_York"])
def test_no_clock_change_of_that_night_breaks_the_log_in_any_zone(zone: str) -> None:
    log = read("stamps-mbar-tab.log", zone=zone)

    assert log.trace.seconds[-1] == 1030
    assert judged(log, "steam-134").figures["largest_gap_s"] == 1


@pytest.mark.parametrize("unit", ["kPa", "Pa", "bar", "psi"])
def test_mbar_taken_for_another_unit_never_passes(unit: str) -> None:
    try:
        judgement = judged(read("stamps-mbar-tab.log", pressure_unit=unit), "steam-134")
    except UnreadableLog as fault:
        assert "Correct the layout." in str(fault)
    else:
        assert judgement.verdict == "fail"


def test_fahrenheit_taken_for_celsius_is_refused_and_celsius_for_fahrenheit_is_told() -> None:
    with pytest.raises(UnreadableLog, match="looks like °F"):
        read("fahrenheit-psi.csv", temperature="°C")

    judgement = judged(read("gauge-bar-semicolon.txt", temperature="°F"), "steam-134")

    assert judgement.verdict == "fail"
    assert any("if the machine writes °C" in reason.says for reason in judgement.reasons)


# Source: ISO 2533; 304.2 kPa is 2.0874 bar gauge at 95.461 kPa (500 m), 2.1964 at 84.556 (1500 m).
@pytest.mark.parametrize(("metres", "kpa"), [(0, 101.325), (500, 95.461), (1500, 84.556)])
def test_the_air_of_an_altitude_is_that_of_the_standard_atmosphere(metres: int, kpa: float) -> None:
    gauge = Layout(pressure="p", gauge=True, altitude_m=metres)

    assert air_kpa(gauge)[0] == pytest.approx(kpa, abs=0.001)


@pytest.mark.parametrize(("metres", "bar"), [(500, 2.0874), (1500, 2.1964)])
def test_a_gauge_in_the_mountains_reads_more_for_the_same_steam(metres: int, bar: float) -> None:
    gauge = Layout(pressure="p", pressure_unit="bar", gauge=True, altitude_m=metres)
    rows = f"seconds,celsius,p\n0,134,{bar}\n1,134,{bar}\n"

    trace = read_with(gauge, rows.encode()).trace

    assert trace.kpa is not None
    assert list(trace.kpa) == pytest.approx([304.2, 304.2], abs=0.01)


# Source: definition of the units; 14.6959488 psi, 1013.25 mbar, 1.01325 bar, 101 325 Pa are one
# atmosphere, and 250, 270, 272, 273, 275 °F are exactly so many ninths (arithmetic).
@pytest.mark.parametrize(
    ("unit", "value"),
    [("kPa", 101.325), ("Pa", 101325), ("bar", 1.01325), ("mbar", 1013.25), ("psi", 14.6959488)],
)
def test_one_atmosphere_is_the_same_in_every_unit(unit: str, value: float) -> None:
    described = msgspec.convert({"pressure": "p", "pressure_unit": unit}, Layout)

    trace = read_with(described, f"seconds,celsius,p\n0,20,{value}\n1,20,{value}\n".encode()).trace

    assert trace.kpa is not None
    assert trace.kpa[0] == pytest.approx(101.325, abs=1e-5)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    [(250, 121.111111), (269.6, 132), (270, 132.222222), (272, 133.333333), (275, 135)],
)
def test_fahrenheit_comes_out_exact_to_the_millionth(fahrenheit: float, celsius: float) -> None:
    rows = f"seconds,celsius\n0,{fahrenheit}\n1,{fahrenheit}\n"

    trace = read_with(Layout(temperature="°F"), rows.encode()).trace

    assert trace.probes[0][0] == celsius
