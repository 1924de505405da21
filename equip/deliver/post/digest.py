"""The daily letter: what is overdue, due and coming, and the newest seals of the ledger.

Pure text. It goes by plain mail, so nothing that names a patient may be handed in.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from equip.rules import wording
from equip.rules.upkeep.due import Standing

AHEAD = timedelta(days=14)
_WHY_SEALS = """\
Keep this letter. Each seal stands for every entry of that site up to that position: if an entry
is ever changed or cut off the end, the ledger no longer leads to the seal above, and whoever
holds this letter can prove it."""


@dataclass(frozen=True, slots=True)
class DueLine:
    """One duty of one thing. *stops* says that the thing may not be used until it is done.

    *says* is what its being overdue means, where it is no thing's duty.
    """

    what: str
    duty: str
    day: date
    standing: Standing
    stops: bool = False
    place: str = ""
    says: str = ""


@dataclass(frozen=True, slots=True)
class HeadLine:
    """The newest entry of a site's ledger: its position and its seal in hexadecimal."""

    site: str
    position: int
    seal: str


def digest(
    day: date,
    site_name: str,
    due: Sequence[DueLine],
    heads: Sequence[HeadLine],
    alerts: Sequence[str] = (),
) -> tuple[str, str]:
    """Subject and text for *day*: alerts, overdue, due today, the next 14 days, the seals.

    It is written on quiet days as well, since the seals have to leave the house every day.
    """
    late = [line for line in due if line.standing == "overdue"]
    today = [line for line in due if line.standing == "due"]
    coming = [line for line in due if line.standing == "ok" and line.day <= day + AHEAD]
    subject = f"{site_name}, {_said(day, day)}: {_summed_up(late, today, alerts)}"
    blocks = [
        f"{site_name}, {_said(day, day)} {day.year}",
        _block("To be looked at", alerts),
        _block("Overdue", (_overdue(line, day) for line in _sorted(late))),
        _block("Due today", (_named(line) for line in _sorted(today))),
        _block(
            f"In the next {AHEAD.days} days",
            (f"{_said(line.day, day)}: {_named(line)}" for line in _sorted(coming)),
        ),
        ""
        if late or today or coming
        else f"Nothing is overdue, and nothing falls due in the next {AHEAD.days} days.",
        _block("Seals of the ledger", (f"{h.site} {h.position} {h.seal}" for h in heads), "  "),
        _WHY_SEALS if heads else "",
    ]
    return subject, "\n\n".join(block for block in blocks if block) + "\n"


def _summed_up(late: Sequence[DueLine], today: Sequence[DueLine], alerts: Sequence[str]) -> str:
    counts = ((len(alerts), "to be looked at"), (len(late), "overdue"), (len(today), "due today"))
    return ", ".join(f"{count} {word}" for count, word in counts if count) or "nothing due"


def _sorted(lines: Iterable[DueLine]) -> list[DueLine]:
    return sorted(lines, key=lambda line: (line.day, line.what, line.duty))


def _block(title: str, lines: Iterable[str], mark: str = "- ") -> str:
    """A title and its lines; nothing at all where there are none."""
    told = [f"{mark}{line}" for line in lines]
    return "\n".join([f"{title}:", *told]) if told else ""


def _named(line: DueLine) -> str:
    place = f" ({line.place})" if line.place else ""
    return f"{line.what}{place}: {line.duty}"


def _overdue(line: DueLine, day: date) -> str:
    stops = "It may not be used until this is done." if line.stops else "It may still be used."
    return f"{_named(line)}, since {_said(line.day, day)}. {line.says or stops}"


def _said(day: date, today: date) -> str:
    return wording.day(_midnight(day), _midnight(today))


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time(0), UTC)
