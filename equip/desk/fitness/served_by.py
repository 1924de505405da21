"""The machines that others are used with, and what may not be used because none of them is fit."""

from collections.abc import Callable, Collection, Iterable, Sequence

from equip.desk.clinic import Clinic
from equip.facts import ItemType
from equip.rules.fitness.gates import Member
from equip.rules.fitness.served_by import Server, in_question, why_not_served
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.why_not import Why
from equip.scan import show_tag
from equip.store.readings import item_rows


class Serving:
    """How the machines of each type that serves another stand; each type is read once.

    *against* gives every reason against using one machine.
    """

    def __init__(self, clinic: Clinic, against: Callable[[Standing], list[Why]]) -> None:
        self._clinic = clinic
        self._against = against
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
        row = item_rows.item_row(self._clinic.store, standing.item)
        label = self._clinic.house.label(row) if row else show_tag(standing.item)
        return Server(standing.item, standing.place, label, self._against(standing))
