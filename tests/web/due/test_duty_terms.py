"""Every term of a duty is said, asked for and told: what was forgotten fails with where to go."""

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import get_args

import msgspec
import pytest

from equip import facts
from equip.facts import DutyTerms
from equip.rules.upkeep.due import BroughtBy, Duty
from equip.rules.upkeep.words import BROUGHT, TERMS, clauses, each, every, sentence, told_terms
from equip.web.due.duty_form import FIELDS
from tests.golden.test_golden_facts import FIELDS as SPECIMENS

NAMES = DutyTerms.__struct_fields__
SPECIMEN = SPECIMENS[facts.DutySet]["terms"]


@pytest.mark.parametrize("name", NAMES)
def test_every_term_has_its_words(name: str) -> None:
    assert name in TERMS, f"say “{name}” in equip/rules/upkeep/words.py, TERMS"


@pytest.mark.parametrize("name", NAMES)
def test_every_term_is_asked_for_by_the_form(name: str) -> None:
    asked = {one.name for one in FIELDS}

    assert name in asked, f"ask for “{name}” in equip/web/due/duty_form.py, HOW_OFTEN or MORE"


def test_no_words_and_no_field_are_left_of_a_term_that_is_none() -> None:
    own = {"every_months", "every_days", "grounds"}  # of the facts beside their terms

    assert set(TERMS) == set(NAMES)
    assert {one.name for one in FIELDS} == {*NAMES, *own}


@pytest.mark.parametrize("name", NAMES)
def test_the_specimen_of_the_golden_facts_has_every_term(name: str) -> None:
    default = getattr(DutyTerms(), name)

    assert getattr(SPECIMEN, name) != default, (
        f"give “{name}” a value in tests/golden/test_golden_facts.py, a new specimen beside the old"
    )


@pytest.mark.parametrize("name", NAMES)
def test_the_logbook_says_every_term(name: str) -> None:
    quiet = msgspec.structs.replace(SPECIMEN, **{name: getattr(DutyTerms(), name)})
    if name == "counts":  # what is counted and how many stand or fall together
        quiet = msgspec.structs.replace(quiet, every_count=0)

    said, unsaid = told_terms(_told(SPECIMEN)), told_terms(_told(quiet))

    assert said != unsaid, f"say “{name}” in equip/rules/upkeep/words.py, by *every* or *clause*"


def _told(terms: object) -> facts.DutySet:
    fields = SPECIMENS[facts.DutySet] | {"terms": terms}
    at = {"at": facts.moment(0), "by": "B", "act": "a"}
    return facts.DutySet(**at, **fields)  # type: ignore[arg-type]


def test_whatever_may_bring_a_duty_has_its_words() -> None:
    wordless = [by for by in get_args(BroughtBy) if by not in BROUGHT]

    assert wordless == [], "say it in equip/rules/upkeep/words.py, BROUGHT"


# --- the words themselves ---------------------------------------------------------------------


def test_how_often_and_what_else_holds_is_said_in_words() -> None:
    terms = DutyTerms(every_count=50, counts="hours", tolerance_days=1, cost=Decimal("12.50"))

    assert every(6, 0, terms) == (
        "every 6 months, or every 50 hours by its meter, whichever comes first"
    )
    assert [sentence(clause) for clause in clauses(terms)] == [
        "It may run over by 1 day.",
        "It costs 12.50.",
    ]
    assert (every(0, 0), every(0, 0, None, "2026-03-04")) == ("once", "once, on 2026-03-04")
    assert each(1, "day", "2026-03-04") == "every day from 2026-03-04"


def test_all_that_a_duty_goes_by_is_read_back_as_it_was_kept() -> None:
    duty = Duty(date(2026, 1, 31), 12, terms=SPECIMEN, grounds=True)  # type: ignore[arg-type]

    kept = msgspec.json.encode(duty, order="sorted")

    assert msgspec.json.decode(kept, type=Duty) == duty


ONLY_SAID = ("source",)
"""Terms that bear on no day and no sum: they are there to be read."""


@pytest.mark.parametrize("name", [name for name in NAMES if name not in ONLY_SAID])
def test_every_term_bears_on_something(name: str) -> None:
    root = Path(__file__).parents[3]
    files = [root / "equip/rules/upkeep/due.py", root / "equip/store/fold/counts.py"]
    files += (root / "equip/desk").rglob("*.py")

    used = any(f"terms.{name}" in file.read_text("utf-8") for file in files)

    assert used, f"let “{name}” bear on a day in equip/rules/upkeep/due.py, Duty or falls"
