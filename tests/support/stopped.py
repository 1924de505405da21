"""A clock for tests, and the noon at which most of them begin."""

from datetime import UTC, datetime, timedelta

NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)


class StoppedClock:
    """A clock that stands still until a test moves it."""

    def __init__(self, now: datetime = NOON) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now

    def passes(self, **span: float) -> None:
        """Move on by *span*, told as `timedelta` takes it: minutes=5, days=2."""
        self.now += timedelta(**span)
