"""How long something stays fit for use after its last effective decontamination.

Published guidance disagrees, so every limit arrives from the rule book. Days are calendar days
of the clinic's own zone; hours run from the end of the process.
"""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from typing import Literal

PlaceSort = Literal["clinical", "clean-room", "store", "bench"]


@dataclass(frozen=True, slots=True)
class ShelfLimits:
    """Days and hours from the rule book; None where the book sets no limit.

    *days* count after the day of processing: 0 is that day only, 7 a week more.
    *packed_after_days* is for what was sterilised first and wrapped after it.
    """

    wrapped_days: int | None
    unwrapped_clinical_days: int | None
    unwrapped_clean_days: int | None
    flexible_hours: int | None
    rigid_hours: int | None
    packed_after_days: int | None = None


def last_day(
    made: date, *, wrapped: bool, place: str, limits: ShelfLimits, packed_after: bool = False
) -> date | None:
    """The last day on which something sterilised on *made* may be used, None for no limit.

    Where it was kept unwrapped and nobody said where, the clinical room is assumed: the
    shorter life.
    """
    if packed_after:
        days = limits.packed_after_days
    elif wrapped:
        days = limits.wrapped_days
    elif place in ("clean-room", "store"):
        days = limits.unwrapped_clean_days
    else:
        days = limits.unwrapped_clinical_days
    return None if days is None else made + timedelta(days=days)


def scope_hours(optic: str, limits: ShelfLimits) -> int | None:
    """Hours a disinfected, unwrapped scope stays usable outside a cabinet."""
    return limits.flexible_hours if optic == "flexible" else limits.rigid_hours


def lapses_at(
    processed: datetime,
    *,
    wrapped: bool,
    sterilised: bool,
    optic: str,
    place: str,
    limits: ShelfLimits,
    zone: tzinfo,
    packed_after: bool = False,
) -> datetime | None:
    """The moment from which it may no longer be used, or None if the book sets no limit."""
    if optic and not sterilised:
        hours = scope_hours(optic, limits)
        # A moment more than the limit is over it; the limit itself still passes.
        return None if hours is None else processed + timedelta(hours=hours, microseconds=1)
    day = last_day(
        processed.astimezone(zone).date(),
        wrapped=wrapped,
        place=place,
        limits=limits,
        packed_after=packed_after,
    )
    if day is None:
        return None
    return datetime.combine(day + timedelta(days=1), time(0), zone)
