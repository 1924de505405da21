"""What each figure of a cycle is called, how it is said, and what a difference in it may mean."""

import re
from dataclasses import dataclass, replace
from typing import Literal

from equip.rules.wording import span

Kind = Literal["count", "time", "hold", "vacuum", "temperature", "gap", "stage", "a0"]


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure. *less* and *more* ask what it may mean to lie below or above; "" asks nothing.

    *each* says that there is one for every pulse or stage, *asks_if_gone* that a log without it
    is asked about.
    """

    id: str
    name: str
    unit: str
    kind: Kind
    less: str = ""
    more: str = ""
    each: bool = False
    asks_if_gone: bool = False

    @property
    def code(self) -> str:
        return "likeness-" + re.sub(r"_(?:s|c|k|kpa)$", "", self.id).replace("_", "-")


_SETTINGS = "Were its settings changed, or was it another programme?"
_SENSOR = "Does a sensor drift, or were its settings changed?"

_FIGURES = (
    Figure(
        "pulses",
        "Pulses of the air removal",
        "",
        "count",
        "Was the air removal cut short, or was it another programme?",
        "Was a pulse repeated, or was it another programme?",
    ),
    Figure(
        "vacuum_kpa",
        "Vacuum",
        "kPa",
        "vacuum",
        more="Is there a leak, a wet load or a weak pump, so that air stayed in?",
        each=True,
    ),
    Figure(
        "air_removal_s",
        "Air removal",
        "s",
        "time",
        "Was the air removal cut short, or was it another programme?",
        "Is there a leak, a wet load or a weak pump?",
    ),
    Figure(
        "heat_up_s",
        "Heating",
        "s",
        "time",
        "Was less in it, or was the chamber still hot?",
        "Was more in it, were the things colder, or was there too little steam or heat?",
    ),
    Figure("hold_s", "Holding time", "s", "hold", _SETTINGS, _SETTINGS),
    Figure("hold_min_c", "Lowest of the holding time", "°C", "temperature", _SENSOR, _SENSOR),
    Figure("hold_max_c", "Highest of the holding time", "°C", "temperature", _SENSOR, _SENSOR),
    Figure(
        "theory_gap_k",
        "Saturation temperature less chamber",
        "K",
        "gap",
        "Is the steam superheated, or does a sensor drift?",
        "Did air stay in, or does a sensor drift?",
    ),
    Figure(
        "venting_s",
        "Venting",
        "s",
        "time",
        more="Is a filter or the drain blocked, or is the load wet?",
        asks_if_gone=True,
    ),
    Figure(
        "drying_s",
        "Drying",
        "s",
        "time",
        "Was the drying cut short: are the packs dry?",
        asks_if_gone=True,
    ),
    Figure(
        "drying_min_kpa",
        "Lowest pressure of the drying",
        "kPa",
        "vacuum",
        more="Is there a leak or a wet load: are the packs dry?",
    ),
    Figure(
        "stages",
        "Stages",
        "",
        "count",
        "Was a stage left out, or was it another programme?",
        "Was a stage repeated, or was it another programme?",
    ),
    Figure(
        "stage_c",
        "Hottest of stage",
        "°C",
        "stage",
        "Was the water cold, or too much in it?",
        "Was the water too hot, so that soil sets, or was it another programme?",
        each=True,
    ),
    Figure("stage_s", "Length of stage", "s", "time", _SETTINGS, each=True),
    Figure("a0_s", "A0", "s", "a0", "Was it held for less time, or at less heat?"),
)
_BY_ID = {figure.id: figure for figure in _FIGURES}
_NUMBERED = re.compile(r"(?P<what>vacuum|stage)_(?P<number>[0-9]+)_(?P<unit>[a-z]+)")


def figure_of(name: str) -> Figure:
    """The figure that a profile calls *name*; of a numbered one, that one."""
    numbered = _NUMBERED.fullmatch(name)
    if numbered is None:
        return _BY_ID[name]
    general = _BY_ID[f"{numbered['what']}_{numbered['unit']}"]
    return replace(general, id=name, name=f"{general.name} {numbered['number']}")


def shown(value: float, figure: Figure) -> str:
    """A value as people say it: "3 min 25 s", "7.9 kPa", "3"."""
    if figure.unit == "s" and figure.kind != "a0":
        return span(value)
    if figure.kind in ("count", "a0"):
        return f"{value:.0f} {figure.unit}".rstrip()
    return f"{round(value, 1) + 0.0:.1f} {figure.unit}".replace("-", "−")
