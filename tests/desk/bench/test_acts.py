"""The vocabulary of acts is whole: every card has its button and its handler, and the reverse."""

import ast
import importlib
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import TypeGuard, get_args

import pytest

from equip import acts
from equip.acts import CARDS, Card, Mode
from equip.desk.bench import earlier, session_scans
from equip.desk.bench.handlers import HANDLERS
from equip.rules.fitness.session import KINDS
from equip.scan import CARDS as TAGS
from equip.scan import make_tag

ROOT = Path(__file__).parents[3]
BENCH = ROOT / "equip" / "desk" / "bench"
ANSWERS = {session_scans.NOT_GOOD, session_scans.LATER, earlier.TODAY} | {
    f"{kind.name} {session_scans.NOT_GOOD}" for kind in KINDS.values()
}
"""Buttons that answer a question and are no act."""


def faults(cards: Sequence[Card], handled: Iterable[str], offered: Iterable[str]) -> list[str]:
    """What the vocabulary lacks, each a sentence that says where to add it."""
    words = [card.word for card in cards]
    said = [text.lower() for card in cards for text in (card.word, *card.also)]
    found = [
        f"“{word}” has a card and no handler: bind one in equip/desk/bench/handlers.py."
        for word in words
        if word not in set(handled)
    ]
    found += [
        f"“{word}” has a handler and no card: add its line to CARDS in equip/acts.py."
        for word in handled
        if word not in words
    ]
    found += [
        f"“{word}” is a button of an answer and no act: add its card to CARDS in equip/acts.py."
        for word in offered
        if word not in words
    ]
    found += [
        f"“{card.word}” has no button: in equip/acts.py give it modes or with_item, or say why "
        "it has none in no_button."
        for card in cards
        if not (card.modes or card.with_item or card.no_button)
    ]
    found += [
        f"“{card.word}” has a button and a reason for none: take one out in equip/acts.py."
        for card in cards
        if card.no_button and (card.modes or card.with_item)
    ]
    found += [
        f"“{card.word}” has the number {card.number}, which another card has or none can have: "
        "give it one of its own in equip/acts.py."
        for card in cards
        if [other.number for other in cards].count(card.number) > 1
        or make_tag("C", card.number) is None
    ]
    found += [
        f"“{text}” stands for two acts: take it from one of them in equip/acts.py."
        for text in sorted(set(said))
        if said.count(text) > 1
    ]
    return found


def buttons_of_answers() -> set[str]:
    """Every word that the modules of the bench offer beside an answer."""
    found: set[str] = set()
    for path in BENCH.glob("*.py"):
        module = importlib.import_module(f"equip.desk.bench.{path.stem}")
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if _offers(node):
                found.update(_words(node.value, module))
    return found - ANSWERS


def _offers(node: ast.AST) -> TypeGuard[ast.keyword | ast.Assign | ast.AnnAssign]:
    """Whether *node* says which options an answer has."""
    if isinstance(node, ast.keyword):
        return node.arg == "options"
    if isinstance(node, ast.Assign | ast.AnnAssign):
        target = node.targets[0] if isinstance(node, ast.Assign) else node.target
        return isinstance(target, ast.Name) and target.id == "options"
    return False


def _words(value: ast.expr | None, module: ModuleType) -> Iterator[str]:
    for part in ast.walk(value) if value is not None else ():
        if isinstance(part, ast.Constant) and isinstance(part.value, str):
            yield part.value
        elif isinstance(part, ast.Name) and isinstance(named := vars(module).get(part.id), str):
            yield named
        elif isinstance(part, ast.Name) and isinstance(named, tuple):
            yield from named


def test_every_card_has_its_button_or_a_reason_and_its_handler() -> None:
    assert faults(CARDS, HANDLERS, buttons_of_answers()) == []


def test_the_buttons_of_answers_are_found() -> None:
    words = {"start the load", "fill the bath", "left ear", "good", "opened, not used", "rinse"}

    assert words <= buttons_of_answers()


NEW = Card(900, "rest", "back", modes=("",))


@pytest.mark.parametrize(
    ("cards", "handled", "offered", "says"),
    [
        ([NEW], [], [], "bind one in equip/desk/bench/handlers.py"),
        ([], ["rest"], [], "add its line to CARDS in equip/acts.py"),
        ([], [], ["rest"], "is a button of an answer and no act"),
        ([replace(NEW, modes=())], ["rest"], [], "say why it has none in no_button"),
        ([replace(NEW, no_button="None.")], ["rest"], [], "take one out"),
        ([NEW, replace(NEW, word="nap")], ["rest", "nap"], [], "one of its own"),
        ([replace(NEW, also=("nap", "nap"))], ["rest"], [], "stands for two acts"),
    ],
)
def test_what_is_left_out_is_told_with_the_place_where_it_belongs(
    cards: list[Card], handled: list[str], offered: list[str], says: str
) -> None:
    found = faults(cards, handled, offered)

    assert any(says in one for one in found), found
    assert all("equip/" in one and one.endswith(".") for one in found)


def test_every_reason_for_no_button_is_a_sentence() -> None:
    reasons = [card.no_button for card in CARDS if card.no_button]

    assert reasons
    assert all(reason[0].isupper() and reason.endswith(".") for reason in reasons)


def test_cards_are_printed_in_the_order_of_their_numbers() -> None:
    numbers = {card.word: card.number for card in CARDS}

    assert [numbers[word] for word in TAGS] == sorted(numbers.values())
    assert all(TAGS[card.word] == make_tag("C", card.number) for card in CARDS)


def test_a_label_is_the_word_unless_it_is_said_more_plainly() -> None:
    plainer = {card.word: card.says for card in CARDS if card.says}

    assert plainer == {"missing": "a piece is missing"}
    assert all(acts.label(card.word) == card.word for card in CARDS if card.word not in plainer)
    assert replace(NEW, says="Have a rest").label == "Have a rest"


_ON_THE_BENCH: dict[Mode, str] = {
    "": "check, lay up, wipe, clean, disinfect, inspect pass, inspect fail, pack, store, earlier",
    "lay-up": "start over",
    "tell": "start a use, finish, left ear, right ear, both ears, soil, opened, not used, undo, "
    "earlier, move to another patient, start over",
    "use": "finish, left ear, right ear, both ears, soil, opened, not used, tube touched scope, "
    "undo, earlier, start over",
    "step": "wipe, clean, rinse, dry, disinfect, inspect pass, inspect fail, pack, undo, "
    "earlier, start over",
    "pack": "count, undo, start over",
    "store": "undo, start over",
    "load": "start the load, end the load, release, run again, take out, undo, start over",
    "take-out": "undo, start over",
    "check": "session over, undo, start over",
}


@pytest.mark.parametrize("mode", get_args(Mode))
def test_the_buttons_stand_in_the_order_in_which_a_day_goes(mode: Mode) -> None:
    assert ", ".join(card.word for card in acts.buttons(mode)) == _ON_THE_BENCH[mode]


def test_what_may_have_happened_to_an_item_stands_apart() -> None:
    assert [card.word for card in acts.buttons_with_item()] == [
        "dropped",
        "blocked",
        "bent",
        "image fault",
        "wet pack",
        "torn pack",
        "indicator not turned",
        "missing",
        "I was hurt",
    ]


def test_each_word_that_does_an_act_is_written_once_in_the_table_and_once_where_it_is_bound() -> (
    None
):
    bound = (BENCH / "handlers.py").read_text("utf-8")
    by_group = set(acts.words("soil"))

    assert [
        card.word
        for card in CARDS
        if card.word not in by_group and not re.search(rf'"{re.escape(card.word)}": ', bound)
    ] == []
