"""What a new rule, fact, page, card, test of the sheet or interval needs: what was left out, where.

`DEVELOPERS.md` has the recipes. Each failure here names the next place to go.
"""

import ast
import re
from datetime import date
from itertools import product
from pathlib import Path
from typing import get_args

import pytest

from equip import facts, rulebook
from equip.desk.bench.handlers import HANDLERS
from equip.desk.machines import sheets
from equip.facts import Counts, Process
from equip.rulebook import BOOKS, SHARED
from equip.rules.logbook import lines
from equip.rules.machines.sheet import kinds_for
from equip.rules.upkeep.words import COUNTED, HOW_COUNTED, METERS
from equip.scan import CARDS
from equip.store.fold.counts import BROUGHT_ON
from equip.store.fold.rebuild import FOLDS_AGAIN
from equip.store.schema.rebuilt import REBUILT
from equip.web import application
from equip.web.loads.sheet import READINGS
from tests.golden.test_golden_facts import FIELDS, golden
from tests.test_scan import CARD_OF
from tests.web.test_pages import ELSEWHERE, PAGES
from tests.web.test_templates import VIEWS

ROOT = Path(__file__).parents[1]
TODAY = date(2026, 11, 1)
RULES = sorted({one for book in BOOKS for one in rulebook.load(book).on(TODAY)})
# A programme is known to a country or not; every other rule is one that every book answers.
OF_A_PROGRAMME = re.compile(r"(prevac|gravity)-.*")
SHEET_TESTS = {
    kind.id: kind
    for heat, vacuum, steps in product(
        ("steam", "hot-water", "none"), (True, False), (("sterilise",), ("clean",))
    )
    for kind in kinds_for(Process(heat=heat, vacuum=vacuum, steps=steps))  # type: ignore[arg-type]
}


# --- a kind of fact ------------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(facts.KINDS))
def test_a_kind_of_fact_is_named_specified_kept_and_told(name: str) -> None:
    kind = facts.KINDS[name]
    kept = {re.search(rb'"kind":"([^"]+)"', line)[1].decode() for line in golden()}  # type: ignore[index]

    assert kind.__name__ in facts.__all__, "import it in equip/facts/__init__.py; add it to __all__"
    assert kind in FIELDS, "give it a specimen in FIELDS of tests/golden/test_golden_facts.py"
    assert name in kept, "keep its bytes: python -m tests.golden.test_golden_facts"
    assert kind in lines._TELLERS, "add its sentence to TELLERS of a family in equip/rules/logbook"


# --- a rule --------------------------------------------------------------------------------------


@pytest.mark.parametrize("rule", RULES)
def test_a_rule_stands_in_every_book_and_is_read(rule: str) -> None:
    without = [book for book in BOOKS if rule not in rulebook.load(book).on(TODAY)]

    assert not without or OF_A_PROGRAMME.fullmatch(rule), (
        f"state it in {without} too, or once for all in a shared file of equip/rulebook"
    )
    programme, _, part = rule.rpartition(".")
    of_a_programme = programme in rulebook.load("united-states").on(TODAY).programmes()
    assert (
        rule in _WORDS
        or any(re.fullmatch(one, rule) for one in _BUILT)
        or (of_a_programme and part in _WORDS)
    ), (
        "nothing reads it: take it with rules.number, whole, decimal, flag or text, in the desk or"
        " equip/rulebook, and hand its value to the pure rule"
    )


def test_every_file_of_rules_is_loaded() -> None:
    files = {path.stem for path in (ROOT / "equip/rulebook").glob("*.toml")} - {"instruments"}

    assert files == {*SHARED, *BOOKS}, "name a new file in SHARED of equip/rulebook/reading.py"


def _texts() -> tuple[set[str], set[str]]:
    """Every text in the code, and every one that is built, as a pattern."""
    words, built = set(), set()
    for path in (ROOT / "equip").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                words.add(node.value)
            elif isinstance(node, ast.JoinedStr):
                parts = [
                    one.value if isinstance(one, ast.Constant) else None for one in node.values
                ]
                pattern = "".join(".+" if one is None else re.escape(str(one)) for one in parts)
                if re.fullmatch(r"(?=.*[a-z]{2})[^ /]+", pattern):
                    built.add(pattern)
    return words, built


_WORDS, _BUILT = _texts()


# --- a page --------------------------------------------------------------------------------------


def test_every_part_of_the_web_with_addresses_is_registered() -> None:
    holding = {
        path.relative_to(ROOT / "equip/web").with_suffix("").as_posix()
        for path in (ROOT / "equip/web").rglob("*.py")
        if re.search(r"^bp = Blueprint\(", path.read_text("utf-8"), re.MULTILINE)
    }
    registered = {
        room.__name__.removeprefix("equip.web.").replace(".", "/") for room in application.ROOMS
    }

    assert holding == registered, "add the module to ROOMS of equip/web/application.py"


def test_every_page_is_opened_by_a_test() -> None:
    addresses = VIEWS.url_map.bind("clinic.example")
    opened = {
        addresses.match(re.sub(r"\{\w+\}", "X1", page).partition("?")[0], method="GET")[0]
        for page in PAGES
    }
    rules = [rule for rule in VIEWS.url_map.iter_rules() if "GET" in (rule.methods or ())]
    pages = {rule.endpoint for rule in rules} - {"static"}

    assert pages - opened - set(ELSEWHERE) == set(), (
        "add its address to PAGES of tests/web/test_pages.py"
    )
    assert [one for one in ELSEWHERE.values() if not (ROOT / one).exists()] == []


# --- an act card ---------------------------------------------------------------------------------


@pytest.mark.parametrize("word", CARDS)
def test_a_card_has_its_number_for_ever_and_a_handler(word: str) -> None:
    assert word in CARD_OF, f'keep its tag in tests/test_scan.py: "{word}": "{CARDS[word]}"'
    assert word in HANDLERS, "name what it does in HANDLERS of equip/desk/bench/handlers.py"


# --- a test of the daily sheet -------------------------------------------------------------------


@pytest.mark.parametrize("test", sorted(SHEET_TESTS))
def test_a_test_of_the_sheet_has_its_rules_its_fields_and_its_judge(test: str) -> None:
    kind = SHEET_TESTS[test]
    needed = {f"test.{test}.every-days", f"test.{test}.failed"}

    assert needed <= set(RULES), (
        f"add {sorted(needed - set(RULES))} to equip/rulebook/periodic.toml"
    )
    unnamed = [one for one in kind.readings if one not in READINGS]
    assert unnamed == [], "name the field in READINGS of equip/web/loads/sheet.py"
    assert not kind.readings or test in sheets.JUDGED, (
        "judge what is measured: JUDGED in equip/desk/machines/sheets.py"
    )


# --- a kind of interval --------------------------------------------------------------------------


@pytest.mark.parametrize("counts", [one for one in get_args(Counts) if one])
def test_what_a_due_task_counts_is_counted_and_has_its_words(counts: Counts) -> None:
    assert counts in COUNTED and counts in HOW_COUNTED, (
        "say what one is called, and how it is counted: equip/rules/upkeep/words.py"
    )
    assert counts in BROUGHT_ON or counts in METERS, (
        "keep each at its moment in work_in of equip/store/fold/counts.py, and name it in"
        " BROUGHT_ON; or make it a meter of its own: METERS in equip/rules/upkeep/words.py"
    )


# --- a stored column -----------------------------------------------------------------------------


def test_a_migration_that_adds_to_a_table_of_the_fold_has_the_ledger_folded_again() -> None:
    folded = "|".join(table._meta.table_name for table in REBUILT)
    adding = {
        path.stem
        for path in (ROOT / "equip/store/migrations").glob("*.py")
        if re.search(rf"ALTER TABLE ({folded}) ADD COLUMN", path.read_text("utf-8"))
    }
    later = max(FOLDS_AGAIN)

    assert {one for one in adding if one > later} == set(), (
        "name it in FOLDS_AGAIN of equip/store/fold/rebuild.py: older books lack the value"
    )
