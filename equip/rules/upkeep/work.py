"""One piece of work folded: how far it is, what may be told of it next, how long the thing was out.

A piece of work ends with a manager's decision and nothing else.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from equip import facts
from equip.facts import Fact

State = Literal["raised", "assigned", "sent", "back", "done", "closed"]

STATES: dict[State, str] = {
    "raised": "raised, given to nobody yet",
    "assigned": "given to somebody",
    "sent": "sent away",
    "back": "back, not written up yet",
    "done": "done, waits to be signed off",
    "closed": "closed",
}


@dataclass(frozen=True, slots=True)
class Work:
    """A piece of work as it stands. *out_since* is when the thing was taken out of use for it."""

    work: str
    item: str = ""
    raised: facts.WorkRaised | None = None
    assigned: facts.WorkAssigned | None = None
    sent: facts.WorkSent | None = None
    received: facts.WorkReceived | None = None
    done: facts.WorkDone | None = None
    signed: facts.WorkSignedOff | None = None
    out_since: datetime | None = None

    @property
    def is_away(self) -> bool:
        return self.sent is not None and (self.received is None or self.received.at < self.sent.at)

    @property
    def state(self) -> State:
        if self.signed is not None:
            return "closed"
        if self.is_away:
            return "sent"
        if self.done is not None:
            return "done"
        if self.received is not None:
            return "back"
        return "raised" if self.assigned is None else "assigned"

    @property
    def downtime(self) -> timedelta | None:
        """How long the thing was out of use for it; None while it is, or if it never was."""
        if self.out_since is None or self.signed is None or self.signed.decision != "service":
            return None
        return self.signed.at - self.out_since

    def out_for(self, now: datetime) -> timedelta | None:
        """The same, up to *now* while it is still out."""
        if self.out_since is None:
            return None
        return self.downtime or now - self.out_since


def fold(work: str, told: Iterable[Fact]) -> Work:
    """Everything told about *work*, oldest first."""
    stands = Work(work)
    for fact in told:
        stands = after(stands, fact)
    return stands


def after(stands: Work, fact: Fact) -> Work:
    match fact:
        case facts.WorkRaised():
            since = fact.at if fact.out_of_use else None
            return replace(stands, item=fact.item, raised=fact, out_since=since)
        case facts.WorkAssigned():
            return replace(stands, assigned=fact)
        case facts.WorkSent():
            return replace(stands, sent=fact, out_since=stands.out_since or fact.at)
        case facts.WorkReceived():
            return replace(stands, received=fact)
        case facts.WorkDone():
            return replace(stands, done=fact)
        case facts.WorkSignedOff():
            return replace(stands, signed=fact)
        case _:
            return stands
