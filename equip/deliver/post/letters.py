"""Letters to one person: the daily digest of what is new to them, what stops, what happened.

Pure text by plain mail, so nothing that names a patient may be handed in.
"""

from collections.abc import Sequence
from datetime import date

from equip.deliver.post.digest import DueLine

_STILL = "This letter comes although reminders were stopped: what it says can hurt somebody."


def personal(
    day: date, site_name: str, new: Sequence[DueLine], open_still: Sequence[DueLine], stop: str
) -> tuple[str, str]:
    """Subject and text of one person's digest: what is new to them first."""
    over = sum(line.standing == "overdue" for line in new)
    ahead = len(new) - over
    said = [f"{over} overdue"] if over else []
    said += [f"{ahead} coming due"] if ahead else []
    blocks = [f"{site_name}, {day:%A} {day.day} {day:%B %Y}"]
    blocks += _block("New since the last letter", [_line(line) for line in new])
    blocks += _block("Still overdue", [_line(line) for line in open_still])
    blocks += [
        f"No more of these letters: {stop}\nWhat may not be used is told all the same."
        if stop
        else "Whoever looks after the book can stop these letters."
    ]
    return f"{site_name}: {', '.join(said)}", "\n\n".join(blocks) + "\n"


def stopping(
    site_name: str, soon: Sequence[DueLine], now: Sequence[DueLine], *, stopped: bool
) -> tuple[str, str]:
    """Subject and text of what may not be used any more, or soon: it goes out at once."""
    said = [f"{len(now)} may not be used"] if now else []
    said += [f"{len(soon)} about to be stopped"] if soon else []
    blocks = _block("May not be used until this is done", [_line(line) for line in now])
    blocks += _block("May not be used after the day named", [_line(line) for line in soon])
    blocks += [_STILL] if stopped else []
    return f"{site_name}: {', '.join(said)}", "\n\n".join(blocks) + "\n"


def alert(site_name: str, says: str, *, stopped: bool) -> tuple[str, str]:
    """Subject and text of something that happened and cannot wait."""
    subject = says if len(says) <= 80 else f"{says[:79].rsplit(' ', 1)[0]} …"
    blocks = [says, *([_STILL] if stopped else []), "The Instrument Book"]
    return f"{site_name}: {subject}", "\n\n".join(blocks) + "\n"


def overtaken(text: str, gone: Sequence[str]) -> str:
    """A letter that waited, with what is no longer due since it was written said first."""
    return "\n\n".join([*_block("No longer due since this letter was written", gone), text])


def _block(title: str, lines: Sequence[str]) -> list[str]:
    return ["\n".join([f"{title}:", *(f"- {line}" for line in lines)])] if lines else []


def _line(line: DueLine) -> str:
    place = f" ({line.place})" if line.place else ""
    when = "since" if line.standing == "overdue" else "on"
    says = " It may not be used until this is done." if line.stops else ""
    if line.says and line.standing == "overdue":
        says = f" {line.says}"
    day = f"{line.day:%a} {line.day.day} {line.day:%b %Y}"
    return f"{line.what}{place}: {line.duty}, due {when} {day}.{says}"
