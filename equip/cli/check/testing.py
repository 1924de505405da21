"""Checks of what proves a machine: `leak`, `indicator`, `spore`, `chart`."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, Literal, cast

from equip.cli.check import reading as read
from equip.cli.check.answering import Answer, Checks, because, judged
from equip.cli.check.reading import Given, Unreadable
from equip.rulebook import Rules
from equip.rulebook.measuring import LEAK, leak_limits
from equip.rules.machines import control_charts, indicators, leak_and_spores

_SPORES = ("negative", "positive", "invalid")


def leak(given: Given, rules: Rules) -> Answer:
    """A vacuum leak test in exact decimals; numbers or decimal texts."""
    read.only(given, "start_kpa", "end_kpa", "settle_s", "timed_s")
    start = read.exact_needed(given, "start_kpa", text=True)
    end = read.exact_needed(given, "end_kpa", text=True)
    timed = read.exact_needed(given, "timed_s", text=True, above=0)
    settled = read.exact(given, "settle_s", text=True, least=0)
    return judged(
        leak_and_spores.why_leaking(start, end, timed, settled, leak_limits(rules)),
        [rules[rule] for rule in LEAK],
        rate_kpa_min=float(leak_and_spores.leak_rate(start, end, timed)),
    )


def indicator(given: Given, rules: Rules) -> Answer:
    """Whether a chemical indicator suits a steam programme; with its “result”, what that adds."""
    read.only(given, "type", "stated_celsius", "stated_s", "programme", "result")
    kind = read.whole(given, "type", least=1)
    if kind not in indicators.TYPES:
        so = "missing" if kind is None else "not known here"
        raise Unreadable(f"“type” is {so}; give a type of ISO 11140-1 from 1 to 6.")
    stated = indicators.Indicator(
        type=kind,
        stated_celsius=read.exact(given, "stated_celsius"),
        stated_s=read.exact(given, "stated_s", least=0),
    )
    used, promised = _promised(given, rules)
    suited, reasons = indicators.suits(stated, promised)
    result = cast(Literal["pass", "fail"] | None, read.word(given, "result", ("pass", "fail")))
    reasons += indicators.of_the_result(suited, result)
    return judged(reasons, [rules[rule] for rule in used], suited=suited)


def _promised(given: Given, rules: Rules) -> tuple[Sequence[str], indicators.Promised]:
    steam = [name.removesuffix(".hold") for name in rules if name.endswith(".hold")]
    name = read.word_needed(given, "programme", [one for one in steam if f"{one}.low" in rules])
    used = (f"{name}.low", f"{name}.hold")
    low, hold = (rules.decimal(rule) for rule in used)
    return used, indicators.Promised(name, celsius=low, hold_s=hold)


def spore(given: Given, rules: Rules) -> Answer:
    """Which loads the spore tests put in doubt, and whether the machine may be used again."""
    read.only(given, "process", "loads", "defect", "wrong_settings", "repeats")
    process = cast(leak_and_spores.Process, read.word_needed(given, "process", ("steam", "other")))
    loads = _loads(given)
    used = rules[f"spore.negatives-{process}"]
    doubt = leak_and_spores.scope_of_doubt(
        process,
        loads,
        defect=bool(read.flag(given, "defect")),
        wrong_settings=_known_loads(given, {one.load for one in loads}),
        repeats=[_spore(value, so) for value, so in read.listed(given, "repeats", "results")],
        negatives_needed=rules.whole(used.id),
    )
    return {
        "in_doubt": list(doubt.in_doubt),
        "back_in_service": doubt.back_in_service,
        "unused_stock_held": doubt.unused_stock_held,
        **because(doubt.reasons, [used]),
    }


def _loads(given: Given) -> list[leak_and_spores.SporeLoad]:
    loads = [_load(value, so) for value, so in read.listed(given, "loads", "loads")]
    if not loads:
        raise Unreadable("“loads” is missing or empty; give the loads in the order they ran.")
    if len({one.load for one in loads}) < len(loads):
        raise Unreadable("“loads” names a load twice; give each once, in the order they ran.")
    return loads


def _load(value: object, so: str) -> leak_and_spores.SporeLoad:
    if not isinstance(value, Mapping):
        raise Unreadable(f"{so} is {read.called(value)}; give an object with “load” and “spore”.")
    read.only(value, "load", "spore", so=so)
    spore = value.get("spore")
    return leak_and_spores.SporeLoad(
        load=_name(value.get("load"), f"{so[:-1]}.load”"),
        spore=None if spore is None else _spore(spore, f"{so[:-1]}.spore”"),
    )


def _name(value: object, so: str) -> str | int:
    if isinstance(value, bool) or not isinstance(value, str | int) or value == "":
        raise Unreadable(
            f"{so} is {read.called(value)}; give the load's name, or its number without a fraction."
        )
    return value


def _spore(value: object, so: str) -> leak_and_spores.Spore:
    return cast(leak_and_spores.Spore, read.one_of(value, so, _SPORES))


def _known_loads(given: Given, known: set[str | int]) -> list[str | int]:
    wrong = [_name(value, so) for value, so in read.listed(given, "wrong_settings", "loads")]
    if not known.issuperset(wrong):
        raise Unreadable("“wrong_settings” names a load that is not among “loads”; add or mend it.")
    return wrong


def chart(given: Given, rules: Rules) -> Answer:
    """A control chart of a list of values: individuals or exponentially weighted means."""
    read.only(given, "values", "kind", "lambda", "center", "sigma", "k", "exact_limits")
    kind = read.word_needed(given, "kind", ("individuals", "ewma"))
    values = read.exacts(given, "values")
    if not values:
        raise Unreadable("“values” is empty; give at least one value.")
    per_value = bool(read.flag(given, "exact_limits"))
    used, settings = _settings(given, rules)
    try:
        if kind == "individuals":
            drawn = control_charts.individuals(values, settings)
        else:
            used, weight = _weight(given, rules, used)
            drawn = control_charts.ewma(values, weight, settings, exact=per_value)
    except ValueError as fault:
        raise Unreadable(str(fault)) from fault
    return {
        "center": float(drawn.center),
        "ucl": _limit(drawn.upper, per_value=per_value),
        "lcl": _limit(drawn.lower, per_value=per_value),
        "points": [float(point) for point in drawn.points],
        "signals": list(drawn.signals),
        **because([], [rules[rule] for rule in used]),
    }


def _settings(given: Given, rules: Rules) -> tuple[list[str], control_charts.Settings]:
    """The settings of a chart, and the rules behind what was not given."""
    k = None if given.get("k") is None else read.exact_needed(given, "k", above=0)
    sigma = None if given.get("sigma") is None else read.exact_needed(given, "sigma", above=0)
    settings = control_charts.Settings(
        k=rules.decimal("chart.k") if k is None else k,
        d2=rules.decimal("chart.d2"),
        center=read.exact(given, "center"),
        sigma=sigma,
    )
    defaults = {"chart.k": k, "chart.d2": sigma}
    return [rule for rule, own in defaults.items() if own is None], settings


def _weight(given: Given, rules: Rules, used: list[str]) -> tuple[list[str], Decimal]:
    if given.get("lambda") is None:
        return [*used, "chart.lambda"], rules.decimal("chart.lambda")
    return used, read.exact_needed(given, "lambda", above=0, most=1)


def _limit(limits: Sequence[Decimal], *, per_value: bool) -> Any:
    return [float(limit) for limit in limits] if per_value else float(limits[0])


CHECKS = Checks(
    figures={}, by_rules={"leak": leak, "indicator": indicator, "spore": spore, "chart": chart}
)
