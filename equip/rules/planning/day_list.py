"""A day's list as it is typed, `09:00 both ears` a line: times and kinds of procedure, no names."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from equip.typed import Mistyped, minute_of_day

MOST = 200
_LINE = re.compile(r"(?P<time>\d{1,2}[:.]?\d{2})(?:[\s,;]+(?P<kind>.*))?", re.A)


@dataclass(frozen=True, slots=True)
class Listed:
    """One line that was read: its number, the minute of the day, the code of the procedure."""

    number: int
    at: int
    kind: str


@dataclass(frozen=True, slots=True)
class Unread:
    """One line that was not: what is wrong with it and what to do."""

    number: int
    says: str


def read_list(
    text: str, kinds: Mapping[str, str], earliest: int = 0
) -> tuple[list[Listed], list[Unread]]:
    """Every line that says something, read or not; *kinds* are codes by name, as people write them.

    What is before *earliest*, a minute of the day, is over. Two spaces or capitals do not matter.
    """
    names = {_plain(name): code for name, code in kinds.items()}
    names |= {_plain(code): code for code in kinds.values()}
    read: list[Listed] = []
    unread: list[Unread] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        found = _read(number, line.strip(), names, kinds, earliest)
        if isinstance(found, Listed):
            read.append(found)
        else:
            unread.append(found)
    if len(read) > MOST:
        says = f"{len(read)} procedures were read; {MOST} is the most for one list. Split it."
        unread.append(Unread(read[MOST].number, says))
    return sorted(read, key=lambda one: (one.at, one.number)), unread


def _read(
    number: int, line: str, names: Mapping[str, str], kinds: Mapping[str, str], earliest: int
) -> Listed | Unread:
    found = _LINE.fullmatch(line)
    if found is None:
        says = (
            "It does not begin with a time. Write the time, then the procedure: “09:00 both ears”."
        )
        return Unread(number, says)
    try:
        minute = minute_of_day(found["time"])
    except Mistyped:
        says = f"{found['time']} is no time of day. Write it from 00:00 to 23:59."
        return Unread(number, says)
    code = names.get(_plain(found["kind"] or ""))
    if code is None:
        return Unread(number, _no_kind(found["kind"] or "", kinds))
    if minute < earliest:
        at = f"{minute // 60:02}:{minute % 60:02}"
        return Unread(number, f"{at} is over. Take the line out, or choose another day.")
    return Listed(number, minute, code)


def _no_kind(typed: str, kinds: Mapping[str, str]) -> str:
    if not kinds:
        return "No procedure is defined yet. A manager does that under Setup, Procedures."
    known = ", ".join(f"“{name}”" for name in kinds)
    if not typed:
        return f"The procedure is missing. Write one of {known} after the time."
    return f"What stands after the time is no procedure. Write one of {known}, and no names."


def _plain(text: str) -> str:
    return " ".join(text.replace("-", " ").casefold().split())
