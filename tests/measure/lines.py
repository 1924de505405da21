"""One measured ratio and the table that shows them, each beside its aim."""

from collections.abc import Iterable
from dataclasses import dataclass

from tests.measure.sizes import SMALL


@dataclass(frozen=True, slots=True)
class Line:
    """*ratio* of what was measured to its floor; *aim* is the most it should be, None if none.

    *beside* are the times themselves, of this machine and this run.
    """

    what: str
    ratio: float
    aim: float | None
    beside: str

    @property
    def verdict(self) -> str:
        """Whether the aim was met, nothing where there is none or too little was measured."""
        if self.aim is None or SMALL:
            return ""
        return "met" if self.ratio <= self.aim else "not met"

    def __str__(self) -> str:
        aim = "" if self.aim is None else f"at most {self.aim:g}×"
        return f"  {self.what:<63}{self.ratio:>7.2f}×  {aim:<13}{self.verdict:<9}{self.beside}"


def show(title: str, lines: Iterable[Line]) -> None:
    """Print a figure as soon as it is measured."""
    print(f"\n{title}")
    for line in lines:
        print(line)
    print(end="", flush=True)


def ms(seconds: float) -> str:
    """Seconds as milliseconds, three figures."""
    return f"{seconds * 1000:.3g} ms"


def us(seconds: float) -> str:
    """Seconds as microseconds, three figures."""
    return f"{seconds * 1e6:.3g} µs"
