"""How long something stays fit for use after its last effective decontamination.

Published guidance disagrees, so every limit arrives from the rule book. Days are calendar days
of the clinic's own zone; hours run from the end of the process.
"""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from typing import Literal

from equip.rules.verdict import Reason
from equip.rules.wording import span

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


def why_pack_stale(use_by: date | None, at: date | None) -> list[Reason]:
    """Whether a pack with that last day (None: no limit) may be used on the day *at*.

    The last day itself still passes. A torn, wet or opened pack is out whatever the day.
    """
    if use_by is None:
        says = "The book sets no limit of days: look at the barrier, dry, whole and sealed."
        return [Reason("barrier-only", says, spoils="pass")]
    if at is None:
        says = f"The day of use was not told; {use_by} is the last."
        return [Reason("day-not-told", says, spoils="undecided")]
    if at > use_by:
        return [Reason("shelf-life-over", f"It was to be used by {use_by}; {at} is later.")]
    return []


def why_scope_stale(
    optic: str,
    finished: datetime,
    used: datetime,
    *,
    in_cabinet: bool,
    sterilised_wrapped: bool,
    limits: ShelfLimits,
) -> list[Reason]:
    """Whether a scope *finished* then may be *used* then, or needs processing first.

    Sterilised and wrapped it keeps as a pack does, by the days of the stamps as written.
    Disinfected it keeps for hours. A validated cabinet lifts them for a flexible scope only: it
    is the dry channels that it is validated for.
    """
    if sterilised_wrapped:
        last = last_day(finished.date(), wrapped=True, place="store", limits=limits)
        return why_pack_stale(last, used.date())
    if in_cabinet and optic == "flexible":
        says = "The time for which its cabinet was validated governs; it was not judged."
        return [Reason("cabinet-governs", says, spoils="pass")]
    hours = scope_hours(optic, limits)
    if hours is None or used - finished <= timedelta(hours=hours):
        return []
    kept = span((used - finished).total_seconds())
    says = f"It kept for more than the {hours} h allowed ({kept}): process it again first."
    said = [Reason("scope-hours-over", says)]
    if in_cabinet:
        says = "A cabinet lengthens the time of a flexible scope only."
        said.append(Reason("cabinet-not-counted", says, spoils="pass"))
    return said
