"""Which days a country keeps as holidays; weekends besides."""

from collections.abc import Callable
from datetime import date
from functools import cache

from equip.settings.settings import Settings

_SATURDAY = 5
_OF_BOOK = {"england": "GB-ENG", "australia": "AU", "united-states": "US"}


def country_of(settings: Settings) -> str:
    """Whose public holidays the clinic keeps: those set, else those of its rule book's country."""
    return settings.country or _OF_BOOK[settings.book]


def closed_in(country: str) -> Callable[[date], bool]:
    """Whether a day is a weekend or a public holiday there."""
    return lambda day: day.weekday() >= _SATURDAY or is_holiday(country, day)


def is_holiday(country: str, day: date) -> bool:
    """Whether *day* is a public holiday there. Each year is worked out once."""
    return day in _holidays(country, day.year)


@cache
def _holidays(country: str, year: int) -> frozenset[date]:
    """The calendars of the world are slow to load, so nobody pays who does not ask."""
    from holidays import country_holidays

    code, _, part = country.partition("-")
    return frozenset(country_holidays(code, subdiv=part or None, years=[year]))
