"""Sets counted after use, at the wash and at packing; the search for a piece that is missing."""

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.act.answer import Answer
from equip.desk.loads.release import why_not_release
from equip.desk.lookback import history
from equip.desk.register import items, searches, set_counts, stock
from equip.rules.fitness.counting import FOUND
from equip.rules.fitness.standing import Standing
from equip.scan import show_tag
from equip.store.fold.rebuild import differences
from equip.store.ledger import ledger
from equip.store.readings import item_rows, load_rows
from tests.support.playing import Play

FreshPlay = Callable[[], Play]


@dataclass
class Tray:
    """A set of two hooks and two fine tips, and what a test asks of it."""

    play: Play
    set: str
    hooks: tuple[str, str]
    steriliser: str

    @classmethod
    def laid(cls, play: Play) -> "Tray":
        tray = play.add("set")
        hooks = (play.add("hook"), play.add("hook"))
        with acting(play.clinic, by=play.people["manager"]) as act:
            for hook in hooks:
                items.join(act, tray, hook)
            set_counts.list_pieces(act, tray, "2 × Fine suction tip\n1 Cotton carrier")
        return cls(play, tray, hooks, play.add("steriliser-vacuum"))

    @property
    def stands(self) -> Standing:
        found = item_rows.standing_of(self.play.clinic.store, self.set)
        assert found is not None
        return found

    def told(self, kind: type[facts.Fact]) -> list[facts.Fact]:
        every = ledger.everything(self.play.clinic.store)
        return [entry.fact for entry in every if isinstance(entry.fact, kind)]

    def ready(self) -> str:
        """Cleaned, counted, packed and sterilised: its pack, opened by nobody yet."""
        self.play.scan("start over", "clean", self.set, "all there")
        self.play.scan("inspect pass", self.set)
        pack = self.play.fresh_pack()
        self.play.scan("start over", "pack", self.set, "all there", pack)
        self.play.released(self.steriliser, pack)
        return pack

    def asked(self) -> Answer:
        return self.play.scan("start over", "lay up", self.set)

    def rule(self, name: str, value: str) -> None:
        with acting(self.play.clinic, by=self.play.people["manager"]) as act:
            items.set_rule(act, name, value, "our policy", self.play.clock.now.date())


@pytest.fixture
def tray(play: Play) -> Tray:
    return Tray.laid(play)


def asks_for_the_count(answer: Answer) -> bool:
    return "count" in [one.code for one in answer.reasons] and "all there" in answer.options


# --- what belongs in --------------------------------------------------------------------------


def test_a_set_has_contents_by_name_and_number_untagged_pieces_too(tray: Tray) -> None:
    assert tray.stands.contents is not None
    assert [(one.name, one.count, one.type) for one in tray.stands.contents.pieces] == [
        ("Fine suction tip", 2, "fine-tip"),
        ("Cotton carrier", 1, ""),
    ]
    with acting(tray.play.clinic, by="") as act:
        says = [one.says for one in set_counts.wanted(act, tray.stands)]
    assert says[2:] == ["2 × Fine suction tip", "1 × Cotton carrier"]
    assert [show_tag(hook) in one for hook, one in zip(tray.hooks, says, strict=False)] == [
        True
    ] * 2


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("Fine tip", "“Fine tip” was read"),
        ("0 Fine tip", "“0 Fine tip” was read"),
        ("100 × tips", "1 to 99"),
        ("1 Hook\n2 hook", "One name stands twice"),
        ("1 a\n" * 41, "41 lines were read"),
    ],
)
def test_contents_that_make_no_sense_are_refused_with_what_was_read(
    tray: Tray, text: str, says: str
) -> None:
    with pytest.raises(Refused, match=says), acting(tray.play.clinic, by="") as act:
        set_counts.list_pieces(act, tray.set, text)


def test_only_a_set_has_contents_that_are_listed(tray: Tray) -> None:
    with pytest.raises(Refused, match="is no set"), acting(tray.play.clinic, by="") as act:
        set_counts.list_pieces(act, tray.hooks[0], "1 Spring")


# --- the three moments ------------------------------------------------------------------------


def test_the_count_is_asked_for_after_use(tray: Tray) -> None:
    tray.ready()

    answer = tray.play.scan("start over", "123451", tray.set)

    assert asks_for_the_count(answer)
    assert "2 × Fine suction tip and 1 × Cotton carrier" in answer.reasons[-1].says
    assert tray.play.scan("all there").word == "All there"
    counted = tray.told(facts.Counted)[-1]
    assert isinstance(counted, facts.Counted)
    assert (counted.moment, counted.all_there) == ("after-use", True)


def test_the_count_is_asked_for_as_a_use_finishes_and_not_before(tray: Tray) -> None:
    pack = tray.ready()

    used = tray.play.scan("start over", "123451", "start a use", pack)

    assert used.tone == "yes"
    assert not asks_for_the_count(used)
    assert asks_for_the_count(tray.play.scan("finish"))


def test_the_count_is_asked_for_at_the_wash_by_hand(tray: Tray) -> None:
    assert asks_for_the_count(tray.play.scan("start over", "clean", tray.set))
    assert tray.play.scan("all there").word == "All there"
    counted = tray.told(facts.Counted)[-1]
    assert isinstance(counted, facts.Counted)
    assert counted.moment == "wash"


def test_the_count_is_asked_for_as_the_set_goes_into_a_washer_and_not_a_steriliser(
    tray: Tray,
) -> None:
    washer = tray.play.add("ultrasonic-bath")

    into_bath = tray.play.scan("start over", washer, tray.set)
    assert asks_for_the_count(into_bath)
    assert "start the load" in into_bath.options

    tray.play.scan("all there", "start over", washer, "take out", tray.set)
    assert not asks_for_the_count(tray.play.scan("start over", tray.steriliser, tray.set))


def test_the_count_is_asked_for_at_packing_and_closes_the_pack(tray: Tray) -> None:
    assert asks_for_the_count(tray.play.scan("start over", "pack", tray.set))

    counted = tray.play.scan("all there")
    packed = tray.play.scan(tray.play.fresh_pack())

    assert counted.next == "Scan more, or the pouch's tag to close it."
    assert (packed.word, packed.tone) == ("Packed", "note")


def test_a_count_by_scans_is_done_with_the_last_piece(tray: Tray) -> None:
    card = tray.play.clinic.house.types["fine-tip"].card
    with acting(tray.play.clinic, by="") as act:
        set_counts.list_pieces(act, tray.set, "2 × Fine suction tip")
    tray.play.scan("start over", "pack", tray.set)

    first = tray.play.scan(tray.hooks[0])
    last = tray.play.scan(tray.hooks[1], card, card)

    assert first.word == "There"
    assert show_tag(tray.hooks[1]) in first.what
    assert show_tag(tray.hooks[0]) not in first.what
    assert last.word == "All there"
    counted = tray.told(facts.Counted)[-1]
    assert isinstance(counted, facts.Counted)
    assert (counted.all_there, counted.seen) == (False, tray.hooks)
    assert [(one.type, one.count) for one in counted.pieces] == [("fine-tip", 2)]


def test_a_scan_that_counts_is_no_step_of_the_piece(tray: Tray) -> None:
    tray.play.scan("start over", "clean", tray.set)
    steps = len(tray.told(facts.Stepped))

    tray.play.scan(*tray.hooks)

    assert len(tray.told(facts.Stepped)) == steps


def test_something_else_scanned_leaves_the_count_unmade(tray: Tray) -> None:
    other = tray.play.add("hook")
    tray.play.scan("start over", "clean", tray.set)

    answer = tray.play.scan(other)

    assert answer.word == "Done"
    assert [one.moment for one in set_counts.waiting(tray.play.clinic)] == ["wash"]


def test_each_set_of_a_use_is_counted_one_after_the_other(play: Play) -> None:
    one, two = Tray.laid(play), Tray.laid(play)
    packs = [one.ready(), two.ready()]

    play.scan("start over", "123451", "start a use", *packs)
    first = play.scan("finish")
    second = play.scan("all there")

    assert show_tag(one.set) in first.reasons[-1].says
    assert show_tag(two.set) in second.reasons[-1].says
    assert play.scan("all there").options == ()
    assert {fact.set for fact in one.told(facts.Counted)[-2:]} == {one.set, two.set}  # type: ignore[attr-defined]


def test_all_there_without_a_set_in_hand_counts_nothing(tray: Tray) -> None:
    assert tray.play.scan("start over", "all there").tone == "no"
    assert tray.play.scan("lay up", tray.hooks[0], "all there").tone == "no"


# --- a count that was not made ----------------------------------------------------------------


def test_by_the_usual_rule_an_uncounted_set_is_packed_and_released_and_it_is_said(
    tray: Tray,
) -> None:
    tray.play.cleaned(tray.set)
    pack = tray.play.fresh_pack()

    packed = tray.play.scan("start over", "pack", tray.set, pack)
    load = tray.play.run(tray.steriliser, pack)
    released = tray.play.scan(load, "release")

    says = f"Set {show_tag(tray.set)} was not counted at packing."
    assert (packed.word, packed.tone) == ("Packed", "warn")
    assert (released.word, released.tone) == ("Released", "warn")
    assert says in [one.says for one in packed.reasons]
    assert says in [one.says for one in released.reasons]


def test_where_the_count_is_a_condition_no_pack_is_closed_without_it(tray: Tray) -> None:
    tray.rule("count.pack", "condition")
    pack = tray.play.fresh_pack()

    refused = tray.play.scan("start over", "pack", tray.set, pack)
    counted = tray.play.scan(tray.set, "all there")
    packed = tray.play.scan(pack)

    assert refused.tone == "no"
    assert tray.play.codes(refused) == ["set-uncounted"]
    assert counted.word == "All there"
    assert packed.word == "Packed"


def test_a_count_is_used_up_by_its_pack_and_by_whatever_is_done_to_the_set(tray: Tray) -> None:
    tray.rule("count.pack", "condition")
    tray.play.scan("start over", "pack", tray.set, "all there")
    tray.play.clock.passes(minutes=1)
    tray.play.scan("start over", "inspect pass", tray.set)
    pack = tray.play.fresh_pack()
    assert tray.play.scan("start over", "pack", tray.set, pack).tone == "no"

    assert tray.play.scan("start over", "pack", tray.set, "all there", pack).word == "Packed"
    tray.play.scan("start over", "lay up", pack, "unpack")
    again = tray.play.fresh_pack()
    for tag in (tray.set, *tray.hooks):
        tray.play.scan("start over", "lay up", tag, "unpack")
    assert tray.play.scan("start over", "pack", tray.set, again).tone == "no"


def test_where_the_count_is_a_condition_no_load_with_an_uncounted_set_is_released(
    tray: Tray,
) -> None:
    tray.rule("count.release", "condition")
    play = tray.play
    play.cleaned(tray.set)
    pack = play.packed(tray.set)

    load = play.run(tray.steriliser, pack)

    found = load_rows.load_of(play.clinic.store, load)
    assert found is not None
    against = why_not_release(play.clinic, found, play.people["nurse"], play.clock.now)
    assert [one.code for one in against] == ["set-uncounted"]
    assert play.scan("start over", load, "release").tone == "no"


def test_with_the_count_the_same_load_is_released(tray: Tray) -> None:
    tray.rule("count.release", "condition")
    tray.rule("count.pack", "condition")

    pack = tray.ready()

    assert tray.play.scan("start over", "lay up", pack).tone == "yes"


# --- missing ----------------------------------------------------------------------------------


def used_and_missing(tray: Tray) -> Answer:
    """Counted for its pack by the nurse, used on a patient, and one hook is not there."""
    pack = tray.ready()
    tray.play.scan("start over", "123451", "start a use", pack, "finish")
    card = tray.play.clinic.house.types["fine-tip"].card
    tray.play.scan(tray.hooks[0], card, card)
    return tray.play.scan("missing", "1")


def test_missing_names_the_piece_who_saw_it_last_and_on_which_patient(tray: Tray) -> None:
    answer = used_and_missing(tray)

    told = tray.told(facts.PieceMissing)[-1]
    assert isinstance(told, facts.PieceMissing)
    token = tray.play.clinic.vault.find("123451")
    assert (told.set, told.item, told.patient) == (tray.set, tray.hooks[1], token)
    assert told.last_seen_by == tray.play.people["nurse"]
    assert told.last_seen_as == "counted at packing"
    assert told.moment == "after-use"
    assert (answer.tone, answer.word, answer.patient) == ("no", "Missing", token)
    assert "Look in the ear first" in answer.next
    assert "123451" not in facts.canonical(told).decode()


def test_the_practice_manager_is_told_at_once_and_of_no_patient(tray: Tray) -> None:
    used_and_missing(tray)

    rows = tray.play.clinic.store.rows("SELECT payload FROM agenda WHERE what = 'alert'")
    says = [str(row[0]) for row in rows]
    assert any("is missing from Set" in one and show_tag(tray.hooks[1]) in one for one in says)
    token = tray.play.clinic.vault.find("123451") or "?"
    assert not any("123451" in one or token in one for one in says)


def test_the_last_piece_not_scanned_is_the_missing_one_without_a_question(tray: Tray) -> None:
    with acting(tray.play.clinic, by="") as act:
        set_counts.list_pieces(act, tray.set, "")
    tray.play.scan("start over", "clean", tray.set, tray.hooks[1])

    answer = tray.play.scan("missing")

    assert answer.word == "Missing"
    assert show_tag(tray.hooks[0]) in answer.what


def test_an_untagged_piece_can_be_missing_too_and_is_chosen_by_its_button(tray: Tray) -> None:
    question = tray.play.scan("start over", "clean", tray.set, "missing")
    assert question.word == "Which piece?"

    answer = tray.play.scan(next(one for one in question.options if "Cotton carrier" in one))

    assert answer.what.startswith("1 × Cotton carrier of Set")
    assert tray.asked().tone == "no"


def test_a_patient_scanned_instead_of_an_answer_is_a_patient(tray: Tray) -> None:
    tray.play.scan("start over", "clean", tray.set, "missing")

    assert tray.play.scan("123451").word == "Patient"
    assert tray.told(facts.PieceMissing) == []


def test_the_tag_of_the_piece_answers_the_question_too(tray: Tray) -> None:
    tray.play.scan("start over", "clean", tray.set, "missing")

    assert show_tag(tray.hooks[0]) in tray.play.scan(tray.hooks[0]).what


def test_the_set_and_the_piece_answer_no_and_nobody_may_set_it_aside(tray: Tray) -> None:
    used_and_missing(tray)

    of_set = tray.asked()
    of_piece = tray.play.scan(tray.hooks[1])
    anyway = tray.play.scan(tray.set, "used anyway", who="manager")

    assert "piece-missing" in tray.play.codes(of_set)
    assert of_piece.reasons[0].says.startswith(f"It has been missing from set {show_tag(tray.set)}")
    assert anyway.tone == "no"
    assert "Nobody can set this aside" in anyway.what + anyway.word + anyway.next


def test_a_pack_that_holds_the_set_answers_no_as_well(tray: Tray) -> None:
    pack = tray.ready()
    assert tray.play.scan("start over", "lay up", pack).tone == "yes"

    tray.play.scan(tray.set, "missing", "1")

    answer = tray.play.scan("start over", "lay up", pack)
    assert (answer.tone, tray.play.codes(answer)) == ("no", ["piece-missing"])


def test_a_stopped_set_goes_into_no_pack_and_is_not_all_there(tray: Tray) -> None:
    used_and_missing(tray)

    assert tray.play.scan("start over", "clean", tray.set).options == ("found",)
    assert tray.play.scan("all there").word == "Not all"
    assert tray.play.scan("start over", "pack", tray.set).word == "Stopped"


def test_to_take_it_back_does_not_find_it(tray: Tray) -> None:
    used_and_missing(tray)

    undone = tray.play.scan("undo", "undo")

    assert "The search stands" in " ".join(one.says for one in undone.reasons)
    assert tray.asked().tone == "no"
    assert "piece-missing" in tray.play.codes(tray.asked())


def test_scanned_again_for_the_same_patient_it_is_told_what_lacks_and_not_kept_back(
    tray: Tray,
) -> None:
    used_and_missing(tray)

    answer = tray.play.scan(tray.set)

    assert "piece-missing" in tray.play.codes(answer)
    assert tray.stands.quarantines == ()


def test_it_waits_for_somebody_and_stands_in_the_history_of_set_piece_and_patient(
    tray: Tray,
) -> None:
    used_and_missing(tray)
    clinic = tray.play.clinic

    line = searches.all_open(clinic)[0]

    assert show_tag(tray.hooks[1]) in line.says
    assert line.seen == "Last seen by Nell Ash, counted at packing"
    token = clinic.vault.find("123451") or ""
    for subject in (tray.set, tray.hooks[1], token):
        text = [one.text for one in history.page(clinic, subject).lines]
        assert any(one.startswith(f"Missing from set {tray.set}") for one in text), subject
    shown = stock.thing(clinic, tray.set, tray.play.clock.now)
    assert shown is not None
    assert shown.held


def test_moved_to_another_patient_the_search_names_that_one(tray: Tray) -> None:
    used_and_missing(tray)

    tray.play.scan("move to another patient", "123452")

    assert tray.stands.contents is not None
    token = tray.play.clinic.vault.find("123452")
    assert [one.patient for one in tray.stands.contents.searches] == [token]


# --- found, or given up -----------------------------------------------------------------------


def test_found_asks_where_and_sends_the_whole_set_round_again(tray: Tray) -> None:
    used_and_missing(tray)
    tray.play.cleaned(tray.hooks[0])

    question = tray.play.scan("start over", "lay up", tray.set, "found")
    answer = tray.play.scan("in the ear")

    assert question.options == tuple(FOUND.values())
    assert answer.word == "Found"
    assert searches.all_open(tray.play.clinic) == []
    assert {"piece-missing"}.isdisjoint(tray.play.codes(tray.asked()))
    assert "soiled" in tray.play.codes(tray.asked())
    stands = item_rows.standing_of(tray.play.clinic.store, tray.hooks[0])
    assert stands is not None
    assert stands.done == ()


def test_found_after_its_pack_was_closed_undoes_the_pack(tray: Tray) -> None:
    pack = tray.ready()
    tray.play.scan("start over", "lay up", tray.set, "missing", "1", "found", "in the room")

    answer = tray.play.scan("start over", "lay up", pack)

    assert "pack-spoilt" in tray.play.codes(answer)


def test_after_its_round_the_set_that_was_found_whole_is_fit_again(tray: Tray) -> None:
    used_and_missing(tray)
    tray.play.scan("found", "in a bin")

    pack = tray.ready()

    assert tray.play.scan("start over", "lay up", pack).tone == "yes"


def test_of_two_that_are_missing_the_one_is_named_that_is_there_again(tray: Tray) -> None:
    used_and_missing(tray)
    tray.play.scan("missing", "1")
    assert len(searches.all_open(tray.play.clinic)) == 2

    tray.play.scan("found", "2", "in the room")

    left = searches.all_open(tray.play.clinic)
    assert len(left) == 1
    assert show_tag(tray.hooks[1]) in left[0].says
    assert tray.asked().tone == "no"


def test_only_who_may_lift_gives_it_up_and_with_a_reason(tray: Tray) -> None:
    used_and_missing(tray)
    play = tray.play
    search = searches.all_open(play.clinic)[0].search.search

    for who, reason, says in (
        ("nurse", "gone", "no right"),
        ("manager", " ", "Give a reason"),
    ):
        with (
            pytest.raises(Refused, match=says),
            acting(play.clinic, by=play.people[who]) as act,
        ):
            searches.lost(act, tray.set, search, reason)
    with acting(play.clinic, by=play.people["manager"]) as act:
        searches.lost(act, tray.set, search, "the bin had been emptied")

    assert tray.stands.members == (tray.hooks[0],)
    gone = item_rows.standing_of(play.clinic.store, tray.hooks[1])
    assert gone is not None
    assert gone.where == "retired"
    assert play.scan("start over", "lay up", tray.ready()).tone == "yes"
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_an_untagged_piece_that_is_lost_is_one_less_in_the_list(tray: Tray) -> None:
    play = tray.play
    play.scan("start over", "clean", tray.set, "missing", "3")
    search = searches.all_open(play.clinic)[0].search

    with acting(play.clinic, by=play.people["manager"]) as act:
        searches.lost(act, tray.set, search.search, "down the drain")

    assert tray.stands.contents is not None
    assert [(one.name, one.count) for one in tray.stands.contents.pieces] == [
        ("Fine suction tip", 1),
        ("Cotton carrier", 1),
    ]


def test_a_set_is_not_retired_or_listed_anew_while_a_piece_of_it_is_missing(tray: Tray) -> None:
    used_and_missing(tray)
    clinic = tray.play.clinic

    with (
        pytest.raises(Refused, match="missing"),
        acting(clinic, by=tray.play.people["manager"]) as act,
    ):
        items.retire(act, tray.set, "worn")
    with pytest.raises(Refused, match="missing"), acting(clinic, by="") as act:
        set_counts.list_pieces(act, tray.set, "1 Spring")


# --- the law ----------------------------------------------------------------------------------


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_after_missing_no_scan_of_the_set_says_yes_before_it_is_found_or_given_up(
    fresh_play: FreshPlay, seed: int
) -> None:
    random = Random(seed)
    tray = Tray.laid(fresh_play())
    play = tray.play
    pack = tray.ready()
    assert play.scan("start over", "lay up", pack).tone == "yes"
    if random.random() < 0.6:
        play.scan("start over", "123451", pack, "finish")
    play.scan("start over", "lay up", tray.set, "missing", random.choice("1234"))
    assert searches.all_open(play.clinic)

    for _ in range(random.randint(1, 8)):
        play.clock.passes(minutes=random.choice([1, 30, 600]))
        match random.choice(["undo", "round", "leave", "lift", "use", "words", "count"]):
            case "undo":
                play.scan("undo", "other patients too", "take it back")
            case "round":
                play.cleaned(tray.set)
                play.released(tray.steriliser, tray.set)
                play.scan("start over", "pack", tray.set, "all there", play.fresh_pack())
            case "leave":
                with acting(play.clinic, by=play.people["manager"]) as act:
                    if tray.hooks[1] in act.standing(tray.set).members:
                        items.leave(act, tray.set, tray.hooks[1])
            case "lift":
                play.scan("start over", "lay up", tray.set, "used anyway", who="manager")
                play.scan("a reason", who="manager")
            case "use":
                play.scan("start over", "123452", "start a use", tray.set)
            case "count":
                play.scan("start over", "clean", tray.set, "all there", *tray.hooks)
            case _:
                said = [
                    "found",
                    "undo",
                    "take it back",
                    "unpack",
                    "dropped",
                    "opened, not used",
                    "missing",
                ]
                play.scan(tray.set, *random.sample(said, 3))
        if not searches.all_open(play.clinic):
            raise AssertionError("Nothing above finds it or gives it up.")
        for scanned in (tray.set, pack):
            for before in (["lay up"], ["123453", "start a use"], ["123454"]):
                answer = play.scan("start over", *before, scanned)
                assert answer.tone != "yes", (scanned, before, answer)
    assert differences(play.clinic.store, play.clinic.settings.data) == []
