"""The guides: whoever is signed in reads them, and what they name exists and does as they say."""

import html
import json
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from equip import rulebook, scan
from equip.cli.check.kinds import KINDS, check
from equip.rules.planning.day_list import read_list
from equip.settings.settings import Settings, described
from tests.support.commands import options_of, parses

SignIn = Callable[[str], FlaskClient]

ROOT = Path(__file__).parents[3]
GUIDES = ("day", "running", "commands", "keeping", "method")
PAGES = ("/setup/guide", *(f"/setup/guide/{name}" for name in GUIDES))
FILES = sorted((ROOT / "templates").glob("guide*.html"))
# A name in code with a dot in it is a rule, but for the names of files.
FILE_NAMES = re.compile(r".*\.(py|csv|json|pdf|zip|txt|sqlite3|tmp|part)")

each_guide = pytest.mark.parametrize("page", PAGES)


def _codes(page: str) -> list[str]:
    return [html.unescape(one) for one in re.findall(r"<code[^>]*>(.*?)</code>", page, re.DOTALL)]


def _blocks(page: str) -> list[str]:
    found = re.findall(r"<pre>(.*?)</pre>", page, re.DOTALL)
    return [line for block in found for line in html.unescape(block).splitlines()]


@each_guide
@pytest.mark.parametrize("role", ["nurse", "manager", "auditor"])
def test_everybody_signed_in_reads_every_guide(signed_in: SignIn, page: str, role: str) -> None:
    answer = signed_in(role).get(page)

    assert answer.status_code == 200
    assert answer.text.count("<h1>") == 1
    assert re.search(r'href="/setup" aria-current="true"', answer.text)


@each_guide
def test_nobody_reads_a_guide_without_signing_in(app: Flask, page: str) -> None:
    assert 'name="secret"' in app.test_client().get(page).text


def test_the_list_of_guides_leads_to_each_and_setup_leads_to_the_list(signed_in: SignIn) -> None:
    nurse = signed_in("nurse")

    assert 'href="/setup/guide"' in nurse.get("/setup").text
    listed = re.findall(r'href="(/setup/guide/\w+)"', nurse.get("/setup/guide").text)
    assert listed == [page for page in PAGES if page != "/setup/guide"]
    assert len(FILES) == len(PAGES)


@each_guide
def test_every_link_of_a_guide_leads_to_a_page_and_a_place_on_it(
    signed_in: SignIn, page: str
) -> None:
    nurse = signed_in("nurse")
    links = set(re.findall(r'<a [^>]*href="([^"]+)"', nurse.get(page).text))

    broken = []
    for link in sorted(links):
        address, _, place = link.partition("#")
        answer = nurse.get(address or page, follow_redirects=True)
        if answer.status_code != 200 or (place and f'id="{place}"' not in answer.text):
            broken.append(link)

    assert len(links) > len(GUIDES)
    assert broken == []


@each_guide
def test_every_command_of_a_guide_is_taken_by_the_command_line(
    signed_in: SignIn, page: str
) -> None:
    text = signed_in("nurse").get(page).text
    calls = [line for line in (*_codes(text), *_blocks(text)) if "app.py " in line]

    unknown = [call for call in calls if "COMMAND" not in call and not parses(call)]

    assert unknown == []


def test_every_option_in_the_table_of_commands_is_one_of_its_command(signed_in: SignIn) -> None:
    text = signed_in("nurse").get("/setup/guide/commands").text
    table = text[text.index('id="commands"') : text.index("Exit status")]
    wrong = []
    rows = re.findall(r"<tr><th scope=\"row\"><code>(.*?)</tr>", table, re.DOTALL)
    for row in rows:
        words = re.split(r"[ <]", row)
        name = " ".join(words[:2]) if words[0] == "import" else words[0]
        given = set(re.findall(r"--[a-z-]+", html.unescape(row)))
        wrong += [f"{name} {option}" for option in given - options_of(name)]

    assert len(rows) > 10
    assert wrong == []


def test_every_kind_of_check_is_shown_with_a_question_and_what_it_answers(
    signed_in: SignIn,
) -> None:
    text = signed_in("nurse").get("/setup/guide/commands").text
    rows = re.findall(
        r"<th scope=\"row\"><code>(\w+)</code>.*?"
        r"<code[^>]*>(\{.*?\})</code> → <code[^>]*>(\{.*?\})</code>",
        text,
    )

    assert sorted(kind for kind, _, _ in rows) == sorted(KINDS)
    for kind, asked, said in rows:
        answer = check(kind, json.loads(html.unescape(asked)))
        for name, value in json.loads(html.unescape(said)).items():
            near = pytest.approx(value, rel=1e-3) if isinstance(value, float) else value
            assert answer[name] == near, f"{kind}: {name}"


@each_guide
def test_every_address_of_the_api_that_a_guide_names_is_served(
    signed_in: SignIn, app: Flask, page: str
) -> None:
    named = re.findall(r"(GET|POST) (/api/[\w-]+)", signed_in("nurse").get(page).text)
    served = {(way, rule.rule) for rule in app.url_map.iter_rules() for way in rule.methods or ()}

    assert set(named) <= served
    assert bool(named) == (page == "/setup/guide/commands")


@each_guide
def test_every_setting_that_a_guide_names_exists(signed_in: SignIn, page: str) -> None:
    named = set(re.findall(r"EQUIP_[A-Z_]+", signed_in("nurse").get(page).text))

    assert {name.removesuffix("_FILE") for name in named} <= set(described())


def test_what_a_setting_is_if_it_is_not_set_is_what_the_guide_says() -> None:
    text = (ROOT / "templates/guide_running.html").read_text("utf-8")
    unset = Settings()

    for name, value in (
        ("EQUIP_DATA", unset.data),
        ("EQUIP_BOOK", unset.book),
        ("EQUIP_ZONE", unset.zone),
        ("EQUIP_SITE", unset.site),
        ("EQUIP_ADDRESS", unset.address),
        ("EQUIP_DIGEST_AT", unset.digest_at),
    ):
        row = text[text.index(f'<th scope="row"><code>{name}</code>') :].partition("</tr>")[0]
        assert row.endswith(f'"if not set"><code>{value}</code></td>'), name


@each_guide
def test_every_rule_that_a_guide_names_stands_in_every_rule_book(
    signed_in: SignIn, page: str
) -> None:
    codes = _codes(signed_in("nurse").get(page).text)
    named = {
        one
        for one in codes
        if re.fullmatch(r"[a-z]+(\.[a-z-]+)+", one) and not FILE_NAMES.fullmatch(one)
    }

    for book in rulebook.BOOKS:
        rules = rulebook.load(book).on(date(2026, 11, 1))
        assert {one.id for one in rules.values()} >= named


def test_every_word_that_the_first_day_tells_to_say_is_understood(signed_in: SignIn) -> None:
    codes = _codes(signed_in("nurse").get("/setup/guide/day").text)
    said = [one for one in codes if "." not in one and "app.py" not in one]
    patients = re.compile(Settings().patient_pattern)

    lines = [one for one in said if re.match(r"\d\d:\d\d ", one)]
    heard = {one: scan.read(one, patients).kind for one in said if one not in lines}

    assert len(heard) > 10
    assert {one: kind for one, kind in heard.items() if kind not in ("word", "patient")} == {}
    assert read_list("\n".join(lines), {"Both ears": "both-ears"})[1] == []
    assert lines
