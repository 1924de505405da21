"""May this be used? The one place that puts every reason against it together.

The Bench, Stock, an item's page, the API and the acts all ask here: what the item itself says, the
checks ahead of a session, the machine that it is used with, what is overdue. So that none of them
can answer otherwise than another.
"""

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime

from equip.desk.clinic import Clinic
from equip.desk.fitness.due_days import grounded
from equip.desk.fitness.served_by import Serving
from equip.desk.fitness.session import unchecked
from equip.rules.fitness.gates import Asking, Member
from equip.rules.fitness.session import CheckLine
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.why_not import Why, told_already, why_not_use
from equip.scan import show_tag
from equip.store.readings import item_rows

Overdue = Mapping[str, Sequence[Why]]
"""What is overdue and stops its item, by tag."""


class Readiness:
    """What may be used at *at*, and every reason why not.

    *told_of* is when that happened which is told late: what a pack held is looked at as of then.
    *checks* and *overdue* are those of everything, where they were read already; else each is read
    when it is asked for.
    """

    def __init__(
        self,
        clinic: Clinic,
        at: datetime,
        checks: Mapping[str, Sequence[CheckLine]] | None = None,
        overdue: Overdue | None = None,
        told_of: datetime | None = None,
    ) -> None:
        self._clinic = clinic
        self._at = at
        self._told_of = told_of
        self._checks = checks
        self._overdue = overdue
        self._serving = Serving(clinic, self._by_itself)

    def members(self, standing: Standing) -> list[Member]:
        """What a pack or a set holds, where it stands and what it is."""
        found = item_rows.standings_at(self._clinic.store, standing.members, self._told_of)
        return [(member, self._clinic.house.kind(member.type)) for member in found]

    def asking(
        self, standing: Standing, patient: str = "", use: str = "", *, telling: bool = False
    ) -> Asking:
        """What its fitness is asked against: the moment, the limits, the patient in hand."""
        house = self._clinic.house
        return Asking(
            at=self._at,
            zone=house.zone,
            shelf=house.shelf(self._at),
            patient=patient,
            use=use,
            place_sort=house.place_sort(standing.place),
            telling=telling,
        )

    def why_not_use(
        self,
        standing: Standing,
        members: Sequence[Member],
        asking: Asking,
        place: str = "",
        used: Collection[str] = (),
    ) -> list[Why]:
        """Every reason against using it now; empty means yes.

        *place* is the one in hand, *used* what was scanned for the same use so far. What was
        opened for the use in hand is not asked again about checks and machines.
        """
        kind = self._clinic.house.kind(standing.type)
        reasons = why_not_use(standing, kind, asking, members)
        if not told_already(standing, asking):
            reasons += self._unchecked(standing, members)
            reasons += self._serving.unserved(standing, kind, members, place, used)
        return reasons + self._stopped_by(standing, members)

    def _by_itself(self, machine: Standing) -> list[Why]:
        """Every reason against a machine that others are used with."""
        kind = self._clinic.house.kind(machine.type)
        reasons = why_not_use(machine, kind, self.asking(machine))
        return [*reasons, *self._unchecked(machine, ()), *self._stopped_by(machine, ())]

    def _unchecked(self, standing: Standing, members: Sequence[Member]) -> list[Why]:
        kind = self._clinic.house.kind(standing.type)
        return unchecked(self._clinic, standing, kind, members, self._at, self._checks)

    def _stopped_by(self, standing: Standing, members: Sequence[Member]) -> list[Why]:
        """What is overdue of an item, and of what it holds, and stops it until it is done."""
        inside = [
            Why(why.code, f"{kind.name} {show_tag(member.item)}: {why.says}")
            for member, kind in members
            for why in self._overdue_of(member.item)
        ]
        return [*self._overdue_of(standing.item), *inside]

    def _overdue_of(self, item: str) -> Sequence[Why]:
        if self._overdue is not None:
            return self._overdue.get(item, ())
        return grounded(self._clinic, item, self._clinic.house.today(self._at))
