"""A machine's process out of the form of its type: text to values, faults by the field's name."""

from decimal import Decimal
from typing import Literal, get_args

from equip import facts, typed
from equip.desk.act.act import Refused
from equip.desk.register.machine_limits import NAMES
from equip.typed import Mistyped
from equip.web.request.forms import chosen, text, whole

HEATS = {"steam": "steam", "hot-water": "hot water", "none": "no heat"}
STEPS: tuple[facts.Step, ...] = get_args(facts.Step)
ROWS = 8
"""The most programmes that a machine has."""


def read_process(sort: str, before: facts.Process | None) -> facts.Process | None:
    """What the form says a machine does to a load; as it was where the form did not ask.

    A machine with neither a step nor a programme runs no loads.
    """
    if not text("asks_process"):
        return before
    steps = _steps(before.steps if before else ())
    programmes = tuple(_programmes())
    if not steps and not programmes:
        return None
    if sort != "machine":
        raise Refused("Only a machine runs loads: take its steps and programmes away.")
    return facts.Process(
        steps=steps,
        heat=_heat(),
        vacuum=bool(text("vacuum")),
        litres=whole("litres"),
        programmes=programmes,
        limits=_limits(),
        minutes=whole("minutes"),
        holds=whole("holds"),
    )


def _steps(before: tuple[facts.Step, ...]) -> tuple[facts.Step, ...]:
    """Those that are ticked, in the order that they had; a new one comes after them."""
    order = dict.fromkeys((*before, *STEPS))
    return tuple(step for step in order if text(f"does_{step}"))


def _heat() -> Literal["steam", "hot-water", "none"]:
    return chosen("heat", tuple(HEATS))  # type: ignore[return-value]


def _programmes() -> list[facts.Programme]:
    """The rows of the form that name a programme, in their order."""
    return [
        facts.Programme(
            judged_by=name.lower(),
            name=text(f"programme_{row}_name"),
            wrapped=bool(text(f"programme_{row}_wrapped")),
            hollow=bool(text(f"programme_{row}_hollow")),
        )
        for row in range(1, ROWS + 1)
        if (name := text(f"programme_{row}_judged_by", 60))
    ]


def _limits() -> facts.Limits | None:
    found = facts.Limits(
        pulses=whole("pulses") or None,
        vacuum_kpa=_number("vacuum_kpa"),
        steam_kpa=_number("steam_kpa"),
        drying_kpa=_number("drying_kpa"),
        drying_s=whole("drying_s") or None,
        wash_low_c=_number("wash_low_c"),
        wash_high_c=_number("wash_high_c"),
        flush_high_c=_number("flush_high_c"),
        dosing=bool(text("dosing")),
        run_s=whole("run_s") or None,
        bath_high_c=_number("bath_high_c"),
    )
    return None if found == facts.Limits() else found


def _number(name: str) -> Decimal | None:
    """A limit as an exact number, None if the field is empty; what is wrong names the limit."""
    given = text(name, 20)
    try:
        return typed.decimal(given) if given else None
    except Mistyped as problem:
        raise Refused(f"“{NAMES[name][0]}”: {problem}") from None
