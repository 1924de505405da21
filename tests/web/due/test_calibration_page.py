"""Calibration on its page: begun from a sort of instrument, judged, given back where wrong."""

import io
from collections.abc import Callable
from html import unescape

import pytest
from flask.testing import FlaskClient

from equip.desk.upkeep.measuring import in_force
from equip.rulebook.measuring import instruments, parse_instruments
from equip.rulebook.rule import BadRule
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
PAPER = b"%PDF-1.4\ninvented\n%%EOF\n"
FORM = {
    "quantity": "water temperature",
    "unit": "°C",
    "done": "2026-03-04",
    "decides": "simple",
    "firm": "Bench and Sons",
    "nominal_0": "37",
    "limit_0": "1",
    "found_0": "37,4",
}


def _at(tag: str) -> str:
    return f"/calibration/things/{tag}"


def test_a_calibration_is_written_down_shown_with_its_working_and_its_file(
    play: Play, signed_in: SignIn
) -> None:
    irrigator, manager = play.add("irrigator"), signed_in("manager")
    play.clock.passes(minutes=1)

    answer = manager.post(
        _at(irrigator), data=FORM | {"certificate": (io.BytesIO(PAPER), "report.pdf")}
    )

    assert answer.status_code == 303
    page = unescape(signed_in("auditor").get(_at(irrigator)).text)
    assert "As found, at 37 °C: it conforms: 37.4 against 36 to 38" in page
    assert "+40 %" in page and "Bench and Sons" in page and "conformity.simple" in page
    assert "<form" not in page.split("<main")[1]
    (told,) = in_force.calibrations(play.clinic, irrigator)
    file = manager.get(f"{_at(irrigator)}/certificates/{told.certificate}")
    assert file.data == PAPER
    assert (
        manager.get(f"{_at(play.add('hook'))}/certificates/{told.certificate}").status_code == 404
    )


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"found_0": "warm"}, "Point 1, as found: “warm” is no number"),
        ({"limit_0": ""}, "Point 1: give what it should read and how far off it may be"),
        ({"found_0": ""}, "No point was given"),
        ({"done": "4 March"}, "“4 March” is no date"),
        ({"decides": "guard-u"}, "this decision rule needs one"),
        ({"decides": "by eye"}, "“Decides”: choose one of"),
        ({"firm": ""}, "one of the two"),
        ({"unit": ""}, "“Unit” is empty"),
    ],
)
def test_what_is_wrong_is_one_sentence_and_what_was_typed_comes_back(
    play: Play, signed_in: SignIn, typed: dict[str, str], says: str
) -> None:
    irrigator = play.add("irrigator")

    answer = signed_in("manager").post(_at(irrigator), data=FORM | typed | {"note": "a new probe"})

    page = unescape(answer.text)
    assert answer.status_code == 400
    assert says in page and 'value="a new probe"' in page and 'value="water temperature"' in page
    assert in_force.calibrations(play.clinic, irrigator) == []


def test_only_a_manager_writes_a_calibration_down(play: Play, signed_in: SignIn) -> None:
    irrigator, nurse = play.add("irrigator"), signed_in("nurse")

    assert nurse.post(_at(irrigator), data=FORM).status_code == 403
    assert "Judge it and write it down" not in nurse.get(_at(irrigator)).text
    assert nurse.get("/calibration/things/E99").status_code == 404


@pytest.mark.parametrize("code", sorted(instruments()))
def test_every_sort_of_instrument_fills_the_form_and_says_where_its_limits_come_from(
    play: Play, signed_in: SignIn, code: str
) -> None:
    sort, irrigator = instruments()[code], play.add("irrigator")

    page = unescape(signed_in("manager").get(f"{_at(irrigator)}?sort={code}").text)

    assert f'value="{sort.quantity}"' in page and sort.source in page and sort.basis in page
    for line, point in enumerate(sort.points):
        assert (
            f'name="nominal_{line}" inputmode="decimal" maxlength="17" value="{point.nominal}"'
            in page
        )


def test_limits_that_were_not_read_in_print_are_not_passed_off_as_published() -> None:
    assert {sort.basis for sort in instruments().values()} <= {"memory", "common practice"}


@pytest.mark.parametrize(
    "text", ["[[instrument]", "[[instrument]]\ncode = 'x'", "colour = 1\ninstrument = []"]
)
def test_a_file_of_sorts_that_is_wrong_is_refused(text: str) -> None:
    with pytest.raises(BadRule, match=r"instruments\.toml"):
        parse_instruments(text)


def test_a_steriliser_out_of_tolerance_leads_to_the_form_that_judges_again_filled_in(
    play: Play, signed_in: SignIn
) -> None:
    steriliser, manager = play.add("steriliser-vacuum"), signed_in("manager")
    for done, found in (("2025-03-04", "134"), ("2026-03-04", "134,7")):
        play.clock.passes(minutes=1)
        form = FORM | {"done": done, "nominal_0": "134", "limit_0": "0.5", "found_0": found}
        assert manager.post(_at(steriliser), data=form).status_code == 303

    page = unescape(manager.get(_at(steriliser)).text)
    address = page.split('href="/setup/re-judge?')[1].split('"')[0]
    again = unescape(manager.get(f"/setup/re-judge?{address}").text)

    assert "365 days before" in page and "Nothing is opened by itself" in page
    assert f'value="{steriliser}" selected' in again
    assert 'name="since" value="2025-03-04"' in again and 'name="until" value="2026-03-04"' in again
    assert 'maxlength="12" value="-0.7"' in again
    assert "water temperature found out of tolerance" in again


def test_an_audiometer_out_of_tolerance_leads_to_a_look_back_that_can_be_opened(
    play: Play, signed_in: SignIn
) -> None:
    audiometer, manager = play.add("audiometer"), signed_in("manager")
    play.clock.passes(minutes=1)
    manager.post(_at(audiometer), data=FORM | {"found_0": "39"})

    page = unescape(manager.get(_at(audiometer)).text)
    address = page.split('href="/look-backs/new?')[1].split('"')[0]
    asked = unescape(manager.get(f"/look-backs/new?{address}").text)
    opened = manager.post(
        "/look-backs",
        data={"evidence": "out-of-tolerance", "about": audiometer, "why": "calibration"},
    )

    assert "since when it was out, nobody can say from here" in page
    assert "was found out of tolerance: no uses on no patients so far" in asked
    assert opened.status_code == 303
    assert manager.get(opened.headers["Location"]).status_code == 200


def test_three_results_make_a_line_and_the_day_it_is_expected_to_reach_the_limit(
    play: Play, signed_in: SignIn
) -> None:
    irrigator, manager = play.add("irrigator"), signed_in("manager")
    for done, found in (("2026-01-01", "37"), ("2026-01-11", "37.2"), ("2026-01-21", "37.4")):
        play.clock.passes(minutes=1)
        manager.post(_at(irrigator), data=FORM | {"done": done, "found_0": found})

    page = unescape(manager.get(_at(irrigator)).text)

    # 0.2 of the limit in 10 days: from 0.4 on 21 January the limit is 30 days away.
    assert "reaches the limit about <strong>Fri 20 Feb</strong>" in page
    assert page.count("<circle") == 3 and "stroke-dasharray" in page
