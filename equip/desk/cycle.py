"""One load's cycle as a picture and as a table: its log, its programme, where and why it failed."""

from dataclasses import dataclass

from markupsafe import Markup

from equip.deliver.drawing import NARROW, SCREEN, picture
from equip.deliver.drawn import Drawn
from equip.deliver.svg import svg
from equip.deliver.tabled import Tabled, tabled
from equip.desk import logs
from equip.desk.clinic import Clinic
from equip.desk.curves import drawn
from equip.rulebook import programme_of
from equip.rules.loading import Load
from equip.scan import show_tag
from equip.store import files
from equip.traces import UnreadableLog

_WORDS = {
    "pass": "Passed",
    "fail": "Failed",
    "undecided": "Cannot be judged, treat as not passed",
}


@dataclass(frozen=True, slots=True)
class Shown:
    """The picture for a wide screen and for a narrow one, and what it shows as a table."""

    wide: Markup
    narrow: Markup
    table: Tabled


def shown(clinic: Clinic, load: Load) -> Shown | None:
    """What a page shows of a load's cycle, None where there is no judged log."""
    found = drawn_of(clinic, load)
    if found is None:
        return None
    wide = svg(picture(found, SCREEN), "cycle-wide")
    narrow = svg(picture(found, NARROW), "cycle-narrow")
    return Shown(Markup(wide), Markup(narrow), tabled(found))  # noqa: S704 — drawn by us, escaped


def drawn_of(clinic: Clinic, load: Load) -> Drawn | None:
    """What there is to draw of a load, None where there is no judged log."""
    data = files.fetch(clinic.store, load.log) if load.log else None
    if data is None or load.verdict is None:
        return None
    programme = programme_of(load.programme, load.rules)
    if programme is None:
        return None
    try:
        trace = logs.read(data, load.layout).trace
    except UnreadableLog:
        return None
    title = f"Load {show_tag(load.load)}, {load.programme}"
    return drawn(trace, programme, load, title, in_words(load))


def in_words(load: Load) -> str:
    """The verdict and every reason, for those who cannot see a picture."""
    word = _WORDS[load.verdict or "undecided"]
    return f"{word}. " + " ".join(reason.says for reason in load.reasons)
