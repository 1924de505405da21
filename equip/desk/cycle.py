"""One load's cycle as a picture: its log, its programme, where and why it failed."""

from markupsafe import Markup

from equip.deliver.drawing import Drawn, Trouble, svg
from equip.desk import logs
from equip.desk.clinic import Clinic
from equip.rules.heat import saturation_celsius
from equip.rules.loading import Load
from equip.rules.steam import SteamProgramme
from equip.scan import show_tag
from equip.store import files
from equip.traces import Trace, UnreadableLog

_WORDS = {
    "pass": "Passed",
    "fail": "Failed",
    "undecided": "Cannot be judged, treat as not passed",
}


def picture(clinic: Clinic, load: Load) -> Markup | str:
    """The cycle as SVG, or "" where there is no log of a steam cycle to draw."""
    data = files.fetch(clinic.store, load.log) if load.log else None
    rules = clinic.house.rules(load.ended or clinic.clock())
    if data is None or load.verdict is None or load.programme not in rules.steam_programmes():
        return ""
    try:
        trace = logs.read(data, load.layout).trace
    except UnreadableLog:
        return ""
    title = f"Load {show_tag(load.load)}, {load.programme}"
    return Markup(svg(drawn(trace, rules.programme(load.programme), load, title)))  # noqa: S704


def drawn(trace: Trace, programme: SteamProgramme, load: Load, title: str) -> Drawn:
    """What the picture of this load shows; all of it from the log and its judgement."""
    steam = None
    if trace.kpa is not None:
        steam = [saturation_celsius(max(kpa, 1.0)) for kpa in trace.kpa]
    start = load.figures.get("hold_start_s")
    hold = None
    if start is not None:
        begins = float(start)
        hold = (begins, begins + float(load.figures.get("hold_s", "0")))
    spoils = [reason for reason in load.reasons if reason.at_s is not None]
    word = _WORDS[load.verdict or "undecided"]
    return Drawn(
        seconds=trace.seconds,
        celsius=trace.probes[0],
        steam=steam,
        low=programme.low_c,
        high=programme.high_c,
        hold=hold,
        troubles=[
            Trouble(float(reason.at_s or 0), reason.code.replace("-", " ")) for reason in spoils
        ]
        if load.verdict != "pass"
        else [],
        title=title,
        says=f"{word}. " + " ".join(reason.says for reason in load.reasons),
    )
