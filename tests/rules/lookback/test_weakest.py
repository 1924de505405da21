"""Laws of the weakest links: the first question settles most, whichever way it is answered."""

from hypothesis import given
from hypothesis import strategies as st

from equip.rules.lookback.missing_answers import (
    Link,
    Question,
    Unproven,
    chosen,
    patients_in,
    ranked,
)
from equip.rules.lookback.sweep import Certainty, Contact, Exposure, sweep

ITEMS, PATIENTS, LOADS = ("E1", "E2", "E3"), "abcde", ("L1", "L2", "L3", "L4")


@st.composite
def loads_and_uses(draw: st.DrawFn) -> list[Contact]:
    """Tagged things used and put through loads; a load does the same to all that is in it."""
    contacts: dict[tuple[int, str, str], Contact] = {}
    effect = {load: draw(st.sampled_from(("clears", "unproven", "void"))) for load in LOADS}
    ran = {load: draw(st.integers(1, 20)) for load in LOADS}
    for load in LOADS:
        for item in draw(st.lists(st.sampled_from(ITEMS), unique=True)):
            at = ran[load]
            contacts[at, item, load] = Contact(
                at, item, "gate", f"T/{load}", load, effect=effect[load]
            )
    for number in range(draw(st.integers(1, 12))):
        at, item = draw(st.integers(0, 21)), draw(st.sampled_from(ITEMS))
        patient = draw(st.sampled_from(PATIENTS))
        use = f"u-{patient}-{at}"
        contacts[at, item, use] = Contact(at, item, "use", f"U/{number}", use, patient)
    return sorted(contacts.values())


def question_of(contacts: list[Contact], entry: str) -> Question | None:
    gates = [one for one in contacts if one.entry == entry and one.effect == "unproven"]
    return Question(gates[0].at, "verdict", gates[0].ref) if gates else None


def unproven_in(contacts: list[Contact]) -> list[Unproven]:
    found = []
    for one in sweep(contacts):
        if one.certainty is not Certainty.certain:
            ways = tuple(
                frozenset(q for e in source.path.entries() if (q := question_of(contacts, e)))
                for source in one.sources
            )
            found.append(Unproven(one.patient, one.item, one.use, ways))
    return found


def unprovable(found: list[Exposure]) -> set[str]:
    return {one.patient for one in found if one.certainty is not Certainty.certain}


def settled_by(contacts: list[Contact], question: Question) -> int:
    """The slow way: answer it well, answer it badly, sweep anew, see who is left."""
    before = unprovable(list(sweep(contacts)))
    left: set[str] = set()
    for effect in ("clears", "void"):
        answered = [
            one._replace(effect=effect) if one.ref == question.about else one  # type: ignore[arg-type]
            for one in contacts
        ]
        left |= unprovable(list(sweep(answered)))
    return len(before - left)


@given(loads_and_uses())
def test_a_question_settles_whom_answering_it_either_way_and_sweeping_anew_settles(
    contacts: list[Contact],
) -> None:
    for link in ranked(unproven_in(contacts)):
        assert link.settles == settled_by(contacts, link.question)


@given(loads_and_uses())
def test_answering_the_first_question_settles_at_least_as_many_as_any_other(
    contacts: list[Contact],
) -> None:
    links = ranked(unproven_in(contacts))

    settles = [settled_by(contacts, link.question) for link in links]

    assert settles == sorted(settles, reverse=True)


QUESTIONS = st.builds(
    Question,
    st.integers(0, 3),
    st.sampled_from(("verdict", "release", "steps", "contents", "before")),
    st.sampled_from(("L1", "L2")),
    st.sampled_from(("", "E1")),
)
WAYS = st.lists(st.frozensets(QUESTIONS, min_size=1, max_size=3), min_size=1, max_size=3)
UNPROVEN = st.lists(
    st.builds(
        Unproven,
        st.sampled_from(PATIENTS),
        st.sampled_from(ITEMS),
        st.sampled_from(("u-1", "u-2")),
        WAYS.map(tuple),
    ),
    max_size=8,
)


@given(UNPROVEN, st.randoms())
def test_the_ranking_hangs_on_nothing_but_what_is_ranked(
    unproven: list[Unproven], chance: object
) -> None:
    shuffled = list(unproven)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]

    assert ranked(shuffled) == ranked(unproven)


@given(UNPROVEN)
def test_no_question_settles_more_than_it_bears_on_or_than_there_are(
    unproven: list[Unproven],
) -> None:
    for link in ranked(unproven):
        assert 0 <= link.settles <= link.bears_on <= patients_in(unproven)
        assert link.bears_on >= 1


def ask(name: str) -> Question:
    return Question(1, "verdict", name)


def way(*names: str) -> frozenset[Question]:
    return frozenset(ask(name) for name in names)


def settles(links: list[Link]) -> dict[str, tuple[int, int]]:
    return {link.question.about: (link.settles, link.bears_on) for link in links}


def test_a_way_with_two_weak_points_is_settled_by_neither_alone() -> None:
    links = ranked([Unproven("a", "E1", "u", (way("L1", "L2"),))])

    assert settles(links) == {"L1": (0, 1), "L2": (0, 1)}


def test_a_patient_with_two_unproven_uses_needs_both_settled() -> None:
    found = [
        Unproven("a", "E1", "u", (way("L1"),)),
        Unproven("a", "E2", "u", (way("L2"),)),
        Unproven("b", "E1", "v", (way("L1"),)),
    ]

    assert settles(ranked(found)) == {"L1": (1, 2), "L2": (0, 1)}
    assert ranked(found)[0].question.about == "L1"


def test_a_second_way_that_avoids_the_question_leaves_it_open() -> None:
    links = ranked([Unproven("a", "E1", "u", (way("L1"), way("L2")))])

    assert settles(links) == {"L1": (0, 1), "L2": (0, 1)}


DAYS = st.dates().map(str)
TAGS = st.lists(st.sampled_from([f"L{n}" for n in range(50)]), unique=True, min_size=1)


@given(DAYS, TAGS, st.randoms())
def test_everybody_chooses_the_same_load_on_the_same_day(
    day: str, loads: list[str], chance: object
) -> None:
    shuffled = list(loads)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]

    assert chosen("TEST", day, shuffled) == chosen("TEST", day, loads)
    assert chosen("TEST", day, loads) in loads


@given(DAYS, TAGS)
def test_a_load_more_changes_the_choice_only_to_itself(day: str, loads: list[str]) -> None:
    assert chosen("TEST", day, [*loads, "Lnew"]) in {chosen("TEST", day, loads), "Lnew"}


def test_other_days_and_other_sites_choose_otherwise_and_nothing_is_no_choice() -> None:
    loads = [f"L{n}" for n in range(20)]
    of_days = {chosen("TEST", f"2026-03-{n:02d}", loads) for n in range(1, 29)}
    of_sites = {chosen(f"SITE{n}", "2026-03-04", loads) for n in range(20)}

    assert len(of_days) > 5
    assert len(of_sites) > 5
    assert chosen("TEST", "2026-03-04", []) is None
