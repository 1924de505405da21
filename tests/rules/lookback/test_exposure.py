"""Laws of exposure, against a model that is slow and plain, and cases worked by hand."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import groupby

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from equip.rules.lookback.reach import around, upstream
from equip.rules.lookback.sweep import (
    Certainty,
    Contact,
    Exposure,
    Source,
    Sweep,
    chance_of_one,
    sweep,
)
from tests.support.histories import Listed, histories

Pair = tuple[str, str, str]
"""The item, the use on whom, and the source."""


def pairs(found: Sequence[Exposure]) -> dict[Pair, Certainty]:
    return {
        (one.item, one.use, source.use): source.certainty for one in found for source in one.sources
    }


# --- the slow model: one source at a time, does it get there at least so surely? ---------------


def reached(contacts: Sequence[Contact], source: Contact, least: Certainty) -> set[tuple[str, str]]:
    """(item, use) of others to which *source* leads by steps that are each at least *least*."""
    dirty: set[str] = set()
    pooled: set[str] = set()
    found: set[tuple[str, str]] = set()
    for _, group in groupby(sorted(contacts), key=lambda contact: contact.at):
        instant = list(group)
        was = set(dirty)
        for contact in instant:
            lets_through = contact.effect == "void" or (
                contact.effect == "unproven" and least <= Certainty.no_proof
            )
            if contact.what == "gate" and not lets_through:
                dirty.discard(contact.item)
        for contact in instant:
            if contact.what in ("use", "outside") and contact.ref == source.ref:
                dirty.add(contact.item)
        for contact in instant:
            if contact.what == "gate" and contact.contents and contact.item in dirty:
                pooled |= {contact.ref} if least == Certainty.possible else set()
        for contact in instant:
            if contact.what == "made" and contact.ref in pooled:
                was.add(contact.item)
                dirty.add(contact.item)
        for contact in instant:
            with_it = {
                other.item
                for other in instant
                if other.ref == source.ref and other.what in ("use", "outside")
            }
            if (
                contact.what == "use"
                and contact.patient != source.patient
                and contact.item in was | with_it
            ):
                found.add((contact.item, contact.ref))
    return found


def slow(contacts: Sequence[Contact]) -> dict[Pair, Certainty]:
    found: dict[Pair, Certainty] = {}
    for source in contacts:
        if source.what in ("use", "outside"):
            for least in Certainty:
                for item, use in reached(contacts, source, least):
                    found[item, use, source.ref] = max(
                        least, found.get((item, use, source.ref), least)
                    )
    return found


@settings(max_examples=600)
@given(histories())
def test_the_sweep_finds_what_the_slow_model_finds_as_surely(contacts: list[Contact]) -> None:
    assert pairs(list(sweep(contacts))) == slow(contacts)


@given(histories(), st.data())
def test_more_uses_never_clear_anybody(contacts: list[Contact], data: st.DataObject) -> None:
    at, item = data.draw(st.integers(0, 12)), data.draw(st.sampled_from(("E1", "E2", "P0")))
    more = Contact(at, item, "use", "T/more", f"u-z-{at}", "z")

    before, after = pairs(list(sweep(contacts))), pairs(list(sweep(sorted([*contacts, more]))))
    assert before.items() <= after.items()


@given(histories(), st.data())
def test_a_gate_more_reaches_nobody_new(contacts: list[Contact], data: st.DataObject) -> None:
    at, item = data.draw(st.integers(0, 12)), data.draw(st.sampled_from(("E1", "E2", "P0")))
    effect = data.draw(st.sampled_from(("clears", "unproven", "void")))
    gate = Contact(at, item, "gate", "T/more", "L-more", effect=effect)

    before, after = pairs(list(sweep(contacts))), pairs(list(sweep(sorted([*contacts, gate]))))
    assert after.keys() <= before.keys()
    assert all(after[pair] <= before[pair] for pair in after)


@given(histories(), st.data())
def test_doubting_a_gate_only_adds(contacts: list[Contact], data: st.DataObject) -> None:
    index = data.draw(st.integers(0, len(contacts) - 1))
    doubted = [
        one._replace(effect="void") if i == index and one.what == "gate" else one
        for i, one in enumerate(contacts)
    ]

    before, after = pairs(list(sweep(contacts))), pairs(list(sweep(doubted)))
    assert before.keys() <= after.keys()
    assert all(after[pair] >= before[pair] for pair in before)


@given(histories(), st.integers(0, 12))
def test_asking_only_for_the_end_gives_the_end_of_the_answer(
    contacts: list[Contact], since: int
) -> None:
    assert list(sweep(contacts, since)) == [one for one in sweep(contacts) if one.at >= since]


@given(histories(), st.integers(0, 12))
def test_stopping_and_going_on_changes_nothing(contacts: list[Contact], at: int) -> None:
    state = Sweep()
    found: list[Exposure] = []
    for half in ([c for c in contacts if c.at < at], [c for c in contacts if c.at >= at]):
        for _, group in groupby(half, key=lambda contact: contact.at):
            found += state.meet(list(group))

    assert found == list(sweep(contacts))


@settings(max_examples=400)
@given(histories())
def test_looking_back_from_a_use_finds_its_exposure_as_the_whole_history_does(
    contacts: list[Contact],
) -> None:
    history = Listed(contacts)
    whole = {(one.item, one.use): one for one in sweep(contacts)}
    for use in (one for one in contacts if one.what == "use"):
        behind = upstream(history, [(use.item, use.at)], lambda gate: gate.effect == "clears")
        near = {(one.item, one.use): one for one in sweep(sorted(behind))}
        assert near.get((use.item, use.ref)) == whole.get((use.item, use.ref))


@settings(max_examples=400)
@given(histories())
def test_forward_and_backward_agree(contacts: list[Contact]) -> None:
    history = Listed(contacts)
    whole = pairs(list(sweep(contacts)))
    for source in (one for one in contacts if one.what == "use"):
        starts = [(c.item, c.at) for c in contacts if c.ref == source.ref and c.what == "use"]
        near = around(history, starts, lambda gate: gate.effect == "clears")
        forward = {
            pair: sure for pair, sure in pairs(list(sweep(near))).items() if pair[2] == source.ref
        }
        assert forward == {pair: sure for pair, sure in whole.items() if pair[2] == source.ref}


# --- by hand -----------------------------------------------------------------------------------


def use(at: int, item: str, patient: str) -> Contact:
    return Contact(at, item, "use", f"T/{at}{item}", f"u{at}{patient}", patient)


def gate(at: int, item: str, effect: str, load: str = "L", contents: int = 0) -> Contact:
    return Contact(at, item, "gate", f"T/{at}{item}", load, "", effect, contents)  # type: ignore[arg-type]


def made(at: int, pack: str, load: str = "L", contents: int = 1) -> Contact:
    return Contact(at, pack, "made", f"T/{at}{pack}", load, contents=contents)


def only(contacts: Sequence[Contact]) -> Exposure:
    found = list(sweep(sorted(contacts)))
    assert len(found) == 1
    return found[0]


def test_nothing_between_two_patients_is_certain() -> None:
    found = only([use(1, "E1", "a"), use(2, "E1", "b")])

    assert (found.patient, found.certainty, found.share) == ("b", Certainty.certain, 1)
    assert [source.patient for source in found.sources] == ["a"]
    assert found.sources[0].path.entries() == ("T/1E1", "T/2E1")


def test_the_same_patient_again_is_no_exposure_of_himself() -> None:
    assert list(sweep([use(1, "E1", "a"), use(2, "E1", "a")])) == []


def test_what_came_from_outside_is_a_source_without_a_patient() -> None:
    arrival = Contact(1, "E1", "outside", "T/1", "T/1")

    assert only([arrival, use(2, "E1", "a")]).sources[0].patient is None


def test_a_failed_load_lies_between_nothing_and_stands_on_the_path() -> None:
    found = only([use(1, "E1", "a"), gate(2, "E1", "void"), use(3, "E1", "b")])

    assert found.certainty is Certainty.certain
    assert found.sources[0].path.entries() == ("T/1E1", "T/2E1", "T/3E1")


def test_a_load_without_a_verdict_proves_nothing() -> None:
    found = only([use(1, "E1", "a"), gate(2, "E1", "unproven"), use(3, "E1", "b")])

    assert found.certainty is Certainty.no_proof


def test_an_exposure_is_as_sure_as_its_surest_source() -> None:
    told = [use(1, "E1", "a"), gate(2, "E1", "unproven"), use(3, "E1", "c"), use(4, "E1", "b")]

    assert [one.certainty.word for one in sweep(told)] == ["no-proof", "certain"]


def test_a_gate_of_the_same_instant_clears_what_was_before_and_not_its_uses() -> None:
    told = sorted(
        [use(1, "E1", "a"), use(2, "E1", "b"), gate(2, "E1", "clears"), use(3, "E1", "c")]
    )
    found = list(sweep(told))

    assert [(one.patient, [s.patient for s in one.sources]) for one in found] == [
        ("b", ["a"]),
        ("c", ["b"]),
    ]


def test_two_uses_of_one_instant_meet_each_other() -> None:
    found = list(sweep([use(1, "E1", "a"), use(1, "E1", "b")]))

    assert [(one.patient, [s.patient for s in one.sources]) for one in found] == [
        ("a", ["b"]),
        ("b", ["a"]),
    ]


def test_mixed_contents_may_be_in_any_pack_that_came_out() -> None:
    found = list(
        sweep(
            sorted(
                [
                    use(1, "P1", "a"),
                    gate(2, "P1", "void", contents=2),
                    gate(2, "P2", "void", contents=6),
                    made(3, "N1", contents=3),
                    use(4, "N1", "b"),
                ]
            )
        )
    )

    assert [(one.patient, one.certainty, one.share) for one in found] == [
        ("b", Certainty.possible, Fraction(2, 8))
    ]
    assert found[0].sources[0].share == Fraction(1, 4)
    assert found[0].sources[0].path.entries() == ("T/1P1", "T/2P1", "T/3N1", "T/4N1")


def test_a_load_that_passed_passes_nothing_on() -> None:
    told = [
        use(1, "P1", "a"),
        gate(2, "P1", "clears", contents=2),
        gate(2, "P2", "clears", contents=2),
        made(3, "N1", contents=2),
        use(4, "N1", "b"),
    ]
    assert list(sweep(told)) == []


def test_the_share_of_others_leaves_the_patients_own_contents_out() -> None:
    told = sorted(
        [
            use(1, "P1", "a"),
            use(1, "P2", "b"),
            gate(2, "P1", "void", contents=3),
            gate(2, "P2", "void", contents=1),
            made(3, "N1", contents=2),
            use(4, "N1", "a"),
        ]
    )
    found = only(told)

    assert [source.patient for source in found.sources] == ["b"]
    assert found.share == Fraction(1, 4)


def test_a_use_meets_no_source_of_its_own_name() -> None:
    one = use(1, "E1", "a")
    assert list(sweep([one, one._replace(at=2, entry="T/again")])) == []


@pytest.mark.parametrize(
    ("carrying", "mixed", "drawn", "chance"),
    [
        # 1 - C(8,3)/C(10,3) = 1 - 56/120, by hand
        (2, 10, 3, Fraction(64, 120)),
        (0, 10, 3, Fraction(0)),
        (10, 10, 1, Fraction(1)),
        (1, 4, 4, Fraction(1)),
    ],
)
def test_the_chance_that_a_pack_holds_one(
    carrying: int, mixed: int, drawn: int, chance: Fraction
) -> None:
    assert chance_of_one(carrying, mixed, drawn) == chance


@pytest.mark.parametrize(
    ("carrying", "mixed", "drawn"), [(1, 2, 3), (3, 2, 1), (-1, 2, 1), (1, 2, -1), (0, -1, 0)]
)
def test_what_cannot_be_drawn_is_refused(carrying: int, mixed: int, drawn: int) -> None:
    with pytest.raises(ValueError, match=f"{drawn} cannot be drawn out of {mixed}"):
        chance_of_one(carrying, mixed, drawn)


def test_what_was_mixed_twice_is_a_share_of_a_share() -> None:
    """By hand: 2 of 8 carry after the first load; 4 of those meet 12 clean ones in the second,
    so 4 × ¼ of 16; where all 16 came out of the first it is a quarter still."""
    first = [
        use(1, "P1", "a"),
        gate(2, "P1", "void", contents=2),
        gate(2, "P2", "void", contents=6),
        made(3, "N1", contents=4),
        made(3, "N2", contents=4),
    ]
    second = [
        gate(4, "N1", "void", "L2", contents=4),
        gate(4, "N3", "void", "L2", contents=12),
        made(5, "M1", "L2", contents=2),
        use(6, "M1", "b"),
    ]
    both = [one._replace(item="N2") if one.item == "N3" else one for one in second]

    once, twice = only(sorted([*first, *second])), only(sorted([*first, *both]))

    assert (once.share, once.sources[0].share) == (Fraction(1, 16), Fraction(1, 16))
    assert (twice.share, twice.sources[0].share) == (Fraction(1, 4), Fraction(1, 4))


def test_what_an_item_carries_can_be_asked_between_two_instants() -> None:
    state = Sweep()
    state.meet([use(1, "E1", "a")])

    assert [(type(one), one.patient) for one in state.carried("E1")] == [(Source, "a")]
    assert state.carried("E2") == ()


def shared(at: int, patient: str, gate: str = "") -> Contact:
    """A use of what the patients of a day share, under that day's *gate*, "" if it was missed."""
    return Contact(at, "D1", "use", f"T/{at}", f"u{at}", patient, shared=gate)


def test_who_shares_one_gate_of_the_day_is_no_exposure_of_the_other() -> None:
    day = [shared(1, "a", "g1"), shared(2, "b", "g1"), shared(2, "c", "g1")]

    assert list(sweep(day)) == []


def test_who_shares_none_or_another_meets_all_since_the_last_gate_that_clears() -> None:
    two_days = [
        shared(1, "a", "g1"),
        shared(2, "b", "g1"),
        shared(3, "c"),
        shared(4, "d"),
        shared(5, "e", "g2"),
    ]

    found = {one.patient: {s.patient for s in one.sources} for one in sweep(two_days)}

    assert found == {"c": {"a", "b"}, "d": {"a", "b", "c"}, "e": {"a", "b", "c", "d"}}
