"""“Enough for tomorrow?” as it is typed and answered: nothing typed is lost, no name is asked."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from equip.desk.act.act import acting
from equip.desk.register import procedures
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]


@pytest.fixture
def given(play: Play) -> dict[str, str]:
    play.add("hook", "go-live", sealed=True)
    with acting(play.clinic, by=play.people["manager"]) as act:
        procedures.define(act, "One ear", 15, [("hook", 1)])
    tomorrow = play.clinic.house.today(play.clock.now) + timedelta(days=1)
    return {"day": str(tomorrow), "begins": "08:00", "ends": "18:00", "people": "1"}


@pytest.mark.parametrize("role", ["nurse", "manager"])
def test_the_answer_says_what_is_missing_when_and_how_many_more(
    signed_in: SignIn, given: dict[str, str], role: str
) -> None:
    page = signed_in(role).post(
        "/stock/tomorrow", data={**given, "list": "09:00 one ear\n09:10 one ear"}
    )

    assert page.status_code == 200
    assert "Not enough" in page.text
    assert "1 more of Hook would be enough" in page.text
    assert re.search(r"09:10</th><td[^>]*>One ear \(line 2\)</td><td[^>]*>1 × Hook", page.text)


def test_a_list_that_cannot_be_read_comes_back_as_it_was_typed(
    signed_in: SignIn, given: dict[str, str]
) -> None:
    typed = "09:00 one ear\n nine <b> both\n\n25:00 one ear "
    page = signed_in("nurse").post("/stock/tomorrow", data={**given, "list": typed}).text

    assert "2 lines could not be read" in page
    assert "<strong>Line 2:</strong>" in page and "<strong>Line 4:</strong>" in page
    assert typed.replace("<b>", "&lt;b&gt;") in page
    outside = re.sub(r"<textarea.*?</textarea>", "", page, flags=re.S)
    assert "nine" not in outside


@pytest.mark.parametrize(
    ("field", "value"), [("day", "soon"), ("day", "2020-01-01"), ("ends", "x"), ("people", "")]
)
def test_what_is_wrong_around_the_list_loses_nothing(
    signed_in: SignIn, given: dict[str, str], field: str, value: str
) -> None:
    form = {**given, "list": "09:00 one ear", field: value}
    page = signed_in("nurse").post("/stock/tomorrow", data=form).text

    assert 'class="problem"' in page
    assert "09:00 one ear</textarea>" in page
    assert f'name="{field}" ' in page and f'value="{value}"' in page


def test_an_auditor_reads_the_page_and_asks_nothing(
    signed_in: SignIn, given: dict[str, str]
) -> None:
    auditor = signed_in("auditor")

    assert auditor.get("/stock/tomorrow").status_code == 200
    assert (
        auditor.post("/stock/tomorrow", data={**given, "list": "09:00 one ear"}).status_code == 403
    )


def test_a_procedure_that_is_refused_comes_back_as_it_was_typed(signed_in: SignIn) -> None:
    form = {"name": "Nose", "minutes": "10", "type_1": "hook", "count_1": "99"}
    page = signed_in("manager").post("/setup/procedures", data=form).text

    assert "99 was read; give a number from 1 to 50" in page
    assert 'value="Nose"' in page and 'value="99"' in page
