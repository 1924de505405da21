"""The only place that asks the machine what time it is."""

from collections.abc import Callable
from datetime import UTC, datetime

Clock = Callable[[], datetime]


def utc_now() -> datetime:
    """The present moment, aware, in UTC, to the microsecond."""
    return datetime.now(UTC)
