"""Commands that ask the rules alone, without a book."""

import argparse
import json
import sys
from pathlib import Path
from typing import Any, NoReturn

from equip import rulebook
from equip.cli.call import DONE, FAIL, UNDECIDED, Add, Call, Unreadable, a_day, show
from equip.cli.check import kinds

_BY_VERDICT = {"pass": DONE, "fail": FAIL, "undecided": UNDECIDED}


def offer(add: Add) -> None:
    """The commands of this module, with their options."""
    figure = add("check", check, "one JSON object in, one out: check any figure")
    figure.add_argument("kind", choices=sorted(kinds.KINDS), metavar="KIND")
    _by_rules(figure)
    cycle = add("judge", judge, "judge the log of a cycle")
    cycle.add_argument("log")
    cycle.add_argument("--programme", required=True)
    _by_rules(cycle)
    cycle.add_argument("--uncertainty", metavar="K", help="of the sensor, in kelvin")
    cycle.add_argument("--band-width", metavar="K", help="in place of the rule book's, in kelvin")
    cycle.add_argument("--chamber-litres", metavar="N", help="24 if not told")
    cycle.add_argument("--layout", metavar="FILE", help="how the machine writes its log, as JSON")


def _by_rules(made: argparse.ArgumentParser) -> None:
    made.add_argument("--book", default=rulebook.DEFAULT, metavar="|".join(rulebook.BOOKS))
    made.add_argument("--on", type=a_day, metavar="DATE")


def check(call: Call) -> int:
    given = _asked_in_json()
    book = rulebook.known_book(call.asked.book)
    rules = None
    if kinds.asks_rules(call.asked.kind):
        rules = rulebook.load(book).on(call.asked.on or call.clock().date())
    answer = kinds.check(call.asked.kind, given, rules)
    show(answer)
    return DONE if "verdict" not in answer else _BY_VERDICT[answer["verdict"]]


def judge(call: Call) -> int:
    from equip.cli.check.judging import judge_log

    asked = call.asked
    answer = judge_log(
        Path(asked.log),
        programme=asked.programme,
        book=rulebook.load(asked.book),
        on=asked.on or call.clock().date(),
        uncertainty=asked.uncertainty,
        band_width=asked.band_width,
        chamber_litres=asked.chamber_litres,
        layout=Path(asked.layout) if asked.layout else None,
    )
    if asked.json:
        show(answer)
    else:
        print({"pass": "Passed", "fail": "Failed"}.get(answer["verdict"], "Cannot be judged"))
        for reason in answer["reasons"]:
            print(f"  {reason['says']}")
    return _BY_VERDICT[answer["verdict"]]


def _asked_in_json() -> dict[str, Any]:
    """The one JSON object on standard input."""
    try:
        text = sys.stdin.read().removeprefix("\ufeff")
        given = json.loads(text, parse_constant=_no_constant, object_pairs_hook=_keys_once)
    except Unreadable:
        raise
    except (ValueError, RecursionError):
        given = None
    if not isinstance(given, dict):
        raise Unreadable("Standard input holds no JSON object: give one, in UTF-8.")
    return given


def _no_constant(name: str) -> NoReturn:
    raise Unreadable(f"{name} is no number: give a finite value.")


def _keys_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    given = dict(pairs)
    if len(given) < len(pairs):
        raise Unreadable("A key is given twice: give each once, for only one of them can count.")
    return given
