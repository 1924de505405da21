"""Every reason that a judge gives has its words for the picture and the rules that it rests on."""

import ast
from datetime import date
from pathlib import Path

import pytest

from equip import rulebook
from equip.facts import Limits
from equip.rules.cycles.behind import _BEHIND, behind, rules_behind
from equip.rules.cycles.figures import FIGURES, shown
from equip.rules.cycles.steam import own_limits as steam_limits
from equip.rules.cycles.steam import reasons as steam_reasons
from equip.rules.cycles.typed import judge, water
from equip.rules.cycles.washer import judge as washer
from equip.rules.cycles.washer import own_limits as washer_limits
from equip.rules.fitness import agents

JUDGES = (
    steam_reasons,
    steam_limits,
    washer,
    washer_limits,
    judge,
    water,
    agents,
)
PROGRAMMES = (
    "steam-134",
    "thermal-a0-600",
    "soak.opa-0.55",
    "soak.glutaraldehyde-2.0",
    "soak.peracetic-acid-0.2",
)
NEED_NO_RULE = {
    "not-completed",
    "completion-unknown",
    "indicator-failed",
    "temperature-missing",
    "temperatures-swapped",
    "time-missing",
    "detergent-unknown",
    "degassing-unknown",
    "disinfection-missing",
    "finishing-proves-nothing",
    "no-detergent",
    "not-degassed",
    "readers-disagree",
    "readers-differ",
}
"""Said by the machine or by whoever typed; their sentences are all there is behind them."""


def given() -> dict[str, bool]:
    """Each code in the judges' source, and whether it is never more than a remark."""
    found: dict[str, bool] = {}
    for module in JUDGES:
        for call in ast.walk(ast.parse(Path(module.__file__).read_text("utf-8"))):
            if isinstance(call, ast.Call) and ast.unparse(call.func) == "Reason":
                code = eval(ast.unparse(call.args[0]), vars(module))  # a text or a name for one
                spoils = [k.value for k in call.keywords if k.arg == "spoils"]
                remark = [ast.unparse(v) for v in spoils] == ["'pass'"]
                found[code] = remark and found.get(code, True)
    return found


def test_every_code_that_a_judge_gives_is_explained_and_no_other() -> None:
    assert set(given()) - NEED_NO_RULE == set(_BEHIND)


@pytest.mark.parametrize(("code", "remark"), given().items())
def test_what_changes_no_verdict_is_a_remark(code: str, remark: bool) -> None:
    assert behind(code).remark == remark


@pytest.mark.parametrize("book", rulebook.BOOKS)
@pytest.mark.parametrize("code", _BEHIND)
def test_the_rules_behind_a_reason_are_rules_of_the_book(code: str, book: str) -> None:
    known = set(rulebook.load(book).on(date(2026, 3, 1)))

    for rule in behind(code).rules:
        if rule.startswith("machine."):  # the machine's own limits stand in its type, in no book
            assert rule.removeprefix("machine.").replace("-", "_") in Limits.__struct_fields__
            continue
        named = {rule.replace("*", programme) for programme in PROGRAMMES}
        assert named & known, rule


def test_a_reason_names_the_rules_of_its_own_programme_that_were_used() -> None:
    used = ["steam-121.hold", "steam-134.hold", "steam-134.low", "steam.spread"]

    assert rules_behind("hold-short", "steam-134", used) == ["steam-134.hold", "steam-134.low"]
    assert rules_behind("of-tomorrow", "steam-134", used) == []
    assert behind("of-tomorrow").short == "of tomorrow"


def test_a_reason_of_a_soak_names_the_rules_of_its_agent() -> None:
    used = ["soak.opa-0.55.celsius", "soak.opa-0.55.minutes", "soak.basis", "steam-134.low"]

    assert rules_behind("too-cold", "soak-opa-0.55", used) == [
        "soak.opa-0.55.celsius",
        "soak.basis",
    ]


def test_figures_keep_their_order_and_none_is_lost() -> None:
    assert shown({"samples": "12", "of_tomorrow": "7", "hold_s": "180.0004"}) == [
        ("Holding time", "180.0004 s"),
        ("Readings in the log", "12"),
        ("of tomorrow", "7"),
    ]
    assert len({one.code for one in FIGURES}) == len(FIGURES)


@pytest.mark.parametrize(
    ("code", "value", "says"),
    [
        ("hold_min_c", "134.0416", "134.042 °C"),
        ("hold_min_c", "134.5", "134.5 °C"),
        ("theory_gap_min_k", "-0.1182", "−0.118 K"),
        ("log_kill_hold", "41.89967", "41.900"),
        ("indicator", "pass", "pass"),
    ],
)
def test_a_figure_is_written_to_a_thousandth_at_most(code: str, value: str, says: str) -> None:
    assert shown({code: value})[0][1] == says


def test_hot_water_is_not_said_to_have_a_holding_time() -> None:
    names = [name for name, _ in shown({"hold_s": "300", "hold_min_c": "65.1", "a0_s": "3000"})]

    assert not any("olding" in name for name in names)
