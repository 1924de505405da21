"""One line of what is due: how it stands, what it stops and leaves, who may override, in words."""

from collections.abc import Sequence
from datetime import date
from typing import Literal

import msgspec
from msgspec.structs import replace

from equip.facts import Shift
from equip.rules.upkeep import words
from equip.rules.upkeep.due import NO_DAY, BroughtBy, Standing
from equip.rules.upkeep.pace import Expected
from equip.store.readings.duty_rows import DutyRow


class Due(msgspec.Struct, frozen=True, gc=False):
    """One duty as it stands on a day.

    *next_due* is `NO_DAY` where only a count brings it round and no day can be told; where one
    is *expected* from real use it is that day. *stops* says that the thing may not be used
    now, or that the person may not release: *item* is a badge where a competence ends.
    """

    item: str
    label: str
    place: str
    duty: str
    next_due: date
    standing: Standing
    stops: bool
    last_day: date = NO_DAY
    brought_by: BroughtBy = "day"
    sort: Literal["duty", "lot", "competence"] = "duty"
    runs_loads: bool = False
    row: DutyRow | None = None
    expected: Expected | None = None
    note: str = ""

    @property
    def says(self) -> str:
        """What it stops while it is overdue."""
        if self.sort == "lot":
            return words.LOT_STOPS
        if self.sort == "competence":
            return words.LAPSED_STOPS if self.stops else words.LAPSED_ASKS
        if not self.stops:
            return words.STOPS_NOTHING
        return words.STOPS_LOADS if self.runs_loads else words.STOPS

    @property
    def leaves(self) -> str:
        """What it does not stop."""
        if self.sort == "lot":
            return ""
        if self.sort == "competence":
            return words.LAPSED_LEAVES
        return words.what_it_leaves(stops=self.stops)

    def who_may(self, names: Sequence[str]) -> str:
        """Who may use it all the same, *names* being those with the right to override."""
        if self.sort == "lot":
            return "Nobody may use it all the same." if self.stops else ""
        if self.sort == "competence":
            others = [name for name in names if name != self.label]
            return words.who_gives_leave(others) if self.stops else ""
        return words.who_may(stops=self.stops, runs_loads=self.runs_loads, names=names)

    @property
    def has_day(self) -> bool:
        return self.next_due != NO_DAY

    @property
    def every(self) -> str:
        """How often it comes round, in words."""
        if self.row is None:
            return ""
        duty = self.row.goes_by
        return words.every(duty.every_months or 0, duty.every_days or 0, duty.terms)

    def terms_say(self, closed: Shift) -> list[str]:
        """What else it goes by, a sentence each; *closed* is where a due day on a closed day goes
        by the rule book."""
        if self.row is None:
            return []
        duty = self.row.goes_by
        moves = duty.terms.shift or closed if duty.comes_round else ""
        # What was counted already is part of the count that stands beside.
        return [
            words.sentence(clause)
            for clause in words.clauses(replace(duty.terms, shift=moves, already=0))
        ]

    @property
    def counted_says(self) -> str:
        """How far the count has come, "" where there is none."""
        if self.row is None or not self.row.terms.every_count:
            return ""
        terms = self.row.terms
        unit = words.COUNTED[terms.counts]
        return f"{self.row.so_far.counted} of {terms.every_count} {unit}s"

    @property
    def why(self) -> str:
        """What brings it, where that is not its own day."""
        if self.note:
            return self.note
        if self.brought_by == "day" and self.expected is not None:
            latest = self.expected.latest
            between = f"between {self.expected.earliest} and {latest}" if latest else ""
            return f"Expected from real use, {between or 'no end can be told'}."
        return words.BROUGHT[self.brought_by].why.format(count=self.counted_says)
