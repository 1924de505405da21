"""What agents and hot water stop, as printed; each rule names the text it was read in."""

from datetime import date
from decimal import Decimal

import pytest

from equip.rulebook import load
from equip.rulebook.fitness import agent
from equip.rulebook.stopping import stopped_by

RULES = load("england").on(date(2026, 11, 1))


def basis(rule: str) -> str:
    return RULES[rule].basis


# Source: national survey of nasendoscope disinfection out of hours, 20 years on, J Laryngol Otol:
# a sporicidal wipe (chlorine dioxide) or its equal is the least for endoscopes, because 70 %
# alcohol misses spores and some viruses.
def test_alcohol_misses_spores_and_some_viruses_and_chlorine_dioxide_stops_spores() -> None:
    told = {
        "stops.alcohol-70.spores": False,
        "stops.alcohol-70.other-viruses": False,
        "stops.chlorine-dioxide.spores": True,
    }

    assert {rule: RULES.flag(rule) for rule in told} == told
    assert {basis(rule) for rule in told} == {"published"}
    assert all("J Laryngol Otol" in RULES[rule].source for rule in told)


# Source: German Society of Hospital Hygiene, June 2012: A0 600 stops bacteria including
# mycobacteria, fungi and heat-labile viruses; A0 3000 heat-resistant viruses too, such as HBV.
@pytest.mark.parametrize(
    ("target", "germ", "stops"),
    [
        (600, "vegetative-bacteria", True),
        (600, "mycobacteria", True),
        (600, "other-viruses", False),
        (3000, "vegetative-bacteria", True),
        (3000, "mycobacteria", True),
        (3000, "enveloped-viruses", True),
        (3000, "other-viruses", True),
    ],
)
def test_hot_water_by_its_a0(target: int, germ: str, stops: bool) -> None:
    rule = f"stops.thermal-a0-{target}.{germ}"

    assert (RULES.flag(rule), basis(rule)) == (stops, "published")


# Source: CDC Guideline for Disinfection and Sterilization 2008, Table 4: times as a sterilant are
# 6 h, 10 h and 3 h; 12 min for peracetic acid 0.2 %; none is given for OPA.
@pytest.mark.parametrize(
    ("agent", "hours"),
    [("hydrogen-peroxide-7.5", 6), ("glutaraldehyde-2.0", 10), ("peroxide-7.35-peracetic-0.23", 3)],
)
def test_agents_that_stop_spores_only_after_hours(agent: str, hours: int) -> None:
    rule = f"stops.{agent}.spores-minutes"

    assert (RULES.decimal(rule), basis(rule)) == (60 * hours, "published")
    assert "spores" not in stopped_by(RULES, agent, Decimal(60 * hours - 1))[0]
    assert "spores" in stopped_by(RULES, agent, Decimal(60 * hours))[0]


def test_opa_has_no_time_for_spores_and_peracetic_acid_stops_them_in_its_twelve_minutes() -> None:
    assert "spores" not in stopped_by(RULES, "opa-0.55", Decimal(100_000))[0]
    assert not RULES.has("stops.opa-0.55.spores-minutes")
    assert RULES.decimal("soak.peracetic-acid-0.2.minutes") == 12
    assert "spores" in stopped_by(RULES, "peracetic-acid-0.2", Decimal(12))[0]


# Source: CDC Guideline 2008, Table 4: peracetic acid 0.2 % is for single use.
def test_peracetic_acid_serves_one_load() -> None:
    rule = RULES["soak.peracetic-acid-0.2.reuse-loads"]

    assert (rule.value, rule.basis) == (1, "published")
    assert agent(RULES, "peracetic-acid-0.2").reuse_loads == 1
    assert agent(RULES, "opa-0.55").reuse_loads is None
