"""A machine's figures over time: control charts that warn before a limit is broken."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from markupsafe import Markup

from equip import facts
from equip.deliver.picture.chart import OddValue, Series, picture
from equip.deliver.picture.svg import svg
from equip.desk.clinic import Clinic
from equip.rulebook import Rules
from equip.rules.loads.load import Load
from equip.rules.machines import control_charts
from equip.store.ledger.about import told_about
from equip.store.readings import load_rows

_FEWEST = 8  # a mean moving range of fewer values says little
_MOST = 60
_BACK = timedelta(days=400)


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure that is charted: its name in a judgement, its words, its unit."""

    id: str
    name: str
    unit: str


FIGURES = (
    Figure("hold_min_c", "Lowest temperature in the holding time", "°C"),
    Figure("spread_max_k", "Widest spread between probes", "K"),
    Figure("theory_gap_max_k", "Saturation temperature less chamber, highest", "K"),
    Figure("hold_start_s", "Time to temperature", "s"),
)
LEAK = Figure("leak-rate", "Leak rate", "kPa/min")


@dataclass(frozen=True, slots=True)
class Point:
    """One value, when it was, and the load or entry it comes from."""

    at: datetime
    value: Decimal
    subject: str


@dataclass(frozen=True, slots=True)
class Chart:
    """One figure of one machine and programme, with its limits and what lies beyond them."""

    figure: Figure
    programme: str
    points: tuple[Point, ...]
    center: Decimal
    lower: Decimal
    upper: Decimal
    singles: tuple[Point, ...]
    drifting: tuple[Point, ...]
    picture: Markup


def charts(clinic: Clinic, machine: str, now: datetime) -> list[Chart]:
    """Every chart of a machine that has values enough, by programme; then its leak rate."""
    rules = clinic.house.rules(now)
    loads = [
        load for load in load_rows.judged_loads(clinic.store, machine, now - _BACK, now) if load.log
    ]
    found = []
    for programme in sorted({load.programme for load in loads}):
        ran_by_it = [load for load in loads if load.programme == programme]
        found += [_chart(f, programme, _points(ran_by_it, f.id), rules) for f in FIGURES]
    found.append(_chart(LEAK, "leak rate test", _leak_points(clinic, machine), rules))
    return [chart for chart in found if chart is not None]


def signals(found: Iterable[Chart]) -> list[str]:
    """What the newest value of each chart warns of, in a sentence."""
    says = []
    for chart in found:
        newest = chart.points[-1]
        if newest in chart.singles:
            says.append(f"{chart.figure.name} ({chart.programme}) lies outside its usual range.")
        elif newest in chart.drifting:
            says.append(f"{chart.figure.name} ({chart.programme}) drifts away from where it was.")
    return says


def _points(loads: Sequence[Load], figure: str) -> list[Point]:
    made = []
    for load in loads:
        at = load.ended or load.at
        if at is not None and figure in load.figures:
            made.append(Point(at, Decimal(load.figures[figure]), load.load))
    return made


def _leak_points(clinic: Clinic, machine: str) -> list[Point]:
    """The rate of each leak test, from what was read: rise ÷ time."""
    made = []
    for entry in told_about(clinic.store, machine):
        fact = entry.fact
        if isinstance(fact, facts.MachineTested) and fact.test == LEAK.id and fact.readings:
            rise = Decimal(fact.readings["end_kpa"]) - Decimal(fact.readings["start_kpa"])
            timed = Decimal(fact.readings["timed_s"])
            if timed > 0:
                made.append(Point(fact.at, rise * 60 / timed, entry.path))
    return made


def _chart(figure: Figure, programme: str, points: Sequence[Point], rules: Rules) -> Chart | None:
    """The chart of the newest values, None where there are too few to know what is usual."""
    newest = tuple(points[-_MOST:])
    if len(newest) < _FEWEST:
        return None
    values = [point.value for point in newest]
    settings = control_charts.Settings(k=rules.decimal("chart.k"), d2=rules.decimal("chart.d2"))
    single = control_charts.individuals(values, settings)
    moving = control_charts.ewma(values, rules.decimal("chart.lambda"), settings, exact=True)
    odd = [OddValue(index, "outside") for index in single.signals]
    odd += [OddValue(index, "drift") for index in moving.signals if index not in single.signals]
    series = Series(
        values=[float(value) for value in values],
        average=[float(value) for value in moving.points],
        center=float(single.center),
        lower=float(single.lower[0]),
        upper=float(single.upper[0]),
        odd=odd,
        title=f"{figure.name}, {programme}",
        unit=figure.unit,
        first=f"{newest[0].at:%d %b %Y}",
        last=f"{newest[-1].at:%d %b %Y}",
    )
    return Chart(
        figure=figure,
        programme=programme,
        points=newest,
        center=single.center,
        lower=single.lower[0],
        upper=single.upper[0],
        singles=tuple(newest[index] for index in single.signals),
        drifting=tuple(newest[index] for index in moving.signals),
        picture=Markup(svg(picture(series), "chart")),  # noqa: S704 — drawn by us, escaped
    )
