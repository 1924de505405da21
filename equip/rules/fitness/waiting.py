"""How long a used thing may wait for its cleaning before the soil has dried on.

The limits come from the rule book: one for what lay dry, a longer one for what was kept moist.
"""

from datetime import datetime, timedelta

from equip.rules.verdict import Reason
from equip.rules.wording import span


def why_too_late(ended: datetime, cleaning_started: datetime, limit_min: int) -> list[Reason]:
    """Whether cleaning began within *limit_min* minutes of the end of use; the limit passes.

    Later than that it is not lost, but it needs its maker's way of delayed cleaning.
    """
    waited = cleaning_started - ended
    if waited <= timedelta(minutes=limit_min):
        return []
    says = (
        f"It waited for cleaning more than the {limit_min} min allowed "
        f"({span(waited.total_seconds())}). "
        "Follow its maker's instructions for delayed cleaning."
    )
    return [Reason("waited-too-long", says)]
