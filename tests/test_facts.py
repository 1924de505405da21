"""A fact's exact bytes, the times it may hold, the seal that binds it, and what it is about."""

import hashlib
import typing
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from zoneinfo import ZoneInfo

import msgspec
import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from equip import facts
from equip.facts import FIRST, Fact, Told, about, canonical, micros, moment, read, seal
from tests.golden.test_golden_facts import full
from tests.support.stopped import NOON

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
KEYS = st.text(st.characters(exclude_categories=["Cs"], max_codepoint=0xFFFF), max_size=10)
MOMENTS = st.datetimes(
    datetime(1970, 1, 1),  # noqa: DTZ001 — the zone is drawn beside it
    datetime(2120, 1, 1),  # noqa: DTZ001
    timezones=st.sampled_from([UTC, ZoneInfo("Europe/London"), ZoneInfo("Australia/Lord_Howe")]),
)
DAYS = st.dates(date(1970, 1, 1), date(2120, 1, 1))
DECIMALS = st.decimals(-1000, 1000, places=3)

for _made_of, _strategy in (
    (str, TEXTS),
    (datetime, MOMENTS),
    (date, DAYS),
    (Decimal, DECIMALS),
    (int, st.integers(0, 10**6)),
):
    st.register_type_strategy(_made_of, _strategy)


def _drawn(told: object) -> st.SearchStrategy[object]:
    """Values of a field's type, whatever it is made of."""
    plain = told.__origin__ if hasattr(told, "__metadata__") else told  # type: ignore[attr-defined]
    if isinstance(plain, type) and issubclass(plain, msgspec.Struct):
        return st.builds(plain, **_fields(plain))
    origin, inside = typing.get_origin(plain), typing.get_args(plain)
    if origin is tuple:
        return st.lists(_drawn(inside[0]), max_size=3).map(tuple)
    if origin is dict:
        return st.dictionaries(KEYS, _drawn(inside[1]), max_size=3)
    if origin is typing.Literal:
        return st.sampled_from(inside)
    if inside:
        return st.one_of([_drawn(one) for one in inside])
    return st.none() if plain is type(None) else st.from_type(plain)  # type: ignore[arg-type]


def _fields(kind: type[msgspec.Struct]) -> dict[str, st.SearchStrategy[object]]:
    hints = typing.get_type_hints(kind, include_extras=True)
    return {one.name: _drawn(hints[one.name]) for one in msgspec.structs.fields(kind)}


FACTS = st.one_of([st.builds(kind, **_fields(kind)) for kind in facts.KINDS.values()])


# --- bytes ------------------------------------------------------------------------------------


@given(FACTS)
def test_a_fact_is_spelled_as_rfc_8785_spells_it(fact: Fact) -> None:
    told = msgspec.to_builtins(fact)

    assert canonical(fact) == rfc8785.dumps(told)


@given(FACTS)
def test_a_fact_that_was_written_is_read_back_the_same(fact: Fact) -> None:
    body = canonical(fact)

    again = read(body)

    assert again == fact
    assert canonical(again) == body


def test_no_kind_of_fact_holds_a_binary_fraction() -> None:
    inside: set[object] = set()
    for kind in facts.KINDS.values():
        inside |= _made_of_what(kind)

    assert Decimal in inside  # the walk goes down into the reasons
    assert not inside & {float, complex, object, typing.Any}


def _made_of_what(told: object) -> set[object]:
    plain = told.__origin__ if hasattr(told, "__metadata__") else told  # type: ignore[attr-defined]
    if isinstance(plain, type) and issubclass(plain, msgspec.Struct):
        hints = typing.get_type_hints(plain, include_extras=True)
        names = [one.name for one in msgspec.structs.fields(plain)]
        return set().union(*(_made_of_what(hints[name]) for name in names))
    if typing.get_origin(plain) is typing.Literal:
        return {type(value) for value in typing.get_args(plain)}
    inside = [one for one in typing.get_args(plain) if one is not ...]
    return set().union(*map(_made_of_what, inside)) if inside else {plain}


def test_every_kind_has_a_name_of_its_own() -> None:
    shared = {facts.DutyTold}  # what two kinds tell alike; it is never told itself
    classes = {*Fact.__subclasses__(), *facts.DutyTold.__subclasses__()} - shared

    assert set(facts.KINDS.values()) == classes
    assert len(facts.KINDS) == len(classes)
    assert all(kind.__struct_config__.tag_field == "kind" for kind in classes)


def test_a_decimal_is_text_and_keeps_its_last_nought() -> None:
    told = Told(code="hold-too-short", says="It held too short.", at_s=Decimal("12.50"))

    assert b'"at_s":"12.50"' in msgspec.json.encode(told)


# --- what is read -----------------------------------------------------------------------------

GOOD = b'{"act":"a","at":"2026-03-04T12:00:00Z","by":"B","item":"E","kind":"retired","why":"x"}'


def test_a_body_that_is_whole_is_read() -> None:
    assert read(GOOD) == facts.Retired(at=NOON, by="B", act="a", item="E", why="x")


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{}",
        b"[]",
        b"null",
        GOOD.replace(b"retired", b"forgotten"),
        GOOD.replace(b'"why":"x"', b'"why":7'),
        GOOD.replace(b',"why":"x"', b""),
        GOOD.replace(b"00:00Z", b"00:00"),
        GOOD.replace(b"2026-03-04T12:00:00Z", b"yesterday"),
        GOOD[:-1],
        GOOD.replace(b'"x"', b'"\xff"'),
    ],
)
def test_a_body_that_spells_no_fact_is_refused(body: bytes) -> None:
    with pytest.raises((msgspec.DecodeError, UnicodeDecodeError)):
        read(body)


def test_a_field_that_a_later_version_added_does_not_hinder_reading() -> None:
    assert read(GOOD.replace(b"}", b',"zeal":1}')).act == "a"


# --- times ------------------------------------------------------------------------------------


@pytest.mark.parametrize("field", ["at", "claimed"])
def test_a_time_without_a_zone_is_refused(field: str) -> None:
    told = {"at": NOON, field: NOON.replace(tzinfo=None)}

    with pytest.raises(ValueError, match="Retired: a time without a zone is not evidence"):
        facts.Retired(by="", act="a", item="E", why="x", **told)  # type: ignore[arg-type]


@pytest.mark.parametrize("field", ["at", "claimed"])
def test_a_time_with_an_offset_becomes_utc_and_is_the_same_moment(field: str) -> None:
    there = NOON.astimezone(timezone(timedelta(hours=9, minutes=30)))
    told = {"at": NOON, field: there}

    fact = facts.Retired(by="", act="a", item="E", why="x", **told)  # type: ignore[arg-type]

    assert getattr(fact, field) == NOON
    assert getattr(fact, field).tzinfo is UTC
    assert f'"{field}":"2026-03-04T12:00:00Z"'.encode() in canonical(fact)


def test_a_time_with_an_offset_is_read_as_utc() -> None:
    body = GOOD.replace(b"T12:00:00Z", b"T23:00:00+11:00")

    assert canonical(read(body)) == GOOD


def test_an_hour_that_comes_twice_is_told_apart() -> None:
    london = ZoneInfo("Europe/London")
    first = datetime(2026, 10, 25, 1, 30, tzinfo=london)

    bodies = [
        canonical(facts.Retired(at=one, by="", act="a", item="E", why="x"))
        for one in (first, first.replace(fold=1))
    ]

    assert b"T00:30:00Z" in bodies[0]
    assert b"T01:30:00Z" in bodies[1]


@given(MOMENTS)
def test_microseconds_since_1970_are_exact_both_ways(at: datetime) -> None:
    assert moment(micros(at)) == at.astimezone(UTC)
    assert moment(micros(at)).tzinfo is UTC


def test_microseconds_before_1970_go_backwards() -> None:
    assert micros(datetime(1969, 12, 31, 23, 59, 59, 999_999, tzinfo=UTC)) == -1
    assert moment(-1) == datetime(1969, 12, 31, 23, 59, 59, 999_999, tzinfo=UTC)


# --- the seal ---------------------------------------------------------------------------------


def test_the_seal_is_what_the_formula_says_computed_by_hand() -> None:
    hashed = b"\x00" * 32 + b"HARB 1 1772625600000000\n" + GOOD

    assert seal(FIRST, "HARB", 1, 1_772_625_600_000_000, GOOD) == hashlib.sha256(hashed).digest()


def test_each_seal_binds_the_one_before_it() -> None:
    first = seal(FIRST, "HARB", 1, 10, b"{}")
    second = seal(first, "HARB", 2, 20, GOOD)

    assert second == hashlib.sha256(first + b"HARB 2 20\n" + GOOD).digest()


@pytest.mark.parametrize(
    "other",
    [
        (bytes(31) + b"\x01", "HARB", 7, 30, GOOD),
        (FIRST, "QUAY", 7, 30, GOOD),
        (FIRST, "HARB", 8, 30, GOOD),
        (FIRST, "HARB", 7, 31, GOOD),
        (FIRST, "HARB", 73, 0, GOOD),
        (FIRST, "HARB", 7, 30, GOOD + b" "),
    ],
)
def test_whatever_is_altered_alters_the_seal(other: tuple[bytes, str, int, int, bytes]) -> None:
    assert seal(*other) != seal(FIRST, "HARB", 7, 30, GOOD)


# --- what a fact is about ---------------------------------------------------------------------


def test_a_fact_is_about_each_name_once_in_a_steady_order_and_whoever_did_it_last() -> None:
    used = facts.Used(
        at=NOON, by="B1", act="a", use="u1", item="E1", patient="p1", covers=("P1", "E1", "E2")
    )

    assert about(used) == ("u1", "E1", "p1", "P1", "E2", "B1")


def test_what_is_empty_is_nothing_to_be_about() -> None:
    asked = facts.Asked(at=NOON, by="", act="a", item="E1", allowed=True)

    assert about(asked) == ("E1",)


@pytest.mark.parametrize("name", sorted(facts.KINDS))
def test_a_fact_is_about_every_tag_and_token_that_stands_in_it(name: str) -> None:
    """What `names` leaves out could never be found again from a thing or a person."""
    fact = full(facts.KINDS[name])

    told = _texts(msgspec.to_builtins(fact))

    names = {one for one in told if _is_name(one)} - {"C00001000K"}  # a card names no thing
    assert names - {"act-0"} <= set(about(fact))


def _texts(told: object) -> set[str]:
    if isinstance(told, str):
        return {told}
    if isinstance(told, dict):
        return set().union(*map(_texts, told.values()), set())
    if isinstance(told, list):
        return set().union(*map(_texts, told), set())
    return set()


def _is_name(text: str) -> bool:
    tag = len(text) == 10 and text[0] in "EDPSLBRCT" and text[1:9].isdigit()
    return tag or text.startswith(("p-", "act-use", "case-"))
