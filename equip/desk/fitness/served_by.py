"""The machines that others are used with, and what may not be used because none of them is fit."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime

from equip.desk.clinic import Clinic
from equip.desk.fitness.due_days import grounded
from equip.desk.fitness.session import unchecked
from equip.facts import ItemType
from equip.rules.fitness.gates import Asking, Member
from equip.rules.fitness.served_by import Server, in_question, why_not_served
from equip.rules.fitness.session import CheckLine
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.why_not import Why, why_not_use
from equip.scan import show_tag
from equip.store.readings import item_rows


class Serving:
    """How the machines of each type that serves another stand at *at*; each type is read once.

    *checks* is how the checks of all things stand, where that was read already.
    """

    def __init__(
        self,
        clinic: Clinic,
        at: datetime,
        checks: Mapping[str, Sequence[CheckLine]] | None = None,
    ) -> None:
        self._clinic = clinic
        self._at = at
        self._checks = checks
        self._servers: dict[str, list[Server]] = {}

    def unserved(
        self,
        standing: Standing,
        kind: ItemType,
        members: Sequence[Member],
        place: str = "",
        used: Collection[str] = (),
    ) -> list[Why]:
        """Why a thing, or what it holds, may not be used for want of a machine that is fit.

        *place* is the one in hand, *used* what was scanned for the same use so far.
        """
        reasons = []
        for code in dict.fromkeys(self._served_by(standing, kind, members)):
            servers = in_question(self._of_type(code), place, used)
            reasons += why_not_served(self._clinic.house.kind(code).name.lower(), servers)
        return reasons

    def _served_by(
        self, standing: Standing, kind: ItemType, members: Sequence[Member]
    ) -> Iterable[str]:
        house = self._clinic.house
        kinds = [kind, *(its for _, its in members)]
        kinds += [house.kind(loose.type) for loose in standing.loose]
        return (each.served_by for each in kinds if each.served_by in house.types)

    def _of_type(self, code: str) -> list[Server]:
        if code not in self._servers:
            found = item_rows.all_of_type(self._clinic.store, code)
            self._servers[code] = [self._server(standing) for standing in found]
        return self._servers[code]

    def _server(self, standing: Standing) -> Server:
        clinic, house = self._clinic, self._clinic.house
        kind, row = house.kind(standing.type), item_rows.item_row(clinic.store, standing.item)
        asking = Asking(at=self._at, zone=house.zone, shelf=house.shelf(self._at))
        against = why_not_use(standing, kind, asking)
        against += unchecked(clinic, standing, kind, (), self._at, self._checks)
        against += grounded(clinic, standing.item, house.today(self._at))
        label = house.label(row) if row else show_tag(standing.item)
        return Server(standing.item, standing.place, label, against)
