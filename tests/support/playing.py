"""A small clinic to play in: people, a register, a bench that scans, loads that run."""

from dataclasses import dataclass, field, replace
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

from equip.demo.cycles import steam_log
from equip.desk.act.act import acting
from equip.desk.act.answer import Answer
from equip.desk.bench import scanning, session_acts
from equip.desk.clinic import Clinic
from equip.desk.fitness.session import lines_of
from equip.desk.loads.end import LogFile, end_load
from equip.desk.machines import lots, sheets
from equip.desk.register import items
from equip.desk.register.open_book import open_book
from equip.facts import Arrival, Stated, Stepped
from equip.rules.fitness.day_gate import in_force
from equip.scan import next_tag
from equip.settings.settings import Settings
from equip.store.database import Store
from equip.store.kept.keys import keys_in
from equip.store.kept.vault import Vault
from equip.store.readings import item_rows, load_rows, lot_rows
from tests.support.stopped import StoppedClock

GOOD_LEAK = {"start_kpa": "5.0", "end_kpa": "5.8", "settle_s": "300", "timed_s": "600"}
GOOD_RINSE = {"us_cm": "12"}
GOOD_READINGS = {"water-temperature": "37", "pressure": "1", "vacuum": "60"}


@dataclass
class Play:
    """The clinic and whoever plays in it; `scan` is one scan of the nurse at bench 1."""

    clinic: Clinic
    clock: StoppedClock
    people: dict[str, str] = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)
    packs: int = 0
    cycles: int = 0
    keeps_sheets: bool = True
    keeps_checks: bool = True

    @classmethod
    def begin(cls, store: Store, clock: StoppedClock, folder: Path, **settings: object) -> "Play":
        chosen = replace(Settings(data=folder, site="TEST"), **settings)  # type: ignore[arg-type]
        clinic = Clinic(store, Vault(store, keys_in(folder)), clock, chosen)
        open_book(clinic)
        play = cls(clinic, clock)
        with acting(clinic, by="") as act:
            for role, name, post, rights in (
                ("manager", "Mo Reed", "manager", sorted(items.RIGHTS)),
                ("nurse", "Nell Ash", "nurse", ["release", "test", "lots", "undo"]),
                ("trainee", "Tam Birch", "nurse", []),
                ("auditor", "Ann Yew", "auditor", []),
            ):
                play.people[role] = items.add_person(act, name, post, rights)
            play.places["room"] = items.add_place(act, "Room 1", "clinical")
            play.places["shelf"] = items.add_place(act, "Shelf", "store")
        return play

    def add(self, code: str, arrival: Arrival = "factory-new", **more: object) -> str:
        """A thing of a starter type on the register; its tag."""
        with acting(self.clinic, by=self.people["manager"]) as act:
            return items.add_item(act, act.house.types[code], arrival, **more)  # type: ignore[arg-type]

    def reply(
        self,
        text: str,
        *,
        who: str = "nurse",
        at: str = "bench 1",
        seconds: float = 3,
        act: str = "",
        seq: int | None = None,
    ) -> scanning.Reply:
        self.clock.passes(seconds=seconds)
        order = scanning.Scan(act or str(uuid4()), at, text, seq=seq)
        return scanning.scan(self.clinic, order, self.people[who])

    def scan(self, *texts: str, who: str = "nurse", at: str = "bench 1") -> Answer:
        """Some scans, one after the other; the last answer."""
        for text in texts:
            if text == "start the load" and self.keeps_sheets:
                self.tested()
            if self.keeps_checks:
                self.checked(text)
            reply = self.reply(text, who=who, at=at)
        return reply.answer

    def tested(self, *machines: str) -> None:
        """Do and sign the sheets of the day of *machines*, or of those that are being filled."""
        filling = [load.machine for load in load_rows.open_loads(self.clinic.store)]
        for machine in machines or dict.fromkeys(filling):
            stands = item_rows.standing_of(self.clinic.store, machine)
            assert stands is not None
            process = self.clinic.house.kind(stands.type).process
            assert process is not None
            its = sheets.sheet(self.clinic, machine, process, self.clock.now)
            with acting(self.clinic, by=self.people["nurse"]) as act:
                for line in its.lines:
                    if line.state == "missing":
                        given = GOOD_LEAK if line.kind.id == "leak-rate" else GOOD_RINSE
                        sheets.record(act, machine, line.kind.id, passed=True, given=given)
            if not its.signed:
                with acting(self.clinic, by=self.people["nurse"]) as act:
                    sheets.sign(act, machine)

    def checked(self, *tags: str) -> None:
        """Check for the session what of these things is asked for and not in force."""
        for stands in filter(None, (item_rows.standing_of(self.clinic.store, tag) for tag in tags)):
            kind, now = self.clinic.house.kind(stands.type), self.clock.now
            if kind.holds == "day":
                self.watered(stands.item)
            found = lines_of(self.clinic, stands.item, kind, now)
            wanted = [line.asked.check for line in found if line.state != "in force"]
            if wanted:
                with acting(self.clinic, by=self.people["nurse"]) as act:
                    for one in wanted:
                        read = GOOD_READINGS.get(one, "")
                        session_acts.record(act, stands.item, one, good=True, read=read)

    def asks_a0_3000(self) -> None:
        """The clinic's policy asks A0 3000 of its washers, where nobody chooses."""
        with acting(self.clinic, by=self.people["manager"]) as act:
            washer = act.house.types["washer"]
            items.define_type(act, items.with_first(washer, "thermal-a0-3000"))

    def watered(self, irrigator: str) -> None:
        """Disinfect its waterline for the day and rinse it, unless that was done today."""
        stands = item_rows.standing_of(self.clinic.store, irrigator)
        assert stands is not None
        kind, zone = self.clinic.house.kind(stands.type), self.clinic.house.zone
        if in_force(stands, kind, self.clock.now, zone) is not None:
            return
        with acting(self.clinic, by=self.people["nurse"]) as act:
            for step, minutes in (("dry", 30), ("disinfect", 15), ("rinse", 4)):
                act.tell(
                    Stepped,
                    item=irrigator,
                    step=step,
                    at=self.clock.now - timedelta(minutes=minutes),
                    contact_s=600 if step == "disinfect" else 0,
                    stops=("bacteria-viruses",) if step == "disinfect" else None,
                )

    def fresh_pack(self) -> str:
        tag = next_tag("P", self.packs)
        self.packs = int(tag[1:9])
        return tag

    def cleaned(self, *tags: str) -> None:
        self.scan("start over", "clean", *tags, "inspect pass", *tags)

    def wipes(self) -> str:
        """A lot of wipes that stop spores too and stay wet for a minute; the same one each time."""
        known = [lot.tag for lot in lot_rows.lots(self.clinic.store) if lot.name == "Wipes"]
        if known:
            return known[0]
        stated = Stated(contact_s=60, agent="chlorine-dioxide")
        with acting(self.clinic, by=self.people["nurse"]) as act:
            return lots.add(act, "wipe", "Wipes", "W-1", stated=stated)

    def wiped(self, *tags: str) -> None:
        """Disinfected by hand with such a wipe, until its contact time is over."""
        self.scan("start over", "disinfect", self.wipes(), *tags, "start over")
        self.clock.passes(minutes=1)

    def packed(self, *tags: str) -> str:
        pack = self.fresh_pack()
        self.scan("start over", "pack", *tags, pack)
        return pack

    def run(self, machine: str, *inside: str, hold_s: int = 215) -> str:
        """Fill a load, run it, hand in its log; its tag. It is judged, not released."""
        self.scan("start over", machine, *inside, "start the load")
        load = load_rows.load_on(self.clinic.store, machine)
        assert load is not None
        self.cycles += 1
        self.clock.passes(minutes=25)
        with acting(self.clinic, by=self.people["nurse"]) as act:
            log = LogFile(steam_log(self.cycles, hold_s=hold_s))
            end_load(act, load, log, cycle_no=str(self.cycles))
        return load.load

    def released(self, machine: str, *inside: str) -> str:
        load = self.run(machine, *inside)
        self.scan(load, "release")
        return load

    def sterile_pack(self, machine: str, *tags: str) -> str:
        """Tags cleaned, inspected, packed, sterilised and released: the pack's tag."""
        self.cleaned(*tags)
        pack = self.packed(*tags)
        self.released(machine, pack)
        return pack

    def codes(self, answer: Answer) -> list[str]:
        return [reason.code for reason in answer.reasons]
