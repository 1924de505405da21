"""A field of a form is read by the one reader, and what is wrong with it names the field."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal

import pytest
from flask import Flask

from equip.desk.act.act import Refused
from equip.web.request import forms


@pytest.mark.parametrize(
    ("reader", "given", "value"),
    [
        (forms.whole, "12", 12),
        (forms.whole, "", 0),
        (forms.maybe_whole, "", None),
        (forms.maybe_whole, "0", 0),
        (forms.decimal, "−0,45", Decimal("-0.45")),
        (forms.decimal, "", None),
        (forms.cycle_number, "004117", "4117"),
        (forms.cycle_number, "", ""),
        (forms.day, "2026-03-31", date(2026, 3, 31)),
        (forms.maybe_day, "", None),
        (forms.tag, "e 0000 0001 9", "E000000019"),
        (forms.maybe_tag, "", ""),
    ],
)
def test_a_field_is_read_as_it_is_meant(
    app: Flask, reader: Callable[[str], object], given: str, value: object
) -> None:
    with app.test_request_context(method="POST", data={"the_field": given}):
        assert reader("the_field") == value


@pytest.mark.parametrize(
    ("reader", "given", "says"),
    [
        (forms.whole, "three", "“three” is no whole number: write it in digits, as 12."),
        (forms.maybe_whole, "-1", "“-1” is no whole number from 0 to 999999."),
        (forms.decimal, "low", "“low” is no number: write it in digits, as 12 or 12.5."),
        (forms.cycle_number, "12a", "“12a” is no cycle number: it has up to eight digits."),
        (forms.maybe_day, "soon", "“soon” is no date; write it as 2026-03-31."),
        (forms.tag, "hook", "“hook” is no tag: a tag is a letter, eight digits and"),
    ],
)
def test_what_is_wrong_names_the_field_and_says_what_to_do(
    app: Flask, reader: Callable[[str], object], given: str, says: str
) -> None:
    with (
        app.test_request_context(method="POST", data={"the_field": given}),
        pytest.raises(Refused) as refused,
    ):
        reader("the_field")

    assert str(refused.value).startswith(f"“The field”: {says}")
