"""An axis: where a value stands along it, where it has its ticks, and what is written at them."""

import math
from dataclasses import dataclass

_TIMES = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 28800, 86400)
_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True, slots=True)
class Scale:
    """Values from *low* to *high* along a straight line from *begins* to *ends* of the picture."""

    low: float
    high: float
    begins: float
    ends: float

    def at(self, value: float) -> float:
        """Where a value stands."""
        share = (value - self.low) / (self.high - self.low)
        return self.begins + share * (self.ends - self.begins)

    def value(self, at: float) -> float:
        """Which value stands there."""
        share = (at - self.begins) / (self.ends - self.begins)
        return self.low + share * (self.high - self.low)


def value_ticks(low: float, high: float, most: int) -> list[float]:
    """Round values from *low* to *high*, at most *most* of them and at least two."""
    rough = (high - low) / max(most, 2)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * s for s in _STEPS if power * s >= rough * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    count = math.floor(high / step + 1e-9) - first
    return [round((first + n) * step, 9) for n in range(count + 1)]


def time_step(seconds: float, most: int) -> int:
    """The shortest round step, in seconds, of which at most *most* fit into *seconds*."""
    return next((step for step in _TIMES if seconds / step <= most), math.ceil(seconds / most))


def time_ticks(start: float, end: float, most: int) -> list[tuple[float, str]]:
    """Moments of the log at which the time axis is marked, with their words in minutes."""
    step = time_step(end - start, most)
    first = math.ceil(start / step - 1e-9)
    moments = [n * step for n in range(first, math.floor(end / step + 1e-9) + 1)]
    words = [_minutes(moment, step) for moment in moments]
    if words:
        words[-1] += " min"
    return list(zip(map(float, moments), words, strict=True))


def _minutes(moment: int, step: int) -> str:
    minutes, seconds = divmod(abs(moment), 60)
    sign = "−" if moment < 0 else ""
    return f"{sign}{minutes}" if step % 60 == 0 else f"{sign}{minutes}:{seconds:02d}"


def value_words(value: float) -> str:
    """A tick's value: thousands apart, no needless noughts."""
    text = f"{value:,.3f}".rstrip("0").rstrip(".") if value % 1 else f"{value:,.0f}"
    return text.replace("-", "−")
