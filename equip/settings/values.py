"""The text of one setting to its value, or a sentence that says what to write instead.

Every reader raises `ValueError` with the second half of a sentence that begins "… was read;".
"""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Literal, NamedTuple
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

Tls = Literal["none", "starttls", "tls"]

BOOKS = ("england", "australia", "united-states")
_TLS: dict[str, Tls] = {"none": "none", "starttls": "starttls", "tls": "tls"}
_DATABASES = ("sqlite", "postgresql", "postgres", "psycopg3")
_HERE = re.compile(r"localhost|127\.[0-9.]+|::1")
_HOST_PORT = re.compile(r"(\[[0-9A-Fa-f:.]+\]|[A-Za-z0-9._-]+):([0-9]{1,5})")
_MAIL = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]+@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)*")
_COUNTRY = re.compile(r"[A-Z]{2}(-[A-Z0-9]{1,3})?")
_URL = re.compile(r"https?://[A-Za-z0-9.\-\[\]:]+(/[A-Za-z0-9._~/\-]*)?")
_HOUR = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")
_SITE = re.compile(r"[A-Z][A-Z0-9-]{0,11}")


class HostPort(NamedTuple):
    """Where something listens; an IPv6 host stands here without its brackets."""

    host: str
    port: int

    def __str__(self) -> str:
        return f"[{self.host}]:{self.port}" if ":" in self.host else f"{self.host}:{self.port}"

    @property
    def is_here(self) -> bool:
        """Whether that is this very machine, so that nothing crosses a network."""
        return _HERE.fullmatch(self.host) is not None


def is_mail_address(text: str) -> bool:
    """Whether *text* is one bare mail address in ASCII: no name, no list, no line break."""
    return _MAIL.fullmatch(text) is not None


def one_of(text: str, known: Sequence[str]) -> str:
    if text.lower() not in known:
        raise ValueError(f"write one of {', '.join(known)}")
    return text.lower()


def book(text: str) -> str:
    return one_of(text, BOOKS)


def tls(text: str) -> Tls:
    return _TLS[one_of(text, tuple(_TLS))]


def yes_no(text: str) -> bool:
    return one_of(text, ("yes", "no")) == "yes"


def zone(text: str) -> str:
    try:
        return ZoneInfo(text).key
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ValueError("write a time zone as Area/City, such as Europe/London") from None


def site(text: str) -> str:
    if not _SITE.fullmatch(text):
        raise ValueError("write up to 12 capitals, digits and hyphens, a letter first")
    return text


def host_port(text: str) -> HostPort:
    shape = _HOST_PORT.fullmatch(text)
    if not shape or not 1 <= int(shape[2]) <= 65535:
        raise ValueError("write host:port, such as 127.0.0.1:8085, the port from 1 to 65535")
    return HostPort(shape[1].strip("[]"), int(shape[2]))


def folder(text: str) -> Path:
    if not Path(text).is_absolute():
        raise ValueError("write the whole path of a folder, such as /srv/logs")
    return Path(text)


def hour(text: str) -> str:
    if not _HOUR.fullmatch(text):
        raise ValueError("write a time of day as HH:MM, from 00:00 to 23:59")
    return text


def mail(text: str) -> str:
    if not is_mail_address(text):
        raise ValueError("write one bare address, such as book@clinic.example")
    return text


def mails(text: str) -> tuple[str, ...]:
    found = tuple(part.strip() for part in text.split(",") if part.strip())
    if not found:
        raise ValueError("write at least one address")
    if odd := [part for part in found if not is_mail_address(part)]:
        raise ValueError(f"write bare addresses with commas between them; not one: {odd[0]!r}")
    return tuple(dict.fromkeys(found))


def country(text: str) -> str:
    from holidays import list_supported_countries  # half a second that few commands need

    place, _, part = text.partition("-")
    known = list_supported_countries()
    if not _COUNTRY.fullmatch(text) or place not in known or (part and part not in known[place]):
        raise ValueError(
            "write a country whose public holidays are known by its ISO 3166 code, such as GB-ENG,"
            " AU-NSW or US"
        )
    return text


def url(text: str) -> str:
    if not _URL.fullmatch(text):
        raise ValueError("write an address such as https://book.clinic.example")
    return text.rstrip("/")


def pattern(text: str) -> str:
    try:
        found = re.compile(text)
    except (re.error, OverflowError, RecursionError) as problem:
        raise ValueError(f"write a regular expression ({problem})") from None
    if found.fullmatch(""):
        raise ValueError("write an expression that an empty reference does not match")
    return text


def database(text: str) -> str:
    if text.partition("://")[0] not in _DATABASES or "://" not in text:
        raise ValueError("write a URL that begins with postgresql:// or sqlite:///")
    return text
