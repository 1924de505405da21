"""The house is as its papers say: every setting, module, card and command is where it is named."""

import ast
import re
from pathlib import Path

import pytest

from equip.cli.main import parser
from equip.settings.settings import described

ROOT = Path(__file__).parents[1]
MODULES = sorted(
    path.relative_to(ROOT)
    for room in ("equip", "labels")
    for path in (ROOT / room).rglob("*.py")
    if "migrations" not in path.parts
)


@pytest.mark.parametrize("name", sorted(described()))
def test_the_readme_names_every_setting(name: str) -> None:
    assert f"`{name}`" in (ROOT / "README.md").read_text("utf-8")


@pytest.mark.parametrize("path", MODULES, ids=str)
def test_every_module_opens_with_its_reason_to_exist(path: Path) -> None:
    tree = ast.parse((ROOT / path).read_text("utf-8"))

    assert (ast.get_docstring(tree) or "").rstrip().endswith((".", "?", ":"))


@pytest.mark.parametrize("path", [p for p in MODULES if p.name != "__init__.py"], ids=str)
def test_the_developers_guide_names_every_module(path: Path) -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")

    assert re.search(rf"`(?:[\w/]*/)?{re.escape(path.stem)}`", guide), path


def test_the_readme_names_every_command() -> None:
    commands = next(a for a in parser()._actions if a.dest == "command").choices
    text = (ROOT / "README.md").read_text("utf-8")

    assert commands is not None
    assert [name for name in commands if f"`{name}" not in text and f", `{name}" not in text] == []


def test_the_readme_opens_with_one_paragraph_that_states_the_job() -> None:
    first = (ROOT / "README.md").read_text("utf-8").split("\n\n")[1]

    assert first.startswith("The Instrument Book keeps every instrument and machine")


def test_only_the_clock_asks_the_machine_what_time_it_is() -> None:
    asking = [
        str(path)
        for path in MODULES
        if re.search(
            r"datetime\.now\(|date\.today\(|time\.time\(", (ROOT / path).read_text("utf-8")
        )
    ]

    assert asking == ["equip/clock.py"]


def test_only_the_store_holds_sql() -> None:
    statement = re.compile(
        r"\s*(SELECT\s.*\sFROM|INSERT\s+INTO|UPDATE\s+\w+\s+SET|DELETE\s+FROM|CREATE\s+\w+"
        r"|ALTER\s+TABLE|DROP\s+TABLE|PRAGMA\s)",
        re.DOTALL,
    )
    holding = {
        str(path)
        for path in MODULES
        for node in ast.walk(ast.parse((ROOT / path).read_text("utf-8")))
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and statement.match(node.value)
    }

    assert {path for path in holding if not path.startswith("equip/store/")} == set()
    assert "equip/store/kept/acts.py" in holding
