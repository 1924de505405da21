"""A log judged by whatever family its programme belongs to: one door for every caller."""

from decimal import Decimal

from equip.rulebook.book import Rules
from equip.rules import steam, thermal
from equip.rules.verdict import Judgement
from equip.traces import Trace


def judge(
    rules: Rules,
    programme: str,
    trace: Trace,
    *,
    uncertainty_k: float | None = None,
    band_width: Decimal | None = None,
    chamber_litres: float | Decimal | None = None,
) -> Judgement:
    """The judgement of *trace* by *programme* of *rules*; UnknownProgramme if there is none.

    A band (kelvin) and a chamber (litres) mean nothing to hot water and change nothing there.
    """
    if programme in rules.thermal_programmes():
        limits = rules.thermal_programme(programme)
        return thermal.judge(trace, limits, uncertainty_k=uncertainty_k)
    band = rules.programme(programme, band_width=band_width, chamber_litres=chamber_litres)
    return steam.judge(trace, band, uncertainty_k=uncertainty_k)


def judge_version(rules: Rules, programme: str) -> str:
    """The version of the judge that `judge` asks."""
    return thermal.VERSION if programme in rules.thermal_programmes() else steam.VERSION
