"""One cycle beside the machine's own reference cycle: what differs, as questions to a person.

The reference is a cycle that somebody chose as validated for this machine and programme. A
difference condemns nothing and clears nothing: the verdict is the judge's. Whoever releases is
asked what it was, with what it may have been.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from equip.rules.cycles.measured_stages import Profile
from equip.rules.cycles.reference_words import Figure, figure_of, shown
from equip.rules.cycles.runs import INSTANT_S
from equip.rules.verdict import Reason
from equip.rules.wording import span


@dataclass(frozen=True, slots=True)
class Tolerances:
    """How far a figure may be off before it is asked about; each number from a dated rule.

    A stage's length may be off by *time_s* or *time_share* of the reference, whichever is more.
    """

    time_s: float
    time_share: float
    hold_s: float
    vacuum_kpa: float
    hold_k: float
    theory_gap_k: float
    stage_k: float
    a0_share: float
    curve_k: float
    curve_window_s: float


@dataclass(frozen=True, slots=True)
class ComparedRow:
    """One figure of both cycles; None where a log does not show it. *question* if it asks one."""

    figure: Figure
    reference: float | None
    here: float | None
    allowed: float
    question: Reason | None = None

    @property
    def reference_shown(self) -> str:
        return _or_not(self.reference, self.figure)

    @property
    def here_shown(self) -> str:
        return _or_not(self.here, self.figure)


def _or_not(value: float | None, figure: Figure) -> str:
    return "not in the log" if value is None else shown(value, figure)


def compare(
    reference: Profile,
    here: Profile,
    tolerances: Tolerances,
    grown: Mapping[str, float] | None = None,
) -> list[ComparedRow]:
    """Every figure of both, in the order of the cycle.

    *grown* is by how much a figure is expected to lie above the reference's because this load
    holds more than that one did (below nought: less).
    """
    names = [*reference.figures, *(n for n in here.figures if n not in reference.figures)]
    rows = []
    for name in names:
        figure = figure_of(name)
        if figure.each and not _as_many(reference, here):
            continue
        found = (reference.figures.get(name), here.figures.get(name))
        more = (grown or {}).get(name, 0.0)
        rows.append(_row(figure, *found, more, tolerances))
    return rows


def _as_many(reference: Profile, here: Profile) -> bool:
    """Whether both have as many pulses or stages, so that each has its like."""
    return all(
        reference.figures.get(count) == here.figures.get(count) for count in ("pulses", "stages")
    )


def _row(
    figure: Figure, reference: float | None, here: float | None, more: float, by: Tolerances
) -> ComparedRow:
    if reference is None or here is None:
        gone = reference is not None and here is None and figure.asks_if_gone
        question = _gone(figure, reference) if gone and reference is not None else None
        return ComparedRow(figure, reference, here, 0.0, question)
    expected = reference + more
    allowed = _allowed(figure, expected, by)
    apart = here - expected
    meaning = figure.less if apart < 0 else figure.more
    if not meaning or abs(apart) <= allowed + INSTANT_S:
        return ComparedRow(figure, reference, here, allowed)
    grown = f", about {shown(expected, figure)} for as many things as here" if more else ""
    says = (
        f"{figure.name}: {shown(here, figure)}; in the reference cycle "
        f"{shown(reference, figure)}{grown}. {meaning}"
    )
    return ComparedRow(figure, reference, here, allowed, Reason(figure.code, says, spoils="pass"))


def _gone(figure: Figure, reference: float) -> Reason:
    says = (
        f"{figure.name}: not to be found in this log; in the reference cycle "
        f"{shown(reference, figure)}. Did the cycle or its log stop too soon, or was it left out?"
    )
    return Reason(figure.code, says, spoils="pass")


def _allowed(figure: Figure, expected: float, by: Tolerances) -> float:
    return {
        "count": 0.0,
        "time": max(by.time_s, by.time_share * expected),
        "hold": by.hold_s,
        "vacuum": by.vacuum_kpa,
        "temperature": by.hold_k,
        "gap": by.theory_gap_k,
        "stage": by.stage_k,
        "a0": by.a0_share * expected,
    }[figure.kind]


# --- the curve of the heating -----------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Apart:
    """Where in the heating two curves lie furthest apart: seconds into it, kelvin above the
    reference (below nought: colder)."""

    at_s: float
    kelvin: float


def furthest(reference: Profile, here: Profile, window_s: float) -> Apart | None:
    """The greatest distance between the heatings at the same share of each.

    A reading is held against all that the reference had within *window_s* of that moment, so
    that a steep curve a few seconds early is not far off. None if either has no heating.
    """
    if reference.heating is None or here.heating is None:
        return None
    begun, span_s = _ends(reference)
    at, length_s = _ends(here)
    if not span_s or not length_s:
        return None
    found = Apart(0.0, 0.0)
    for index in range(here.heating.first, here.heating.last + 1):
        into = here.seconds[index] - at
        moment = begun + into / length_s * span_s
        low, high = _between(reference, moment - window_s, moment + window_s)
        value = here.celsius[index]
        kelvin = min(value - low, 0.0) + max(value - high, 0.0)
        if abs(kelvin) > abs(found.kelvin):
            found = Apart(into, kelvin)
    return found


def heating_asks(apart: Apart | None, curve_k: float) -> Reason | None:
    """A question if the heating went another way than that of the reference."""
    if apart is None or abs(apart.kelvin) <= curve_k:
        return None
    word = "colder" if apart.kelvin < 0 else "hotter"
    why = (
        "Did the steam or the heating fail for a while?"
        if apart.kelvin < 0
        else "Was the chamber still hot, or was there little in it?"
    )
    says = (
        f"{span(apart.at_s)} into the heating it was {abs(apart.kelvin):.1f} K {word} than the "
        f"reference cycle at that share of it. {why}"
    )
    return Reason("likeness-curve", says, spoils="pass")


def _ends(profile: Profile) -> tuple[float, float]:
    """When the heating began, and how long it took."""
    assert profile.heating is not None  # noqa: S101 — asked before
    begun = profile.seconds[profile.heating.first]
    return begun, profile.seconds[profile.heating.last] - begun


def _between(profile: Profile, since: float, until: float) -> tuple[float, float]:
    """Lowest and highest reading from *since* to *until*, with the one before and after."""
    seconds: Sequence[float] = profile.seconds
    first = max(bisect_left(seconds, since) - 1, 0)
    part = profile.celsius[first : bisect_right(seconds, until) + 1]
    return min(part), max(part)
