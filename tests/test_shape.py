"""The house is as its papers say: every setting, module, card and command is where it is named."""

import ast
import re
from pathlib import Path

import pytest

from equip.settings.settings import described
from tests.support.commands import commands, parses

ROOT = Path(__file__).parents[1]
MODULES = sorted(
    path.relative_to(ROOT)
    for room in ("equip", "labels")
    for path in (ROOT / room).rglob("*.py")
    if "migrations" not in path.parts
)
WINGS = sorted(
    path.parent.relative_to(ROOT)
    for room in ("equip", "labels", "tests")
    for path in (ROOT / room).rglob("__init__.py")
)
DECISIONS = sorted((ROOT / "equip").rglob("decisions/*"))


@pytest.mark.parametrize("name", sorted(described()))
def test_the_guide_of_running_it_names_every_setting(name: str) -> None:
    guide = (ROOT / "templates/guide_running.html").read_text("utf-8")

    assert f'<th scope="row"><code>{name}</code>' in guide, "add a row to guide_running.html"


@pytest.mark.parametrize("path", MODULES, ids=str)
def test_every_module_opens_with_its_reason_to_exist(path: Path) -> None:
    tree = ast.parse((ROOT / path).read_text("utf-8"))

    assert (ast.get_docstring(tree) or "").rstrip().endswith((".", "?", ":"))


@pytest.mark.parametrize("wing", [w for w in WINGS if w.parts[0] == "equip" and w.name != "equip"])
def test_the_developers_guide_names_every_wing_with_a_line(wing: Path) -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    name = wing.relative_to("equip").as_posix()
    rows = re.findall(r"^\| (`[^|]+`) \| ([^|]+) \|$", guide, re.MULTILINE)
    lines = [says for folders, says in rows if f"`{name}`" in folders]

    assert lines, f"name `{name}` in the table of wings in DEVELOPERS.md"
    assert len(lines) == 1 and len(lines[0].split()) >= 2


def test_the_developers_guide_names_no_folder_that_is_gone() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    named = set(re.findall(r"`((?:equip|tests|templates)/[\w/.]+)`", guide))
    named |= {
        f"equip/{one}" for one in re.findall(r"`((?:rules|desk|store|web|deliver)/[\w/]+)`", guide)
    }
    there = {one for one in named if (ROOT / one).exists() or (ROOT / f"{one}.py").exists()}

    assert named - there == set(), "mend the name in DEVELOPERS.md"


def test_the_developers_guide_fits_on_three_pages_and_reasons_every_dependency() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    needed = re.findall(
        r"^([a-z][\w-]*)",
        "\n".join((ROOT / f"requirements{one}.in").read_text("utf-8") for one in ("", "-dev")),
        re.MULTILINE,
    )
    reasons = guide[guide.index("## Dependencies") : guide.index("## Decisions")].lower()

    assert len(guide.split()) <= 1900
    assert [one for one in needed if not one.startswith("types-") and one not in reasons] == []


@pytest.mark.parametrize("name", sorted(set(commands()) - {"import"}))
def test_the_guide_of_commands_names_every_command(name: str) -> None:
    guide = (ROOT / "templates/guide_commands.html").read_text("utf-8")

    assert f'<th scope="row"><code>{name}' in guide, "add a row to guide_commands.html"


def test_the_readme_opens_with_one_paragraph_that_states_the_job() -> None:
    first = (ROOT / "README.md").read_text("utf-8").split("\n\n")[1]

    assert first.startswith("The Instrument Book keeps every instrument and machine")


@pytest.mark.parametrize("wing", WINGS, ids=str)
def test_a_wing_says_what_it_is_for_and_names_only_what_is_in_it(wing: Path) -> None:
    says = ast.get_docstring(ast.parse((ROOT / wing / "__init__.py").read_text("utf-8"))) or ""
    inside = {one.stem for one in (ROOT / wing).iterdir() if one.is_dir() or one.suffix == ".py"}
    named = [one for one in re.findall(r"`([^`]+)`", says) if not one.startswith("python ")]
    gone = [one for one in named if one not in inside and not (ROOT / one).exists()]

    assert len(says.split()) > 5, f"say in {wing}/__init__.py what it is for"
    assert gone == [], f"mend the reading order in {wing}/__init__.py"
    modules = inside - {"__init__", "__pycache__", "decisions"}
    assert modules & set(named), f"say in {wing}/__init__.py what to read first"


def test_the_readme_stays_short_enough_to_be_read() -> None:
    words = len((ROOT / "README.md").read_text("utf-8").split())

    assert words < 900, "move what is long into a guide: templates/guide_*.html"


@pytest.mark.parametrize("paper", ["README.md", "DEVELOPERS.md"])
def test_every_file_command_and_target_that_a_paper_names_exists(paper: str) -> None:
    text = (ROOT / paper).read_text("utf-8")
    linked = {one for one in re.findall(r"\]\(([^)#]+)\)", text) if "://" not in one}
    targets = set(re.findall(r"^([a-z]+):", (ROOT / "Makefile").read_text("utf-8"), re.MULTILINE))
    calls = re.findall(r"[^`\n]*app\.py [^`\n]*", text)

    assert {one for one in linked if not (ROOT / one).exists()} == set()
    assert set(re.findall(r"(?:^|`)(?:\w+=\w+ )?make ([a-z]+)", text, re.MULTILINE)) <= targets
    assert [call for call in calls if not parses(call)] == []


def test_the_readme_leads_to_every_guide() -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    guides = sorted(path.name for path in (ROOT / "templates").glob("guide_*.html"))

    assert sorted(set(re.findall(r"\(templates/(guide_\w+\.html)\)", text))) == guides


@pytest.mark.parametrize("path", DECISIONS, ids=lambda path: path.stem)
def test_a_decision_has_its_date_its_choice_and_its_reason(path: Path) -> None:
    text = path.read_text("utf-8")
    found = re.fullmatch(
        r"# (?P<name>[^\n]+)\n\n\*\*Date:\*\* (?P<date>\d{4}-\d{2})\n\n"
        r"\*\*Choice:\*\* (?P<choice>\S.+)\n\n\*\*Reason:\*\* (?P<reason>\S.+)\n",
        text,
    )

    assert found, "write a heading, then **Date:**, **Choice:** and **Reason:**, one line each"
    slug = re.sub(r"[^a-z0-9]+", "-", found["name"].lower().replace("'", ""))
    assert path.stem == f"{found['date']}-{slug}", "name the file by its date and its heading"
    assert all(found[part].endswith(".") for part in ("choice", "reason"))


def test_every_decision_stands_beside_modules() -> None:
    assert len(DECISIONS) >= 58
    assert [str(path) for path in DECISIONS if not list(path.parents[1].glob("*.py"))] == []


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
