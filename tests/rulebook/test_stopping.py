"""What the rules in force say that each means stops."""

from datetime import date
from decimal import Decimal

import pytest

from equip.facts import Hazard, Process, Programme
from equip.rulebook import BOOKS, Override, load
from equip.rulebook.fitness import agent_names
from equip.rulebook.stopping import agents_known, stopped_by, stopped_by_cycle
from equip.rules.fitness.stopping import GERMS

TODAY = date(2026, 11, 1)
RULES = load("england").on(TODAY)
USUAL: Hazard = "bacteria-viruses"


@pytest.mark.parametrize("book", BOOKS)
def test_of_every_agent_every_germ_is_answered(book: str) -> None:
    rules = load(book).on(TODAY)
    known = agents_known(rules)

    assert set(agent_names(rules)) <= set(known)
    assert {"alcohol-70", "chlorine-dioxide"} <= set(known)
    assert not {"steam", "thermal-a0-600", "without-heat"} & set(known)
    for means in (*known, "steam", "without-heat", *rules.thermal_programmes()):
        assert all(rules.has(f"stops.{means}.{germ}") for germ in GERMS), means


@pytest.mark.parametrize("book", BOOKS)
def test_no_means_of_a_starter_book_stops_prions(book: str) -> None:
    rules = load(book).on(TODAY)

    told = [rule for name, rule in rules.items() if name.endswith(".prions")]

    assert told
    assert not any(rule.value for rule in told)


@pytest.mark.parametrize(
    ("means", "stops"),
    [
        ("steam", (USUAL, "spores")),
        ("without-heat", (USUAL, "spores")),
        ("thermal-a0-3000", (USUAL,)),
        ("thermal-a0-600", ()),
        ("thermal-a0-60", ()),
        ("opa-0.55", (USUAL,)),
        ("peracetic-acid-0.2", (USUAL, "spores")),
        ("chlorine-dioxide", (USUAL, "spores")),
        ("alcohol-70", ()),
        ("quaternary-ammonium", ()),
        ("", ()),
        ("what-nobody-knows", ()),
    ],
)
def test_each_means_comes_to_hazards(means: str, stops: tuple[Hazard, ...]) -> None:
    assert stopped_by(RULES, means)[0] == stops


def test_what_was_stopped_names_the_rules_that_say_so() -> None:
    used = [rule.id for rule in stopped_by(RULES, "alcohol-70")[1]]

    assert "stops.alcohol-70.spores" in used
    assert "hazard.bacteria-viruses.needs-mycobacteria" in used
    assert stopped_by(RULES, "what-nobody-knows")[1] == ()


@pytest.mark.parametrize(("minutes", "spores"), [(179, False), (180, True)])
def test_an_agent_that_had_its_time_as_a_sterilant_stops_spores_too(
    minutes: int, spores: bool
) -> None:
    found = stopped_by(RULES, "peroxide-7.35-peracetic-0.23", Decimal(minutes))[0]

    assert ("spores" in found) == spores


def test_a_clinic_may_spare_a_germ_with_a_reason() -> None:
    decided = [
        Override(rule=rule, value="false", reason="policy", since=TODAY, by="B000000017")
        for rule in (
            "hazard.bacteria-viruses.needs-other-viruses",
            "hazard.bacteria-viruses.needs-mycobacteria",
        )
    ]
    rules = load("england").overridden(decided).on(TODAY)

    assert stopped_by(rules, "alcohol-70")[0] == (USUAL,)
    assert stopped_by(rules, "thermal-a0-600")[0] == (), "hepatitis B is not said to be stopped"


@pytest.mark.parametrize(
    ("heat", "steps", "programme", "stops"),
    [
        ("steam", ("sterilise",), "steam-134", (USUAL, "spores")),
        ("hot-water", ("clean", "disinfect"), "thermal-a0-3000", (USUAL,)),
        ("hot-water", ("clean", "disinfect"), "thermal-a0-600", ()),
        ("none", ("disinfect",), "soak-opa-0.55", (USUAL,)),
        ("none", ("disinfect",), "our bath", ()),
        ("none", ("clean",), "ultrasonic", ()),
        ("none", ("sterilise",), "gas", (USUAL, "spores")),
    ],
)
def test_a_cycle_stops_what_its_heat_or_its_agent_does(
    heat: str, steps: tuple[str, ...], programme: str, stops: tuple[Hazard, ...]
) -> None:
    process = Process(
        steps=steps,  # type: ignore[arg-type]
        heat=heat,  # type: ignore[arg-type]
        programmes=(Programme(judged_by=programme),),
    )

    assert stopped_by_cycle(RULES, process, programme) == stops
