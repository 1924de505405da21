"""Laws of what a thing carries: it is what a stranger would be exposed to, were it used on them."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from equip.rules.lookback.carried import carried, last_gate, not_known
from equip.rules.lookback.reach import upstream
from equip.rules.lookback.sweep import Certainty, Contact, sweep
from equip.store.fold.met import clears
from tests.support.histories import Listed, histories

STRANGER = "z"


@given(histories(), st.integers(0, 13), st.data())
def test_what_a_thing_carries_is_what_a_stranger_would_be_exposed_to(
    contacts: list[Contact], at: int, data: st.DataObject
) -> None:
    item = data.draw(st.sampled_from(sorted({one.item for one in contacts})))
    past = [one for one in contacts if one.at <= at]
    use = Contact(at + 1, item, "use", "T/new", "u-new", STRANGER)

    asked = carried(past, [item])
    exposed = [one for one in sweep([*past, use]) if one.use == "u-new"]

    expected = {
        (source.use, source.patient or "", source.at, source.certainty, source.share)
        for one in exposed
        for source in one.sources
    }
    assert {(c.use, c.patient, c.at, c.certainty, c.share) for c in asked} == expected


@given(histories(), st.integers(0, 13), st.data())
def test_what_lies_upstream_is_enough_to_know_what_is_carried(
    contacts: list[Contact], at: int, data: st.DataObject
) -> None:
    items = data.draw(st.lists(st.sampled_from(sorted({c.item for c in contacts})), min_size=1))
    past = [one for one in contacts if one.at <= at]
    reached = sorted(upstream(Listed(past), [(item, at) for item in items], clears))

    assert carried(reached, items) == carried(past, items)


@given(histories(), st.data())
def test_asking_of_more_things_never_drops_a_patient(
    contacts: list[Contact], data: st.DataObject
) -> None:
    every = sorted({one.item for one in contacts})
    some = data.draw(st.lists(st.sampled_from(every), min_size=1))

    of_some = {one.use for one in carried(contacts, some)}

    assert of_some <= {one.use for one in carried(contacts, every)}


USED = Contact(1, "E1", "use", "T/1", "u-1", "a")
WASHED = Contact(2, "E1", "gate", "T/2", "L1", effect="unproven")
STERILISED = Contact(2, "E1", "gate", "T/2", "L1", effect="clears")


def test_a_load_without_a_verdict_leaves_the_patient_with_no_proof() -> None:
    found = carried([USED, WASHED], ["E1"])

    assert [(one.patient, one.certainty) for one in found] == [("a", Certainty.no_proof)]
    assert last_gate([USED, WASHED], "E1") is None


def test_what_cleared_it_leaves_nobody_and_is_the_last_gate() -> None:
    assert carried([USED, STERILISED], ["E1"]) == []
    assert last_gate([USED, STERILISED], "E1") == STERILISED


def test_the_newest_use_stands_first_and_the_surest_way_is_kept() -> None:
    mixed = [
        Contact(1, "P1", "use", "T/1", "u-1", "a"),
        Contact(1, "P2", "use", "T/2", "u-2", "b"),
        Contact(2, "P1", "gate", "T/3", "L1", effect="void", contents=1),
        Contact(2, "P2", "gate", "T/3", "L1", effect="void", contents=3),
        Contact(3, "P3", "made", "T/4", "L1", contents=2),
        Contact(4, "P3", "use", "T/5", "u-3", "c"),
    ]

    found = carried(mixed, ["P3"])
    with_the_old_one = {one.use: one for one in carried(mixed, ["P1", "P3"])}

    assert [(one.patient, one.certainty.word, one.share) for one in found] == [
        ("c", "certain", Fraction(1)),
        ("a", "possible", Fraction(1, 4)),
        ("b", "possible", Fraction(3, 4)),
    ]
    assert with_the_old_one["u-1"].certainty is Certainty.certain


def test_whom_a_thing_met_before_is_known_from_a_gate_or_from_its_newness() -> None:
    new, old, unknown = "factory-new", "go-live", {"E1"}

    assert not_known([USED], ["E1"], {"E1": new}) == []
    assert set(not_known([USED], ["E1"], {"E1": old})) == unknown
    assert not_known([USED, STERILISED], ["E1"], {"E1": old}) == []
    assert set(not_known([USED, WASHED], ["E1"], {"E1": old})) == unknown
    assert set(not_known([], ["E1"], {})) == unknown


def test_a_pack_of_untagged_contents_is_known_if_it_was_made_out_of_a_load_that_is_told() -> None:
    made = Contact(3, "P2", "made", "T/3", "L1", contents=2)
    into = Contact(2, "P1", "gate", "T/2", "L1", effect="void", contents=2)
    nowhere = made._replace(ref="")

    assert not_known([nowhere], ["P2"], {}) == ["P2"]
    assert not_known([made], ["P2"], {}) == ["P2"]
    assert not_known([into, made], ["P2"], {}) == ["P1"]  # and of that one nothing is known
