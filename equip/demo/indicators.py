"""The indicators and spore tests of the demonstration: invented lots, reads on fixed days.

On the right-hand steriliser spores grow once, near the end: its page shows what follows.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from equip.desk.act.act import acting
from equip.desk.clinic import Clinic
from equip.desk.loads import indicators
from equip.desk.machines import lots
from equip.facts import IndicatorPlace, IndicatorResult, LotSort, Stated
from equip.store.readings import load_rows, machine_rows

_SORTS: tuple[tuple[str, LotSort, str, str, Stated], ...] = (
    (
        "strip",
        "chemical-indicator",
        "Strip six (invented)",
        "DEMO-601",
        Stated(type=6, celsius=Decimal(134), seconds=Decimal(180)),
    ),
    (
        "long strip",
        "chemical-indicator",
        "Strip five (invented)",
        "DEMO-502",
        Stated(type=5, celsius=Decimal(121), seconds=Decimal(990)),
    ),
    ("spores", "spore-test", "Spore strip (invented)", "DEMO-48", Stated(incubate_h=48)),
)


@dataclass
class Monitors:
    """The lots in use, and the acts of whoever puts tests in and reads them."""

    clinic: Clinic
    nurse: str
    lots: dict[str, str] = field(default_factory=dict)
    grows_in: str = ""

    def come_in(self, today: date) -> None:
        """The lots of the whole life, on the day the clinic goes live."""
        with acting(self.clinic, by=self.nurse) as act:
            for key, sort, name, number, stated in _SORTS:
                expires = today + timedelta(days=400)
                self.lots[key] = lots.add(act, sort, name, number, expires=expires, stated=stated)

    def beside(self, load: str, number: int) -> None:
        """What is read of a load, and put in it, on that day of the life."""
        if number % 4 == 0:
            self.read(load, "strip", "pass")
        if number % 40 == 9:
            self.read(load, "long strip", "fail")
        if number % 28 in (1, 2, 3):  # whatever the weekday, one of them is worked
            self.put(load)

    def read(
        self,
        load: str,
        lot: str,
        result: IndicatorResult,
        where: IndicatorPlace = "in the chamber",
    ) -> None:
        """An indicator as the nurse saw it."""
        with acting(self.clinic, by=self.nurse) as act:
            found = load_rows.load_of(act.store, load)
            assert found is not None  # noqa: S101 — it ran a moment ago
            indicators.read_indicator(act, found, self.lots[lot], where, result)

    def put(self, load: str, *, grows: bool = False) -> None:
        """A spore test with its control, unless one waits already."""
        if machine_rows.spores_waiting(self.clinic.store) and not grows:
            return
        self.grows_in = load if grows else self.grows_in
        with acting(self.clinic, by=self.nurse) as act:
            found = load_rows.load_of(act.store, load)
            assert found is not None  # noqa: S101 — it ran a moment ago
            indicators.put_spore(act, found, self.lots["spores"], with_control=True)

    def read_what_is_due(self, number: int) -> None:
        """Spore tests that have grown for their two days; one control of the life stays dead."""
        now = self.clinic.clock()
        for row in machine_rows.spores_waiting(self.clinic.store):
            if row.ran is None or now - row.ran < timedelta(hours=48):
                continue
            hours = Decimal((now - row.ran) // timedelta(hours=1))
            with acting(self.clinic, by=self.nurse) as act:
                found = load_rows.load_of(act.store, row.load)
                assert found is not None  # noqa: S101 — its test waits
                indicators.read_spore(
                    act,
                    found,
                    row.lot,
                    grew=row.load == self.grows_in,
                    control_grew=not 28 < number < 36,
                    incubated_h=hours,
                    incubator_c=Decimal(57),
                )
