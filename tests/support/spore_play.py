"""A steriliser whose loads carry spore tests: loads run with one in, results read days after."""

from dataclasses import dataclass
from datetime import date

from equip import facts
from equip.desk.act.act import acting
from equip.desk.loads import indicators, loads
from equip.desk.loads.end import ReadOff, end_load
from equip.desk.lookback.cases import spore_doubt
from equip.desk.lookback.cases.spore_doubt import SporeScope
from equip.desk.machines import lots, sheets
from equip.desk.register import items
from equip.facts import Process, SporeResult, Verdict
from equip.rules.loads.load import Load
from equip.store.readings import item_rows, load_rows
from tests.support.playing import Play

GAS = facts.ItemType(
    code="gas",
    name="Gas steriliser (invented)",
    sort="machine",
    contact="neither",
    process=facts.Process(
        steps=("sterilise",),
        programmes=(facts.Programme(judged_by="gas", name="Gas", wrapped=True, hollow=True),),
    ),
)


@dataclass
class SporePlay:
    """One machine, its loads in order, one lot of spore tests."""

    play: Play
    machine: str
    lot: str

    @classmethod
    def begin(cls, play: Play, code: str = "steriliser-vacuum", **lot: object) -> "SporePlay":
        if code == "gas":
            with acting(play.clinic, by=play.people["manager"]) as act:
                items.define_type(act, GAS)
        machine = play.add(code)
        with acting(play.clinic, by=play.people["nurse"]) as act:
            lot.setdefault("expires", date(2027, 12, 31))
            tag = lots.add(act, "spore-test", "Spores", "S-1", **lot)  # type: ignore[arg-type]
        return cls(play, machine, tag)

    @property
    def process(self) -> Process:
        stands = item_rows.standing_of(self.play.clinic.store, self.machine)
        assert stands is not None
        process = self.play.clinic.house.kind(stands.type).process
        assert process is not None
        return process

    def load_of(self, tag: str) -> Load:
        load = load_rows.load_of(self.play.clinic.store, tag)
        assert load is not None
        return load

    def put(self, load: str, *, with_control: bool = True) -> None:
        with acting(self.play.clinic, by=self.play.people["nurse"]) as act:
            indicators.put_spore(act, self.load_of(load), self.lot, with_control=with_control)

    def run(self, *inside: str, spores: bool = False, release: bool = True) -> str:
        """A load of *inside*, or of a fresh hook in a pack, that ran, passed and was let go."""
        if not inside:
            hook = self.play.add("hook")
            self.play.cleaned(hook)
            inside = (self.play.packed(hook),)
        if self.process.heat == "steam":
            load = self.play.run(self.machine, *inside)
        else:
            load = self._run_typed(*inside)
        if spores:
            self.put(load)
        if release:
            self.play.scan(load, "release")
        return load

    def _run_typed(self, *inside: str) -> str:
        clinic, by = self.play.clinic, self.play.people["nurse"]
        with acting(clinic, by=by) as act:
            load = loads.open_load(act, act.standing(self.machine))
        for item in inside:
            with acting(clinic, by=by) as act:
                loads.put_in(act, self.load_of(load), act.standing(item))
        self.play.clock.passes(hours=1)
        with acting(clinic, by=by) as act:
            end_load(act, self.load_of(load), ReadOff({"completed": "yes"}))
        return load

    def read(self, load: str, *, grew: bool, **more: object) -> SporeResult:
        more.setdefault("control_grew", True)
        with acting(self.play.clinic, by=self.play.people["nurse"]) as act:
            return indicators.read_spore(act, self.load_of(load), self.lot, grew=grew, **more)  # type: ignore[arg-type]

    def repeat(self, *, negative: bool) -> Verdict:
        """A test cycle of its own, written down on the sheet of the day."""
        self.play.clock.passes(hours=1)
        with acting(self.play.clinic, by=self.play.people["nurse"]) as act:
            return sheets.record(act, self.machine, "spore", passed=negative)

    def scope(self, **declared: object) -> SporeScope:
        clinic, now = self.play.clinic, self.play.clock.now
        return spore_doubt.scope(clinic, self.machine, self.process, now, **declared)  # type: ignore[arg-type]

    def line(self) -> tuple[str, bool] | None:
        """How the spore test stands on the sheet of the day, and whether it stops the machine."""
        clinic, now = self.play.clinic, self.play.clock.now
        its = sheets.sheet(clinic, self.machine, self.process, now)
        found = [(one.state, one.stops) for one in its.lines if one.kind.id == "spore"]
        return found[0] if found else None


def asked_for_weekly(play: Play) -> None:
    """The clinic asks for a spore test every seven days."""
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.set_rule(act, "test.spore.every-days", "7", "our policy", date(2026, 1, 1))
