"""The templates as they are written: forms, labels, headings, tables, addresses, what is fetched.

These read the source, both branches of every condition at once; pages are rendered elsewhere.
"""

import ast
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
from flask import Flask
from jinja2 import Environment, FileSystemLoader, StrictUndefined, nodes

from equip.web import application

ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = sorted((ROOT / "templates").glob("*.html"))
PAGES = [path for path in TEMPLATES if not path.name.startswith("_") and path.name != "base.html"]
STATIC = ROOT / "equip/web/static"
# What an auditor may post: coming and going, a search that must stand in no address, and a proof.
HARMLESS = {
    "sign_in.sign_in",
    "sign_in.sign_out",
    "history.find",
    "setup.verify",
    "proofs.give",
    "letters.change",  # by a signed link, of the reader's own letters
}
VOID = {"input", "img", "link", "meta", "br"}

each = pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
each_page = pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)


def _filters() -> set[str]:
    """The filters that the application adds, read from where it adds them."""
    tree = ast.parse(Path(application.__file__).read_text("utf-8"))
    return {
        keyword.arg
        for call in ast.walk(tree)
        if isinstance(call, ast.Call) and ast.unparse(call.func) == "app.jinja_env.filters.update"
        for keyword in call.keywords
        if keyword.arg
    }


def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(ROOT / "templates"), autoescape=True, undefined=StrictUndefined
    )
    made.filters.update(dict.fromkeys(_filters(), str))
    return made


def _views() -> Flask:
    app = Flask(__name__, static_folder=str(STATIC))
    for room in application.ROOMS:
        app.register_blueprint(room.bp)
    return app


VIEWS = _views()


class Element:
    """One element of a template's source, with what stands around it."""

    def __init__(self, tag: str, attributes: dict[str, str], around: tuple["Element", ...]) -> None:
        self.tag = tag
        self.attributes = attributes
        self.around = around
        self.inside: list[Element] = []
        self.text = ""

    def within(self, tag: str) -> "Element | None":
        return next((one for one in reversed(self.around) if one.tag == tag), None)


class Source(HTMLParser):
    """A template's markup with its Jinja taken out; an expression stays as its bare text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.every: list[Element] = []
        self._open: list[Element] = []
        text = re.sub(r"\{#.*?#\}", "", text, flags=re.DOTALL)
        text = re.sub(r"\{%.*?%\}", " ", text, flags=re.DOTALL)
        self.feed(re.sub(r"\{\{-?(.*?)-?\}\}", _bare, text, flags=re.DOTALL))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        attributes = {name: value or "" for name, value in attrs}
        element = Element(tag, attributes, tuple(self._open))
        self.every.append(element)
        for one in self._open:
            one.inside.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_endtag(self, tag: str) -> None:
        for index in range(len(self._open) - 1, -1, -1):
            if self._open[index].tag == tag:
                del self._open[index:]
                return

    def handle_data(self, data: str) -> None:
        for one in self._open:
            one.text += data

    def all(self, *tags: str) -> list[Element]:
        return [element for element in self.every if element.tag in tags]


def _bare(found: re.Match[str]) -> str:
    return re.sub(r'["<>]', "'", found[1]).strip()


def _source(path: Path) -> Source:
    return Source(path.read_text("utf-8"))


def _posts(source: Source) -> list[Element]:
    return [form for form in source.all("form") if form.attributes.get("method") == "post"]


def _endpoint(form: Element) -> str:
    found = re.match(r"url_for\('([\w.]+)'", form.attributes.get("action", ""))
    return found[1] if found else ""


def _tree(path: Path) -> nodes.Template:
    return _environment().parse(path.read_text("utf-8"))


# --- the templates as a whole ------------------------------------------------------------------


def test_there_is_a_template_for_every_page_that_a_view_shows() -> None:
    views = "".join(path.read_text("utf-8") for path in (ROOT / "equip/web").rglob("*.py"))

    shown = set(re.findall(r'"(\w+\.html)"', views))

    assert shown
    missing = shown - {path.name for path in TEMPLATES}
    assert missing == set(), "write the template in templates/"
    assert {path.name for path in PAGES} <= shown


@each
def test_every_template_compiles_and_uses_only_filters_that_there_are(path: Path) -> None:
    environment = _environment()

    template = environment.get_template(path.name)
    # Jinja lets an unknown filter pass where it stands under a condition.
    filters = {one.name for one in _tree(path).find_all(nodes.Filter)}
    tests = {one.name for one in _tree(path).find_all(nodes.Test)}

    assert template.name == path.name
    assert filters <= set(environment.filters)
    assert tests <= set(environment.tests)


@each
def test_nothing_stands_inline_that_the_content_policy_forbids(path: Path) -> None:
    source = _source(path)

    styled = [one.tag for one in source.every if "style" in one.attributes]
    handlers = [name for one in source.every for name in one.attributes if name.startswith("on")]
    scripts = [one.text.strip() for one in source.all("script") if one.text.strip()]

    assert not styled
    assert not handlers
    assert not scripts
    assert not source.all("style")


@pytest.mark.parametrize(
    "path", [*TEMPLATES, *sorted(STATIC.iterdir())], ids=lambda path: path.name
)
def test_nothing_is_fetched_from_elsewhere(path: Path) -> None:
    text = path.read_text("utf-8")

    assert not re.findall(r"https?:|url\(|@import|[\"'(]//", text)


def test_every_class_in_the_templates_has_a_rule() -> None:
    css = (STATIC / "book.css").read_text("utf-8")

    used = {
        name
        for path in TEMPLATES
        for one in Source(re.sub(r"\{\{.*?\}\}", "", path.read_text("utf-8"))).every
        for name in one.attributes.get("class", "").split()
    }

    assert used
    assert [name for name in sorted(used) if not re.search(rf"\.{name}(?![\w-])", css)] == []


# --- forms ---------------------------------------------------------------------------------------


@each
def test_every_posted_form_carries_the_token_and_no_other_does(path: Path) -> None:
    source = _source(path)

    for form in source.all("form"):
        tokens = [
            one.attributes.get("value")
            for one in form.inside
            if one.attributes.get("name") == "csrf_token" and one.attributes["type"] == "hidden"
        ]
        assert tokens == (["csrf_token()"] if form.attributes.get("method") == "post" else [])


@each
def test_every_form_goes_to_a_view_that_takes_it(path: Path) -> None:
    methods = {rule.endpoint: rule.methods or set() for rule in VIEWS.url_map.iter_rules()}
    source = _source(path)

    for form in source.all("form"):
        assert form.attributes["method"].upper() in methods[_endpoint(form)]


@each
def test_every_field_has_a_label_with_words_in_it(path: Path) -> None:
    source = _source(path)
    targets = {one.attributes["for"] for one in source.all("label") if "for" in one.attributes}

    for field in source.all("input", "select", "textarea"):
        if field.attributes.get("type") in ("hidden", "submit"):
            continue
        label = field.within("label")
        is_named = bool(field.attributes.get("aria-label")) or field.attributes.get("id") in targets
        assert is_named or (label is not None and label.text.strip()), field.attributes


@each
def test_every_button_has_words(path: Path) -> None:
    source = _source(path)

    assert all(button.text.strip() for button in source.all("button"))


@each
def test_a_form_with_a_file_is_sent_as_one(path: Path) -> None:
    source = _source(path)

    for field in source.all("input"):
        if field.attributes.get("type") == "file":
            form = field.within("form")
            assert form is not None
            assert form.attributes["enctype"] == "multipart/form-data"


@each
def test_an_auditor_is_shown_no_form_that_changes_anything(path: Path) -> None:
    tree = _tree(path)
    posting = {"met", *(macro.name for macro in tree.find_all(nodes.Macro) if _holds_post(macro))}

    open_to_all = set(_unguarded(tree, posting))

    assert open_to_all <= HARMLESS


def _holds_post(node: nodes.Node) -> bool:
    return any('method="post"' in data.data for data in node.find_all(nodes.TemplateData))


def _unguarded(node: nodes.Node, posting: set[str]) -> Iterator[str]:
    """Where forms go that stand outside every test of what the person may do.

    A macro that holds a form is judged where it is called, not where it is written.
    """
    if isinstance(node, nodes.Macro) and node.name in posting:
        return
    if isinstance(node, nodes.Output):
        yield from _forms_of(node, posting)
        return
    skipped = node.body if isinstance(node, nodes.If) and _is_guard(node.test) else ()
    for child in node.iter_child_nodes():
        if not any(child is one for one in skipped):
            yield from _unguarded(child, posting)


def _is_guard(test: nodes.Node) -> bool:
    """Whether *test* lets through only those who may change things."""
    asked = {one.attr for one in test.find_all(nodes.Getattr)}
    if isinstance(test, nodes.Getattr):
        asked.add(test.attr)
    return not asked.isdisjoint({"writes", "manages"}) and not isinstance(
        test, nodes.Not | nodes.Or
    )


def _forms_of(output: nodes.Output, posting: set[str]) -> Iterator[str]:
    """The endpoints of posted forms that begin here, and the macros called that hold one."""
    has_begun = False
    for part in output.nodes:
        if isinstance(part, nodes.TemplateData):
            has_begun = has_begun or 'method="post"' in part.data
        elif isinstance(part, nodes.Call) and isinstance(part.node, nodes.Name):
            if part.node.name in posting:
                yield part.node.name
            elif part.node.name == "url_for" and has_begun:
                yield part.args[0].as_const()
                has_begun = False


# --- addresses -----------------------------------------------------------------------------------


@each
def test_every_address_is_that_of_a_view_with_its_arguments(path: Path) -> None:
    needed = {rule.endpoint: rule.arguments for rule in VIEWS.url_map.iter_rules()}

    for call in _tree(path).find_all(nodes.Call):
        if not isinstance(call.node, nodes.Name) or call.node.name != "url_for":
            continue
        if isinstance(call.args[0], nodes.Const):
            endpoint, given = call.args[0].value, {keyword.key for keyword in call.kwargs}
            assert endpoint in needed, f"line {call.lineno}: no view is called {endpoint}"
            assert needed[endpoint] <= given, endpoint


@each
def test_every_endpoint_named_in_a_list_exists(path: Path) -> None:
    rooms = "|".join(VIEWS.blueprints)
    named = {
        one.value
        for one in _tree(path).find_all(nodes.Const)
        if isinstance(one.value, str) and re.fullmatch(rf"({rooms})\.(?!js$)\w+", one.value)
    }

    assert named <= set(VIEWS.view_functions)


@pytest.mark.parametrize(
    "path",
    sorted((ROOT / "equip/web").rglob("*.py")),
    ids=lambda path: path.relative_to(ROOT / "equip/web").as_posix(),
)
def test_every_address_in_the_code_is_that_of_a_view(path: Path) -> None:
    for call in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(call, ast.Call) and ast.unparse(call.func).endswith("url_for"):
            endpoint = ast.literal_eval(call.args[0])  # a literal, or nobody can check it
            assert endpoint in VIEWS.view_functions, (
                f"line {call.lineno}: no view is called {endpoint}"
            )


def test_the_name_of_a_view_says_which_page_it_is() -> None:
    called = [end for end in VIEWS.view_functions if end.split(".")[-1] in ("page", "one")]

    assert called == []


def test_the_rooms_at_the_top_are_the_six_and_each_has_a_page() -> None:
    text = (ROOT / "templates/base.html").read_text("utf-8")

    rooms = re.findall(r'\("(\w+\.\w+)", "(\w+)"\)', text)

    assert [word for _, word in rooms] == ["Bench", "Stock", "Loads", "Due", "History", "Setup"]
    assert {endpoint for endpoint, _ in rooms} <= set(VIEWS.view_functions)


# --- what everybody can read ---------------------------------------------------------------------


@each_page
def test_every_page_has_a_title_and_one_first_heading(path: Path) -> None:
    source = _source(path)
    blocks = {block.name for block in _tree(path).find_all(nodes.Block)}

    assert len(source.all("h1")) == 1
    assert {"title", "main"} <= blocks


@each
def test_no_heading_skips_a_level(path: Path) -> None:
    levels = [int(one.tag[1]) for one in _source(path).all("h1", "h2", "h3", "h4", "h5", "h6")]

    assert all(after <= before + 1 for before, after in pairwise(levels))


@each
def test_every_table_has_a_caption_and_its_headings_a_scope(path: Path) -> None:
    source = _source(path)

    for table in source.all("table"):
        assert any(one.tag == "caption" and one.text.strip() for one in table.inside)
    assert all(cell.attributes.get("scope") in ("row", "col") for cell in source.all("th"))


@each
def test_every_picture_has_words_for_those_who_cannot_see_it(path: Path) -> None:
    assert all(one.attributes.get("alt") for one in _source(path).all("img"))


def test_the_frame_of_every_page_says_its_language_and_lets_one_skip_to_the_middle() -> None:
    source = _source(ROOT / "templates/base.html")
    ids = {one.attributes["id"] for one in source.every if "id" in one.attributes}

    skip = next(one for one in source.all("a") if one.attributes.get("class") == "skip")

    assert source.all("html")[0].attributes["lang"] == "en-GB"
    assert skip.attributes["href"].removeprefix("#") in ids
    assert source.all("main")[0].attributes["id"] == skip.attributes["href"].removeprefix("#")


def test_only_the_answer_of_the_bench_interrupts_whoever_listens() -> None:
    loud = [
        (path.name, one.attributes.get("id"))
        for path in TEMPLATES
        for one in _source(path).every
        if one.attributes.get("aria-live") == "assertive"
    ]

    assert loud == [("_bench.html", "answer")]


# --- the bench and its script --------------------------------------------------------------------


def test_every_part_that_the_script_swaps_is_in_the_fragment_and_the_field_is_in_none() -> None:
    script = (STATIC / "bench.js").read_text("utf-8")
    source = _source(ROOT / "templates/_bench.html")
    by_id = {one.attributes["id"]: one for one in source.every if "id" in one.attributes}

    parts = re.findall(r'"(\w+)"', re.search(r"PARTS = \[(.*?)\]", script)[1])  # type: ignore[index]

    assert set(parts) <= set(by_id)
    assert not any(one.tag in ("form", "input") for part in parts for one in by_id[part].inside)


def test_enter_in_the_field_sends_the_field_and_no_word() -> None:
    source = _source(ROOT / "templates/_bench.html")
    field = next(form for form in source.all("form") if form.attributes["id"] == "scan")
    words = [one for one in source.all("button") if one.attributes.get("name") == "text"]

    own = [one for one in field.inside if one.tag == "button"]

    assert [button.attributes.get("name") for button in own] == [None]
    assert words
    assert all(button.attributes["form"] == "say" for button in words)


def test_the_style_turns_a_no_to_ink_and_breaks_the_border_of_a_warning() -> None:
    css = (STATIC / "book.css").read_text("utf-8")

    no = re.search(r"\.answer\.no \{(.*?)\}", css, re.DOTALL)
    warn = re.search(r"\.answer\.warn \{(.*?)\}", css, re.DOTALL)
    unread = re.search(r"\.answer\.unread \{(.*?)\}", css, re.DOTALL)

    assert no is not None and "background: var(--ink); color: var(--paper)" in no[1]
    assert warn is not None and "dashed" in warn[1] and "background" not in warn[1]
    assert unread is not None and "dotted" in unread[1] and "background" not in unread[1]


def _shine(colour: str) -> float:
    """Relative luminance, as WCAG 2 defines it."""
    parts = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_contrast_is_known_for_black_on_white() -> None:
    assert (_shine("#ffffff") + 0.05) / (_shine("#000000") + 0.05) == pytest.approx(21)


@pytest.mark.parametrize(
    ("fore", "back", "least"),
    [
        ("ink", "paper", 7.0),
        ("soft", "paper", 4.5),
        ("soft", "shade", 4.5),
        ("accent", "paper", 4.5),
        ("accent", "sheet", 4.5),
        ("edge", "sheet", 3.0),
        ("edge", "paper", 3.0),
    ],
)
def test_text_and_borders_have_the_contrast_that_wcag_asks(
    fore: str, back: str, least: float
) -> None:
    css = (STATIC / "book.css").read_text("utf-8")
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", css))

    dark, light = sorted((_shine(colours[fore]), _shine(colours[back])))

    assert (light + 0.05) / (dark + 0.05) >= least
