"""One load's cycle as a picture and as a table: its log, its programme, where and why it failed."""

from dataclasses import dataclass

from markupsafe import Markup

from equip.deliver.picture.cycle import Drawn
from equip.deliver.picture.layout import NARROW, SCREEN, picture
from equip.deliver.picture.svg import svg
from equip.deliver.picture.table import Tabled, tabled
from equip.deliver.picture.thinning import unbroken
from equip.desk.clinic import Clinic
from equip.desk.cycles import logs
from equip.desk.cycles.picture.curves import troubles
from equip.desk.cycles.picture.steam import steam_events, steam_panels
from equip.desk.cycles.picture.washer import water_events, water_panels
from equip.logs.plain import Trace, UnreadableLog
from equip.rulebook.cycles import programme_of
from equip.rules.cycles.boundaries import as_boundaries
from equip.rules.cycles.runs import hole_over
from equip.rules.cycles.steam.judge import SteamProgramme
from equip.rules.cycles.washer.a0 import running_a0
from equip.rules.cycles.washer.log import ThermalProgramme, look
from equip.rules.cycles.washer.wet import recut
from equip.rules.loads.load import Load
from equip.scan import show_tag
from equip.store.kept import files

_WORDS = {
    "pass": "Passed",
    "fail": "Failed",
    "undecided": "Cannot be judged, treat as not passed",
}


@dataclass(frozen=True, slots=True)
class CycleShown:
    """The picture for a wide screen and for a narrow one, and what it shows as a table."""

    wide: Markup
    narrow: Markup
    table: Tabled


def shown(clinic: Clinic, load: Load) -> CycleShown | None:
    """What a page shows of a load's cycle, None where there is no judged log."""
    found = drawn_of(clinic, load)
    if found is None:
        return None
    wide = svg(picture(found, SCREEN), "cycle-wide")
    narrow = svg(picture(found, NARROW), "cycle-narrow")
    return CycleShown(Markup(wide), Markup(narrow), tabled(found))  # noqa: S704 — drawn by us, escaped


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
    return drawn(trace, programme, load, title)


def drawn(
    trace: Trace, programme: SteamProgramme | ThermalProgramme, load: Load, title: str
) -> Drawn:
    """Everything the picture of this load shows, from its log and its judgement.

    The limits are those that the judgement kept, and the stages those that it was judged by, also
    where somebody corrected them: nothing else is shown than what decided.
    """
    longest_gap = hole_over(trace.seconds, programme.hole_s, programme.hole_factor)
    whole = unbroken(trace.seconds, longest_gap)
    if isinstance(programme, SteamProgramme):
        panels = tuple(steam_panels(trace, programme, load, whole))
        events = tuple(steam_events(trace, load))
    else:
        seen = recut(look(trace, programme), as_boundaries(load.boundaries).drying_begins_s)
        so_far = running_a0(seen, programme)
        panels = tuple(water_panels(seen, programme, so_far, whole))
        events = tuple(water_events(seen, programme, so_far))
    return Drawn(panels, tuple(troubles(load.reasons)), events, title, _in_words(load))


def _in_words(load: Load) -> str:
    """The verdict and every reason, for those who cannot see a picture."""
    word = _WORDS[load.verdict or "undecided"]
    return f"{word}. " + " ".join(reason.says for reason in load.reasons)
