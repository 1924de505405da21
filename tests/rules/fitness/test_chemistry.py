"""Soaks and mixtures: laws that hold for any agent, and what decides when facts are missing."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.fitness.agents import (
    Agent,
    Contact,
    Soak,
    Strip,
    TooWeak,
    strength_ppm,
    volumes_ml,
    why_not_disinfected,
)
from equip.rules.verdict import worst

TENTHS = st.integers(1, 2000).map(lambda tenths: Decimal(tenths) / 10)
CONTACTS = st.builds(Contact, TENTHS, TENTHS, st.just(None), st.booleans())
FIGURES = st.lists(CONTACTS, min_size=1, max_size=2)
AGENTS = st.builds(
    Agent,
    st.fixed_dictionaries({"": FIGURES})
    | st.fixed_dictionaries({"label": FIGURES, "society": FIGURES}),
    st.integers(1, 40),
    st.none() | TENTHS,
)
SOAKS = st.builds(
    Soak,
    st.none() | TENTHS,
    st.none() | TENTHS,
    st.none() | st.booleans(),
    st.none() | st.integers(0, 60),
    st.sampled_from([None, "pass", "fail", "none"]),
)
BASES = st.sampled_from([None, "label", "society"])

BY_HAND = Contact(Decimal(12), Decimal(20))
BY_MACHINE = Contact(Decimal(5), Decimal(25), automated_only=True)
TWO_WAYS = Agent({"": [BY_HAND, BY_MACHINE]}, reuse_days=14, strip_percent=Decimal("0.3"))
TWO_FIGURES = Agent(
    {"label": [Contact(Decimal(45), Decimal(25))], "society": [Contact(Decimal(20), Decimal(20))]},
    reuse_days=14,
)
WINDOW = Agent({"": [Contact(Decimal(12), Decimal(50), Decimal(56))]}, reuse_days=1)
GOOD = Soak(Decimal(20), Decimal(12), automated=False, day_of_use=1, strip="pass")


def codes(soak: Soak, agent: Agent = TWO_WAYS, basis: str | None = None) -> list[str]:
    return [
        reason.code for reason in why_not_disinfected(soak, agent, basis) if reason.spoils != "pass"
    ]


def verdict(soak: Soak, agent: Agent = TWO_WAYS, basis: str | None = None) -> str:
    return worst(why_not_disinfected(soak, agent, basis))


@given(SOAKS, AGENTS, BASES, TENTHS)
def test_a_longer_soak_never_fails_what_a_shorter_passed(
    soak: Soak, agent: Agent, basis: str | None, more: Decimal
) -> None:
    longer = replace(soak, minutes=None if soak.minutes is None else soak.minutes + more)

    if verdict(soak, agent, basis) == "pass":
        assert verdict(longer, agent, basis) == "pass"


@given(SOAKS, AGENTS, BASES, st.integers(1, 30))
def test_an_older_solution_never_passes_what_a_fresher_one_failed(
    soak: Soak, agent: Agent, basis: str | None, days: int
) -> None:
    older = replace(soak, day_of_use=None if soak.day_of_use is None else soak.day_of_use + days)

    if verdict(soak, agent, basis) == "fail":
        assert verdict(older, agent, basis) == "fail"


@given(SOAKS, AGENTS, BASES)
def test_a_failed_strip_fails_whatever_else(soak: Soak, agent: Agent, basis: str | None) -> None:
    assert verdict(replace(soak, strip="fail"), agent, basis) == "fail"


@given(SOAKS, AGENTS, BASES, st.integers(0, 10), TENTHS, TENTHS, st.booleans())
def test_telling_what_was_not_told_never_overturns_a_fail(
    soak: Soak,
    agent: Agent,
    basis: str | None,
    day: int,
    minutes: Decimal,
    celsius: Decimal,
    automated: bool,
) -> None:
    told = Soak(
        celsius if soak.celsius is None else soak.celsius,
        minutes if soak.minutes is None else soak.minutes,
        automated if soak.automated is None else soak.automated,
        day if soak.day_of_use is None else soak.day_of_use,
        soak.strip or "pass",
    )

    if verdict(soak, agent, basis) == "fail":
        assert verdict(told, agent, basis) == "fail"


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({}, []),
        ({"minutes": Decimal("11.9")}, ["too-short"]),
        ({"celsius": Decimal("19.9")}, ["too-cold"]),
        ({"celsius": Decimal("19.9"), "minutes": Decimal(1)}, ["too-short", "too-cold"]),
        ({"day_of_use": 14}, []),
        ({"day_of_use": 15}, ["too-old"]),
        ({"strip": "fail"}, ["strip-failed"]),
        ({"strip": "none"}, ["strip-not-read"]),
        ({"strip": None}, ["strip-not-read"]),
        ({"minutes": None}, ["minutes-not-told"]),
        ({"celsius": None}, ["celsius-not-told"]),
        ({"day_of_use": None}, ["age-not-told"]),
    ],
)
def test_each_limit_itself_passes_and_a_little_less_does_not(
    changed: dict[str, Decimal | int | Strip | None], why: list[str]
) -> None:
    assert codes(replace(GOOD, **changed)) == why  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("automated", "why"),
    [(True, []), (False, ["too-short"]), (None, ["automated-not-told"])],
)
def test_the_short_way_is_open_to_a_machine_only(automated: bool | None, why: list[str]) -> None:
    assert codes(replace(GOOD, celsius=Decimal(25), minutes=Decimal(5), automated=automated)) == why


def test_a_failed_contact_says_every_way_that_would_have_served() -> None:
    [reason] = why_not_disinfected(replace(GOOD, minutes=Decimal("11.5")), TWO_WAYS)

    assert reason.says == (
        "It soaked for 11.5 min; it needs 12 min at 20 °C or more, "
        "or 5 min at 25 °C or more in an automated reprocessor."
    )


@pytest.mark.parametrize(
    ("celsius", "why"), [("49.9", ["too-cold"]), ("50", []), ("56", []), ("56.1", ["too-hot"])]
)
def test_an_agent_with_a_window_fails_above_it_too(celsius: str, why: list[str]) -> None:
    assert codes(replace(GOOD, celsius=Decimal(celsius)), WINDOW) == why


@pytest.mark.parametrize(
    ("minutes", "celsius", "basis", "expected"),
    [
        (20, 20, "society", "pass"),
        (20, 20, "label", "fail"),
        (20, 20, None, "undecided"),
        (45, 25, None, "pass"),
        (19, 20, None, "fail"),
    ],
)
def test_of_two_figures_the_basis_decides_and_without_one_only_what_both_agree_on(
    minutes: int, celsius: int, basis: str | None, expected: str
) -> None:
    soak = replace(GOOD, minutes=Decimal(minutes), celsius=Decimal(celsius))

    assert verdict(soak, TWO_FIGURES, basis) == expected


def test_a_basis_where_only_one_figure_is_known_is_remarked_on_and_changes_nothing() -> None:
    reasons = why_not_disinfected(GOOD, TWO_WAYS, "society")

    assert [(one.code, one.spoils) for one in reasons] == [("one-figure-only", "pass")]


def test_a_strip_that_was_due_and_not_read_leaves_it_undecided() -> None:
    due = why_not_disinfected(replace(GOOD, strip="none"), TWO_WAYS)
    by_the_sheet = why_not_disinfected(replace(GOOD, strip="none"), TWO_WAYS, strip_needed=False)
    not_due = why_not_disinfected(replace(GOOD, strip="none"), TWO_FIGURES, "society")

    assert [(one.code, one.spoils) for one in due] == [("strip-not-read", "undecided")]
    assert [(one.code, one.spoils) for one in by_the_sheet] == [("strip-not-read", "pass")]
    assert "strip-not-read" not in {one.code for one in not_due}


# --- mixing ----------------------------------------------------------------------------------

PERCENT = st.integers(1, 10_000).map(lambda hundredths: Decimal(hundredths) / 100)
VOLUMES = st.integers(1, 10**7).map(lambda tenths: Decimal(tenths) / 10)


@given(PERCENT, VOLUMES, VOLUMES)
def test_volumes_for_the_strength_of_a_mixture_are_those_it_was_mixed_of(
    percent: Decimal, stock: Decimal, water: Decimal
) -> None:
    ppm = strength_ppm(percent, stock, water)

    assert volumes_ml(percent, ppm, stock + water) == (Fraction(stock), Fraction(water))


@given(PERCENT, VOLUMES, VOLUMES, st.integers(2, 1000))
def test_the_strength_hangs_on_the_ratio_alone_and_falls_with_more_water(
    percent: Decimal, stock: Decimal, water: Decimal, times: int
) -> None:
    ppm = strength_ppm(percent, stock, water)

    assert strength_ppm(percent, stock * times, water * times) == ppm
    assert strength_ppm(percent, stock, water * times) < ppm


@given(PERCENT, VOLUMES)
def test_a_stock_gives_its_own_strength_undiluted_and_no_more(
    percent: Decimal, total: Decimal
) -> None:
    own = percent * 10_000

    assert volumes_ml(percent, own, total) == (Fraction(total), 0)
    with pytest.raises(TooWeak, match="take a stronger stock"):
        volumes_ml(percent, own + Decimal("0.001"), total)
