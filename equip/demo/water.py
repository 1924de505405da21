"""The irrigator of the demonstration: its waterline disinfected each morning, drained each evening.

Its scans have ids of their own, so that the chances of the rest of the life stay as they were.
"""

from collections.abc import Callable
from uuid import NAMESPACE_OID, uuid5

from equip.desk.bench import scanning
from equip.desk.clinic import Clinic

_BENCH = "sluice"


def flush_in_the_morning(
    clinic: Clinic, who: str, number: int, what: tuple[str, str], wait: Callable[[float], None]
) -> None:
    """The solution of a lot is run through and left in; then it is rinsed. *wait* takes seconds."""
    irrigator, lot = what
    _scan(clinic, who, f"morning {number}", (who, "disinfect", lot, irrigator), wait)
    wait(700)
    _scan(clinic, who, f"rinse {number}", ("start over", "rinse", irrigator), wait)


def drain_at_the_end(
    clinic: Clinic, who: str, number: int, irrigator: str, wait: Callable[[float], None]
) -> None:
    """No water stands in it overnight."""
    _scan(clinic, who, f"evening {number}", (who, "dry", irrigator, "start over"), wait)


def _scan(
    clinic: Clinic,
    who: str,
    named: str,
    texts: tuple[str, ...],
    wait: Callable[[float], None],
) -> None:
    for text in texts:
        wait(4)
        act = str(uuid5(NAMESPACE_OID, f"{named} {text}"))
        scanning.scan(clinic, scanning.Scan(act, _BENCH, text), who)
