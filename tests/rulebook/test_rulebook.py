"""Dated rules: complete books, the edition of a day, a clinic's own values, and bad files named."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from equip import rulebook
from equip.rulebook import (
    BOOKS,
    BadOverride,
    BadRule,
    MissingRule,
    Override,
    UnknownBook,
    UnknownProgramme,
    WrongKind,
    load,
)
from equip.rulebook.reading import merge, parse
from equip.rulebook.rule import override

TODAY = date(2026, 1, 15)
AMERICAN = {
    f"{name}.{part}"
    for name in ("prevac-132", "gravity-121-wrapped", "gravity-132-wrapped")
    for part in ("low", "band-width", "hold")
}


def decided(
    rule: str, value: str, since: date = date(2025, 6, 1), reason: str = "Our choice"
) -> Override:
    return Override(rule=rule, value=value, reason=reason, since=since, by="B000000017")


# --- the starter books -----------------------------------------------------------------------


def test_every_book_has_every_rule_and_the_american_one_its_own_programmes_besides() -> None:
    england, australia, states = (set(load(name).on(TODAY)) for name in BOOKS)

    assert england == australia
    assert states - england == AMERICAN
    assert england <= states


@pytest.mark.parametrize("name", BOOKS)
def test_every_rule_has_a_source_a_date_and_an_honest_basis(name: str) -> None:
    for editions in load(name).editions.values():
        for rule in editions:
            assert rule.source
            assert rule.since <= TODAY
            assert rule.basis in (
                "published",
                "second-hand",
                "maker",
                "common practice",
                "memory",
            )


@pytest.mark.parametrize("name", BOOKS)
def test_what_was_never_read_is_marked_memory(name: str) -> None:
    rules = load(name).on(TODAY)

    for rule in ("steam.theory-gap", "steam.spread", "steam.equilibration-small"):
        assert rules[rule].basis == "memory"
    assert rules["steam-121.band-width"].basis == "memory"
    assert rules["steam-134.band-width"].basis == "second-hand"


@pytest.mark.parametrize("name", BOOKS)
def test_every_programme_of_every_book_can_be_built(name: str) -> None:
    rules = load(name).on(TODAY)

    for programme in rules.steam_programmes():
        built = rules.programme(programme)
        assert built.low_c < built.high_c
        assert built.hold_s > 0
    for programme in rules.thermal_programmes():
        assert rules.thermal_programme(programme).target_s > 0
    assert rules.programmes() == [*rules.steam_programmes(), *rules.thermal_programmes()]


def test_the_bands_and_holding_times_of_every_book() -> None:
    rules = load("united-states").on(TODAY)

    found = {
        name: (built.low_c, built.high_c, built.hold_s)
        for name in rules.steam_programmes()
        for built in [rules.programme(name)]
    }

    assert found == {
        "steam-134": (134, 137, 180),
        "steam-126": (126, 129, 600),
        "steam-121": (121, 124, 900),
        "steam-115": (115, 118, 1800),
        "prevac-132": (132, 135, 240),
        "gravity-121-wrapped": (121, 124, 1800),
        "gravity-132-wrapped": (132, 135, 900),
    }


@pytest.mark.parametrize("name", BOOKS)
def test_every_book_knows_the_three_targets_of_a0(name: str) -> None:
    rules = load(name).on(TODAY)

    found = {one: rules.thermal_programme(one).target_s for one in rules.thermal_programmes()}

    assert found == {"thermal-a0-60": 60, "thermal-a0-600": 600, "thermal-a0-3000": 3000}


def test_a_programme_of_the_other_family_is_refused_with_those_there_are() -> None:
    rules = load("england").on(TODAY)

    with pytest.raises(UnknownProgramme, match="no steam programme “thermal-a0-600”; it has steam"):
        rules.programme("thermal-a0-600")
    with pytest.raises(UnknownProgramme, match="no thermal programme “steam-134”; it has thermal"):
        rules.thermal_programme("steam-134")


def test_the_rules_behind_a_thermal_programme_are_what_it_is_made_of() -> None:
    rules = load("england").on(TODAY)

    told = {rule.id: rule.value for rule in rules.behind("thermal-a0-600")}

    assert told["thermal-a0-600.target"] == 600
    assert told["a0.floor"] == 65
    assert told["thermal.stage-fall"] == 5
    assert not any(name.startswith("steam") for name in told)


@pytest.mark.parametrize("name", BOOKS)
def test_what_was_read_only_in_a_text_that_teaches_or_of_the_trade_is_second_hand(
    name: str,
) -> None:
    words = ("as taught", "as quoted", "as printed", "as summarised", "as cited", "trade article")
    for editions in load(name).editions.values():
        for rule in editions:
            if any(word in rule.source for word in words):
                assert rule.basis != "published", rule.id


@pytest.mark.parametrize("name", BOOKS)
def test_the_figures_of_a_bench_steriliser_name_its_own_standard(name: str) -> None:
    rules = load(name).on(TODAY)

    for one in ("steam-134", "steam-126", "steam-121"):
        assert "EN 13060" in rules[f"{one}.low"].source
        assert "EN 13060" in rules[f"{one}.hold"].source
    for rule in ("steam.spread", "steam.equilibration-small", "leak.limit"):
        assert rules[rule].source.startswith("EN 13060")


@pytest.mark.parametrize("name", BOOKS)
def test_what_a_strip_shows_and_how_often_it_is_read_is_the_label_s_to_say(name: str) -> None:
    rules = load(name).on(TODAY)

    assert rules["soak.strip-each-load"].source.startswith("The label")
    strips = [rule for name, rule in rules.items() if name.endswith(".strip-percent")]
    assert strips
    assert all("label of the strip comes first" in rule.note for rule in strips)


def test_a_washer_in_england_starts_from_its_own_practice_and_not_from_another_country_s() -> None:
    found = {name: load(name).on(TODAY)["washer.usual-programme"] for name in BOOKS}

    assert {name: rule.value for name, rule in found.items()} == {
        "england": "thermal-a0-600",
        "australia": "thermal-a0-3000",
        "united-states": "thermal-a0-3000",
    }
    assert found["england"].basis == "memory"
    assert "German" not in found["england"].source
    assert "No Australian figure was found" in found["australia"].source


def test_release_takes_two_people_in_australia_only() -> None:
    found = {name: load(name).on(TODAY).flag("release.two-people") for name in BOOKS}

    assert found == {"england": False, "australia": True, "united-states": False}


def test_england_gave_sixty_days_until_2013_and_a_year_since() -> None:
    book = load("england")

    assert book.on(date(2012, 12, 31)).whole("shelf.wrapped-days") == 60
    assert book.on(date(2013, 1, 1)).whole("shelf.wrapped-days") == 365


def test_before_the_first_edition_the_first_one_holds() -> None:
    assert load("england").on(date(1990, 1, 1)).whole("shelf.wrapped-days") == 60


@pytest.mark.parametrize("name", ["australia", "united-states"])
def test_elsewhere_wrapped_goods_have_no_limit_of_days(name: str) -> None:
    assert load(name).on(TODAY)["shelf.wrapped-days"].value is None


def test_an_unknown_book_is_refused_with_those_there_are() -> None:
    with pytest.raises(UnknownBook, match="no rule book “france”; there are england, australia"):
        load("france")


def test_a_book_is_read_once_and_its_digest_is_its_content() -> None:
    digests = {load(name).digest for name in BOOKS}

    assert load("england") is load("england")
    assert len(digests) == 3
    assert all(len(digest) == 64 for digest in digests)


def test_washing_water_is_cooler_in_the_american_book_and_each_says_how_sure_it_is() -> None:
    """45 °C is HTM 01-05 from memory; less than 43 °C stands in an extract of American teaching."""
    found = {
        name: (rules.number("wash.hottest-celsius"), rules["wash.hottest-celsius"].basis)
        for name in BOOKS
        for rules in [load(name).on(TODAY)]
    }

    assert found == {
        "england": (45, "memory"),
        "australia": (45, "memory"),
        "united-states": (43, "common practice"),
    }


@pytest.mark.parametrize("name", BOOKS)
def test_every_thermal_programme_has_the_pair_that_reaches_its_target(name: str) -> None:
    """Pairs as published; ISO 15883-1 Annex B gives the A0 of a steady temperature."""
    rules = load(name).on(TODAY)

    for one in rules.thermal_programmes():
        celsius, seconds = rules.number(f"{one}.pair-celsius"), rules.number(f"{one}.pair-s")
        assert 10 ** ((celsius - 80) / 10) * seconds == rules.thermal_programme(one).target_s
    assert not rules.flag("evidence.washer-pair")


# --- reading a rule ---------------------------------------------------------------------------


def test_numbers_are_exact_where_they_are_asked_for_exactly() -> None:
    rules = load("england").on(TODAY)

    assert rules.decimal("steam.f0-reference") == Decimal("121.1")
    assert rules.number("steam.f0-reference") == 121.1
    assert rules.decimal("pin.tries") == 5
    assert rules.number("pin.tries") == 5.0
    assert rules.text("mark.dropped") == "soil"
    assert rules.has("pin.tries")
    assert not rules.has("pin.colour")
    assert "pin.colour" not in rules
    assert len(rules) == len(list(rules))


def test_a_missing_rule_is_a_sentence() -> None:
    with pytest.raises(MissingRule) as caught:
        load("england").on(TODAY)["pin.colour"]

    assert str(caught.value) == "The rule book england has no rule “pin.colour”."


@pytest.mark.parametrize(
    ("method", "rule"),
    [
        ("number", "mark.dropped"),
        ("number", "release.two-people"),
        ("decimal", "release.two-people"),
        ("whole", "steam.f0-z"),
        ("whole", "shelf.wrapped-days"),
        ("flag", "pin.tries"),
        ("text", "pin.tries"),
    ],
)
def test_a_rule_read_as_what_it_is_not_is_our_fault_and_says_so(method: str, rule: str) -> None:
    rules = load("australia").on(TODAY)

    with pytest.raises(WrongKind, match=rule):
        getattr(rules, method)(rule)


def test_an_unknown_programme_is_refused_with_those_of_that_book() -> None:
    with pytest.raises(UnknownProgramme) as caught:
        load("england").on(TODAY).programme("prevac-132")

    assert str(caught.value) == (
        "The rule book england has no steam programme “prevac-132”; "
        "it has steam-134, steam-126, steam-121, steam-115."
    )


def test_a_band_width_that_is_given_takes_the_place_of_the_book_and_is_told_so() -> None:
    rules = load("england").on(TODAY)

    built = rules.programme("steam-134", band_width=Decimal("4.0"))
    told = {rule.id: rule for rule in rules.behind("steam-134", band_width=Decimal("4.0"))}

    assert built.high_c == 138.0
    assert told["steam-134.band-width"].value == Decimal("4.0")
    assert told["steam-134.band-width"].basis == "clinic"


@pytest.mark.parametrize(("litres", "allowed"), [(None, 15), (24, 15), (800, 15), (800.5, 30)])
def test_a_large_chamber_has_longer_to_equilibrate(litres: float | None, allowed: float) -> None:
    rules = load("england").on(TODAY)

    built = rules.programme("steam-134", chamber_litres=litres)

    assert built.equilibration_s == allowed


# --- a clinic's own values --------------------------------------------------------------------


def test_an_own_value_holds_from_its_day_and_names_its_reason() -> None:
    book = load("england").overridden([decided("steam-134.hold", "210")])

    before, after = (book.on(date(2025, 5, 31)), book.on(date(2025, 6, 1)))

    assert before.whole("steam-134.hold") == 180
    assert after.whole("steam-134.hold") == 210
    assert after["steam-134.hold"].basis == "clinic"
    assert after["steam-134.hold"].source == "Our choice"
    assert "B000000017" in after["steam-134.hold"].note
    assert load("england").on(TODAY).whole("steam-134.hold") == 180


def test_a_later_edition_of_the_book_does_not_undo_what_the_clinic_decided() -> None:
    book = load("england").overridden([decided("shelf.wrapped-days", "30", date(2012, 1, 1))])

    assert book.on(date(2011, 1, 1)).whole("shelf.wrapped-days") == 60
    assert book.on(TODAY).whole("shelf.wrapped-days") == 30


def test_of_two_decisions_of_one_day_the_later_told_counts() -> None:
    first, second = decided("pin.tries", "4"), decided("pin.tries", "6")

    assert load("england").overridden([first, second]).on(TODAY).whole("pin.tries") == 6
    assert (
        load("england").overridden([first]).overridden([second]).on(TODAY).whole("pin.tries") == 6
    )


@pytest.mark.parametrize(
    ("rule", "text", "value"),
    [
        ("pin.tries", " 4 ", 4),
        ("pin.tries", "4.0", 4),
        ("steam-134.band-width", "3.5", Decimal("3.5")),
        ("steam-134.band-width", "4", Decimal(4)),
        ("release.two-people", "True", True),
        ("release.two-people", "no", False),
        ("mark.dropped", "inspect", "inspect"),
        ("shelf.wrapped-days", "no limit", None),
    ],
)
def test_own_values_are_of_the_kind_that_the_rule_takes(
    rule: str, text: str, value: object
) -> None:
    found = load("england").overridden([decided(rule, text)]).on(TODAY)[rule].value

    assert found == value
    assert type(found) is type(value)


def test_a_limit_can_be_set_where_the_book_has_none() -> None:
    book = load("australia").overridden([decided("shelf.wrapped-days", "180")])

    assert book.on(TODAY).whole("shelf.wrapped-days") == 180


@pytest.mark.parametrize(
    ("rule", "text", "says"),
    [
        ("pin.colour", "red", "has no rule “pin.colour”"),
        ("pin.tries", "4.5", "give a whole number"),
        ("pin.tries", "many", "“many” is no number"),
        ("pin.tries", "1_0", "“1_0” is no number"),
        ("pin.tries", "", "“” is no number"),
        ("pin.tries", "NaN", "is no number"),
        ("pin.tries", "-1", "below nought"),
        ("steam-134.band-width", "inf", "is no number"),
        ("steam-134.hold", "no limit", "cannot be without a limit"),
        ("release.two-people", "perhaps", "give true or false"),
        ("mark.dropped", "burn", "give one of soil, inspect, quarantine, unpack"),
    ],
)
def test_an_own_value_that_cannot_be_is_refused_with_the_reason(
    rule: str, text: str, says: str
) -> None:
    with pytest.raises(BadOverride, match=says):
        load("england").overridden([decided(rule, text)])


def test_an_own_value_without_a_reason_is_refused() -> None:
    with pytest.raises(BadOverride, match="needs a reason"):
        load("england").overridden([decided("pin.tries", "4", reason="  ")])


def test_the_digest_tells_a_book_with_own_values_from_one_without() -> None:
    plain = load("england")

    one = plain.overridden([decided("pin.tries", "4")])
    same = plain.overridden([decided("pin.tries", "4")])
    other = plain.overridden([decided("pin.tries", "6")])

    assert one.digest == same.digest
    assert len({plain.digest, one.digest, other.digest}) == 3
    assert plain.overridden([]).digest == plain.digest


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.dates(date(2020, 1, 1), date(2030, 1, 1)), st.integers(1, 99)),
        max_size=6,
        unique_by=lambda one: one[0],
    ),
    st.dates(date(2019, 1, 1), date(2031, 1, 1)),
)
def test_the_order_in_which_decisions_are_told_does_not_matter(
    choices: list[tuple[date, int]], day: date
) -> None:
    told = [decided("pin.tries", str(value), since) for since, value in choices]
    in_force = [value for since, value in sorted(choices) if since <= day]

    forwards, backwards = load("england").overridden(told), load("england").overridden(told[::-1])

    assert forwards.on(day).whole("pin.tries") == (in_force[-1] if in_force else 5)
    assert forwards.digest == backwards.digest


# --- files ------------------------------------------------------------------------------------

GOOD = """
[[rule]]
id = "a.b"
value = 3
unit = "K"
source = "Somebody"
from = 2020-01-01
basis = "memory"
"""


def test_numbers_with_a_point_stay_exact_also_when_they_are_quoted() -> None:
    bare = parse(GOOD.replace("value = 3", "value = 0.13"), "x.toml")
    quoted = parse(GOOD.replace("value = 3", 'value = "0.13"'), "x.toml")

    assert bare["a.b"][0].value == quoted["a.b"][0].value == Decimal("0.13")


def test_a_quoted_nought_is_a_number_and_not_a_text() -> None:
    assert parse(GOOD.replace("value = 3", 'value = "0"'), "x.toml")["a.b"][0].value == 0


def test_editions_are_put_in_order_of_their_dates() -> None:
    later = GOOD.replace("2020", "2024").replace("value = 3", "value = 4")

    rules = parse(later + GOOD, "x.toml")["a.b"]

    assert [rule.value for rule in rules] == [3, 4]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[[rule]", "x.toml: not TOML"),
        ("other = 1", "only .*rule.* tables"),
        ("rule = [1]", "only .*rule.* tables"),
        ("rule = 1", "only .*rule.* tables"),
        (GOOD + 'colour = "red"', "x.toml, rule a.b: “colour” is not known"),
        (GOOD.replace('source = "Somebody"', ""), "x.toml, rule a.b: “source” is missing"),
        (GOOD.replace('"Somebody"', '" "'), "“source” must be a text that is not empty"),
        (GOOD.replace('id = "a.b"', ""), "x.toml, rule 1: “id” is missing"),
        (GOOD.replace("memory", "hearsay"), "basis “hearsay” is not one of"),
        (GOOD.replace("memory", "clinic"), "basis “clinic” is not one of"),
        (GOOD.replace("2020-01-01", '"2020-01-01"'), "“from” must be a date"),
        (GOOD.replace("2020-01-01", "2020-01-01T10:00:00"), "“from” must be a date"),
        (GOOD.replace("value = 3", ""), "give either “value” or “no-limit”"),
        (GOOD + 'no-limit = "whole"', "give either “value” or “no-limit”"),
        (GOOD.replace("value = 3", "no-limit = true"), "must be whole or decimal"),
        (GOOD.replace("value = 3", "value = [3]"), "“value” must be a number"),
        (GOOD.replace("value = 3", 'value = ""'), "“value” must be a number"),
        (GOOD.replace("value = 3", "value = nan"), "must be a finite number"),
        (GOOD.replace('"K"', "1"), "“unit” must be a text"),
        (GOOD + "note = 5", "“note” must be a text"),
        (GOOD + 'choices = "soil"', "“choices” must be a list"),
        (GOOD + 'choices = ["soil"]', "not among its choices"),
        (GOOD + 'least = "1"', "“least” must be a whole number"),
        (GOOD + "least = 4", "“value” must be a number, 4 or more"),
        (GOOD.replace("value = 3", 'value = "soil"') + "least = 1", "“value” must be a number, 1"),
        (GOOD + GOOD, "x.toml, rule a.b: two editions have the same date"),
        (
            GOOD + GOOD.replace("2020", "2021").replace("value = 3", 'value = "soil"'),
            "x.toml, rule a.b: its editions hold different kinds",
        ),
    ],
)
def test_a_mistake_in_a_file_is_named_by_file_and_rule(text: str, says: str) -> None:
    with pytest.raises(BadRule, match=says):
        parse(text, "x.toml")


def test_a_book_takes_the_place_of_all_shared_editions_of_a_rule() -> None:
    shared = parse(GOOD + GOOD.replace("2020", "2024"), "x.toml")
    own = parse(GOOD.replace("value = 3", "value = 7"), "y.toml")

    merged = merge({"x": shared}, own)

    assert [rule.value for rule in merged["a.b"]] == [7]


def test_two_shared_files_with_one_rule_are_a_mistake() -> None:
    rules = parse(GOOD, "x.toml")

    with pytest.raises(BadRule, match=r"y\.toml, rule a\.b: stands in another shared file too"):
        merge({"x": rules, "y": rules}, {})


def test_a_text_without_choices_takes_any_text_but_none() -> None:
    rule = parse(GOOD.replace("value = 3", 'value = "free"'), "x.toml")["a.b"][0]

    assert override(rule, decided("a.b", "other"), may_lift=False).value == "other"
    with pytest.raises(BadOverride, match="give a text"):
        override(rule, decided("a.b", " "), may_lift=False)


def test_a_number_below_the_least_that_a_clinic_may_set_is_refused() -> None:
    rule = parse(GOOD + "least = 2", "x.toml")["a.b"][0]

    assert override(rule, decided("a.b", "2"), may_lift=False).value == 2
    own = override(rule, decided("a.b", "9"), may_lift=False)
    for edition in (rule, own):
        with pytest.raises(BadOverride, match=r"a\.b: 1 was read; give 2 or more"):
            override(edition, decided("a.b", "1"), may_lift=False)


@pytest.mark.parametrize("book", rulebook.BOOKS)
def test_no_clinic_shows_fewer_than_four_characters_of_a_reference(book: str) -> None:
    with pytest.raises(BadOverride, match="3 was read; give 4 or more"):
        rulebook.load(book).overridden([decided("patient.characters-shown", "3")])


def test_the_package_names_what_it_gives() -> None:
    shared = (
        *("common", "clinic", "periodic", "thermal", "indicators"),
        *("evidence", "likeness", "measuring", "upkeep", "session", "stops", "counts"),
        "waterline",
    )
    assert shared == rulebook.SHARED
    assert rulebook.DEFAULT == "england"
    assert all(hasattr(rulebook, name) for name in rulebook.__all__)
