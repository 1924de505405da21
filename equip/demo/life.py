"""One hundred and twenty days of an invented clinic, lived through the acts that people call.

Every name, number and reading here is made up. The seed is fixed, so the same life comes out
each time; only its dates follow the day on which it is made.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from random import Random
from uuid import UUID

import msgspec

from equip.demo.cycles import steam_log, washer_log
from equip.demo.indicators import Monitors
from equip.demo.mornings import check_in_the_morning, look_at_the_edge
from equip.demo.water import drain_at_the_end, flush_in_the_morning
from equip.desk.act.act import Act, acting
from equip.desk.bench import scanning
from equip.desk.clinic import Clinic
from equip.desk.cycles import reference_questions
from equip.desk.loads.end import LogFile, SoakChecks, end_load
from equip.desk.lookback.cases import case_acts
from equip.desk.machines import lots, sheets
from equip.desk.register import items, procedures
from equip.desk.register.open_book import open_book
from equip.desk.upkeep import duties, duty_acts, work_acts
from equip.facts import DutyTerms, ItemType, Limits, LotSort, Stated
from equip.scan import next_tag
from equip.store.readings import item_rows, load_rows

DAYS = 120
_SEED = 20_260
_OVER = time(12, 30)  # a day counts once its morning is over
_HEAT_EMPTY_S, _HEAT_EACH_S = 150, 12  # how long the steriliser heats, and each pack more
_SET = ("hook", "ring-probe", "suction-tip", "suction-tip", "speculum")


@dataclass
class MovingClock:
    """The time of the demonstration, moved by whoever lives in it."""

    now: datetime

    def __call__(self) -> datetime:
        return self.now

    def passes(self, **span: float) -> None:
        self.now += timedelta(**span)


@dataclass
class Life:
    """The clinic, its people and things, and what is where just now."""

    clinic: Clinic
    clock: MovingClock
    end: datetime
    random: Random = field(default_factory=lambda: Random(_SEED))
    people: dict[str, str] = field(default_factory=dict)
    monitors: Monitors | None = None
    places: dict[str, str] = field(default_factory=dict)
    machines: dict[str, str] = field(default_factory=dict)
    sets: list[str] = field(default_factory=list)
    scopes: list[str] = field(default_factory=list)
    forceps: list[str] = field(default_factory=list)
    lots: dict[str, str] = field(default_factory=dict)
    ready: list[str] = field(default_factory=list)
    tips: list[str] = field(default_factory=list)
    pack_number: int = 0
    cycles: dict[str, int] = field(default_factory=dict)
    patient: int = 10_000

    # --- the small acts ---------------------------------------------------------------------

    def scan(
        self,
        text: str,
        *,
        at: str = "bench 1",
        who: str = "nurse",
        seconds: int = 4,
        act: str = "",
    ) -> str:
        """One scan, some seconds after the last; the word that came back."""
        self.clock.passes(seconds=seconds)
        act = act or str(UUID(int=self.random.getrandbits(128), version=4))
        return scanning.scan(
            self.clinic, scanning.Scan(act, at, text), self.people[who]
        ).answer.word

    def fresh_pack(self) -> str:
        tag = next_tag("P", self.pack_number)
        self.pack_number = int(tag[1:9])
        return tag

    def new_patient(self) -> str:
        self.patient += self.random.randint(1, 9)
        return f"DEMO-{self.patient}"


def live(clinic: Clinic, clock: MovingClock, end: datetime) -> Life:
    """Live the whole life and leave the clinic as it stands at *end*."""
    life = Life(clinic, clock, end)
    first = end.astimezone(clinic.house.zone).date() - timedelta(days=DAYS)
    clock.now = _at(life, first, time(7, 30))
    _open(life)
    days = [(number, first + timedelta(days=number)) for number in range(DAYS + 1)]
    worked = [(n, d) for n, d in days if d.weekday() < 5 and _at(life, d, _OVER) < end]
    for number, day in worked:
        _day(life, day, number, last=day == worked[-1][1])
    clock.now = max(clock.now, end)
    return life


def _at(life: Life, day: date, clock: time) -> datetime:
    return datetime.combine(day, clock, life.clinic.house.zone).astimezone(UTC)


# --- going live -------------------------------------------------------------------------------


def _open(life: Life) -> None:
    open_book(life.clinic)
    with acting(life.clinic, by="") as act:
        for role, name, post, rights in (
            ("manager", "Sol Harper", "manager", sorted(items.RIGHTS)),
            ("nurse", "Wren Alder", "nurse", ["release", "test", "lots", "undo"]),
            ("trainee", "Juno Marsh", "nurse", []),
            ("auditor", "Iris Quill", "auditor", []),
        ):
            life.people[role] = items.add_person(act, name, post, rights)
        for key, name, sort in (
            ("room 1", "Room 1", "clinical"),
            ("room 2", "Room 2", "clinical"),
            ("bench", "Clean-up bench", "bench"),
            ("shelf", "Shelf A", "store"),
        ):
            life.places[key] = items.add_place(act, name, sort)
    _register(life)
    _upkeep(life)
    life.monitors = Monitors(life.clinic, life.people["nurse"])
    life.monitors.come_in(life.clinic.house.today(life.clock()))


def _register(life: Life) -> None:
    with acting(life.clinic, by=life.people["manager"]) as act:
        types = act.house.types
        _own_limits(act, types["steriliser-vacuum"])
        items.define_type(act, items.with_first(types["washer"], "thermal-a0-3000"))
        for key, code, name in (
            ("steriliser", "steriliser-vacuum", "left"),
            ("plain", "steriliser-plain", "right"),
            ("washer", "washer", ""),
            ("bath", "ultrasonic-bath", ""),
            ("soak bath", "soak-bath", ""),
            ("pump 1", "suction-pump", "room 1"),
            ("pump 2", "suction-pump", "room 2"),
            ("irrigator", "irrigator", ""),
            ("audiometer", "audiometer", ""),
        ):
            place = life.places.get(name, "")
            life.machines[key] = items.add_item(act, types[code], "go-live", name=name, place=place)
        for number in range(1, 9):
            tray = items.add_item(act, types["set"], "go-live", name=f"tray {number}")
            life.sets.append(tray)
            for count, code in enumerate(_SET, start=1):
                piece = items.add_item(
                    act,
                    types[code],
                    "go-live",
                    sealed=True,
                    place=life.places["shelf"],
                    aliases=(f"OLD-{number}{count:02d}",),
                )
                items.join_new(act, tray, piece)
        for number in range(1, 6):
            life.scopes.append(
                items.add_item(act, types["scope-wiped"], "go-live", name=f"0°, no. {number}")
            )
        for number in range(1, 5):
            life.forceps.append(
                items.add_item(act, types["forceps"], "go-live", sealed=True, name=f"no. {number}")
            )
    life.ready = list(life.sets)
    _lots(life)
    _procedures(life)


def _lots(life: Life) -> None:
    """What is used up on the way. Names, numbers and times are invented."""
    until = life.clinic.house.today(life.end) + timedelta(days=400)
    kinds: tuple[tuple[str, LotSort, str, Stated], ...] = (
        ("clean", "detergent", "Sample cleaning wipes", Stated()),
        (
            "disinfect",
            "wipe",
            "Sample disinfecting wipes",
            Stated(contact_s=60, agent="chlorine-dioxide"),
        ),
        ("rinse", "other", "Sample rinsing wipes", Stated()),
        ("agent", "agent", "Sample OPA 0.55 %", Stated(agent="opa-0.55", open_days=75)),
        ("strip", "test-strip", "Sample OPA strips", Stated()),
        (
            "through",
            "waterline",
            "Sample waterline tablets",
            Stated(contact_s=600, agent="hypochlorite-0.1", percent=Decimal("0.1")),
        ),
    )
    with acting(life.clinic, by=life.people["nurse"]) as act:
        for number, (key, sort, name, stated) in enumerate(kinds, start=1):
            life.lots[key] = lots.add(
                act, sort, name, f"INV-{number:03d}", expires=until, stated=stated
            )


def _procedures(life: Life) -> None:
    """What is opened for whom; invented, as the minutes are."""
    with acting(life.clinic, by=life.people["manager"]) as act:
        procedures.define(act, "One ear", 15, [("set", 1), ("scope-wiped", 1)])
        procedures.define(act, "Both ears", 25, [("set", 1), ("scope-wiped", 1), ("forceps", 1)])


def _own_limits(act: Act, kind: ItemType) -> None:
    """Limits of air removal and drying as a validation report might give them; invented."""
    limits = Limits(
        pulses=3,
        vacuum_kpa=Decimal(20),
        steam_kpa=Decimal(100),
        drying_kpa=Decimal(10),
        drying_s=180,
    )
    assert kind.process is not None  # noqa: S101 — a steriliser runs loads
    process = msgspec.structs.replace(kind.process, limits=limits)
    items.define_type(act, msgspec.structs.replace(kind, process=process))


def _upkeep(life: Life) -> None:
    today = life.clinic.house.today(life.clock())
    plans = (
        ("steriliser", "validation", 12, 40, True),
        ("steriliser", "service", 3, 25, False),
        ("plain", "validation", 12, 200, True),
        ("washer", "service", 6, 130, False),
        ("pump 1", "service", 12, 100, True),
        ("pump 2", "service", 12, 260, True),
        ("pump 2", "electrical safety test", 12, 121, False),
        ("audiometer", "calibration", 12, 128, True),
        ("irrigator", "service", 12, 300, False),
    )
    with acting(life.clinic, by=life.people["manager"]) as act:
        for key, duty, months, days_on, grounds in plans:
            duty_acts.set_duty(
                act,
                life.machines[key],
                duty,
                today + timedelta(days=days_on),
                every_months=months,
                grounds=grounds,
            )
        _upkeep_by_count(life, act, today)


def _upkeep_by_count(life: Life, act: Act, today: date) -> None:
    """What goes by a count, a report or a move; every figure of it is invented."""
    for key, every in (("steriliser", 300), ("washer", 150)):
        terms = DutyTerms(every_count=every, counts="cycles", cost=Decimal("14.50"))
        duty_acts.set_duty(act, life.machines[key], "filter", today, terms=terms)
    report = DutyTerms(certificate=True, not_after=today + timedelta(days=190), shift="before")
    machine = life.machines["steriliser"]
    duty_acts.set_duty(act, machine, "pressure examination", today, grounds=True, terms=report)
    moved = DutyTerms(after_move_days=90, tolerance_days=7, cost=Decimal("180"))
    duty_acts.set_duty(
        act,
        life.machines["audiometer"],
        "performance check",
        today + timedelta(days=150),
        every_months=6,
        terms=moved,
    )


# --- an ordinary day --------------------------------------------------------------------------


def _day(life: Life, day: date, number: int, *, last: bool) -> None:
    life.clock.now = _at(life, day, time(8, 5))
    water = (life.machines["irrigator"], life.lots["through"])
    flush_in_the_morning(life.clinic, life.people["nurse"], number, water, _seconds(life))
    life.clock.now = _at(life, day, time(8, 20))
    _duties(life, day)
    life.scan(life.people["nurse"])
    checked = [life.machines[key] for key in ("pump 1", "pump 2", "irrigator")]
    check_in_the_morning(
        life.clinic,
        life.people["nurse"],
        number,
        [*checked, *life.scopes],
        lambda: life.clock.passes(seconds=15),
    )
    if life.monitors is not None:
        life.monitors.read_what_is_due(number)
    soiled: list[str] = []
    for _ in range(6 if last else life.random.randint(4, 6)):
        soiled.append(_patient(life, number, len(soiled)))
    for day_of, special in _SPECIAL:
        if _falls_on(day_of, number, day):
            special(life)
    drain_at_the_end(life.clinic, life.people["nurse"], number, water[0], _seconds(life))
    trays = [_tray_of(life, thing) for thing in soiled if thing]
    if last:
        _last_day(life, trays)
        _raise_work(life)
    else:
        _sterilise(life, _clean_and_pack(life, trays, number), number)


def _seconds(life: Life) -> Callable[[float], None]:
    return lambda seconds: life.clock.passes(seconds=seconds)


def _falls_on(wanted: int, number: int, day: date) -> bool:
    """Whether day *wanted* of the life is this one, or a day off just before this Monday."""
    return number == wanted or (day.weekday() == 0 and number - 2 <= wanted < number)


def _last_day(life: Life, trays: list[str]) -> None:
    """The day is left in the middle: one load failed, one waits to be released.

    That one heated up as if much more were in it than was scanned.
    """
    _run(life, _clean_and_pack(life, trays[:2], 1), hold_s=140)
    _run(life, _clean_and_pack(life, trays[2:4], 1), hold_s=215, unscanned=4)


def _patient(life: Life, number: int, turn: int) -> str:
    """One patient, one tray, one scope; what was used of them is soiled after it."""
    life.clock.passes(minutes=life.random.randint(6, 11))
    room = "room 1" if turn % 2 == 0 else "room 2"
    tray = life.ready.pop(0) if life.ready else ""
    scope = life.scopes[turn % len(life.scopes)]
    _wipe_scope(life, scope)
    life.scan(life.new_patient(), at=room, seconds=30)
    life.scan("start a use", at=room)
    life.scan(life.random.choice(("left ear", "right ear", "both ears")), at=room)
    if tray:
        life.scan(tray, at=room)
    if life.tips and turn == 0:
        life.scan(life.tips.pop(0), at=room)
    life.scan(scope, at=room)
    if life.random.random() < 0.4:
        life.scan(life.random.choice(("oily", "dry flakes", "discharge")), at=room, seconds=400)
    if number % 11 == 0 and turn == 1:
        life.scan("tube touched scope", at=room)
    life.scan("finish", at=room, seconds=200)
    return tray


def _wipe_scope(life: Life, scope: str) -> None:
    """Three wipes, each from its own lot; the rinse waits for the contact time of the second."""
    for word in ("clean", "disinfect", "rinse"):
        life.scan(word, seconds=20)
        life.scan(life.lots[word])
        life.scan(scope, seconds=40)
    life.scan("inspect pass", seconds=20)
    life.scan(scope, seconds=20)
    look_at_the_edge(life.clinic, life.people["nurse"], scope)


def _clean_and_pack(life: Life, trays: list[str], number: int) -> list[str]:
    """The trays go round: clean, inspect, pack; every third day a pack of fine tips with them."""
    life.clock.passes(minutes=8)
    for word in ("clean", "inspect pass"):
        life.scan(word, seconds=60)
        for tray in trays:
            life.scan(tray, seconds=25)
    life.scan("pack")
    packs = []
    for tray in trays:
        life.scan(tray, seconds=30)
        packs.append(life.fresh_pack())
        life.scan(packs[-1])
    if number % 3 == 0:
        for _ in range(5):
            life.scan("C00001000K", seconds=2)
        life.scan("clean", seconds=2)
        tips = life.fresh_pack()
        life.scan(tips)
        packs.append(tips)
    return packs


def _tray_of(life: Life, thing: str) -> str:
    if thing in life.sets:
        return thing
    members = item_rows.standing_of(life.clinic.store, thing)
    inside = members.members if members else ()
    return next((one for one in inside if one in life.sets), thing)


def _sterilise(life: Life, packs: list[str], number: int) -> None:
    hold = 140 if number in _SHORT_DAYS else 215
    load = _run(life, packs, hold_s=hold)
    store = life.clinic.store
    found = load_rows.load_of(store, load)
    if found is None or found.verdict != "pass":
        life.scan(load, seconds=60)
        life.scan("run again")
        load = _finish_run(life, hold_s=215)
    if life.monitors is not None:
        life.monitors.beside(load, number)
    life.scan(load, seconds=120)
    life.scan("release")
    life.scan("store")
    life.scan(life.places["shelf"])
    for pack in packs:
        life.scan(pack)
    life.ready += [pack for pack in packs if _tray_of(life, pack) in life.sets]
    life.tips += [pack for pack in packs if _tray_of(life, pack) not in life.sets]


def _run(life: Life, packs: list[str], *, hold_s: int, unscanned: int = 0) -> str:
    life.scan(life.machines["steriliser"], seconds=60)
    for pack in packs:
        life.scan(pack)
    return _finish_run(life, hold_s=hold_s, unscanned=unscanned)


def _finish_run(life: Life, *, hold_s: int, machine: str = "", unscanned: int = 0) -> str:
    """Do the sheet of the day, start the load in hand, let it run, hand in its log."""
    machine = machine or life.machines["steriliser"]
    washes = machine == life.machines["washer"]
    _sheet(life, machine)
    life.scan("start the load")
    load = load_rows.load_on(life.clinic.store, machine)
    assert load is not None  # noqa: S101 — it was opened a moment ago
    life.clock.passes(minutes=46 if washes else 24)
    number = life.cycles[machine] = life.cycles.get(machine, 400) + 1
    heat_s = _HEAT_EMPTY_S + _HEAT_EACH_S * (len(load.inside) + unscanned)
    log = steam_log(number, hold_s=hold_s, heat_s=heat_s)
    if washes:
        log = washer_log(number, hold_s=hold_s)
    with acting(life.clinic, by=life.people["nurse"]) as act:
        end_load(act, load, LogFile(log, f"cycle-{number}.csv"), cycle_no=str(number))
    return load.load


def _sheet(life: Life, machine: str) -> None:
    """The start-of-day sheet: what is due is tested, all passes, the nurse signs."""
    standing = item_rows.standing_of(life.clinic.store, machine)
    process = life.clinic.house.kind(standing.type).process if standing else None
    assert process is not None  # noqa: S101 — it runs loads
    sheet = sheets.sheet(life.clinic, machine, process, life.clock())
    if sheet.signed:
        return
    with acting(life.clinic, by=life.people["nurse"]) as act:
        for line in sheet.lines:
            if line.state == "missing":
                end = f"{5 + life.random.randint(2, 9) / 10:.1f}"
                given = {"start_kpa": "5.0", "end_kpa": end, "settle_s": "300", "timed_s": "600"}
                if machine == life.machines["washer"]:
                    given = {"us_cm": "14"}
                sheets.record(act, machine, line.kind.id, passed=True, given=given)
    with acting(life.clinic, by=life.people["nurse"]) as act:
        sheets.sign(act, machine)


def _raise_work(life: Life) -> None:
    """One thing is out of use and waits for a firm."""
    with acting(life.clinic, by=life.people["manager"]) as act:
        what = "its output pressure is low"
        work = work_acts.raise_work(act, life.machines["irrigator"], what, out_of_use=True)
    with acting(life.clinic, by=life.people["manager"]) as act:
        work_acts.assign(act, work, firm="Invented Service Ltd")


def _duties(life: Life, day: date) -> None:
    """What falls due is done on its day, but for what somebody forgot."""
    forgotten = {life.machines["pump 1"]}
    for duty in duties.due(life.clinic, day, within_days=0):
        if duty.row is None or duty.item in forgotten or (life.end.date() - day).days < 3:
            continue
        holds = day + timedelta(days=420) if duty.row.terms.certificate else None
        with acting(life.clinic, by=life.people["manager"]) as act:
            note = "done by the outside engineer"
            duty_acts.meet_duty(act, duty.item, duty.duty, day, note, not_after=holds)


# --- days on which something happens ----------------------------------------------------------

_SHORT_DAYS = frozenset({32, 33, 34})  # one of them at least is no Saturday or Sunday


def _unfit_use(life: Life) -> None:
    """A forceps that nobody had reprocessed was told after the patient."""
    forceps = life.forceps[0]
    for _ in range(2):
        life.scan(life.new_patient(), at="room 2", seconds=600)
        life.scan(forceps, at="room 2")
        life.scan("finish", at="room 2")
    life.clock.passes(minutes=30)
    with acting(life.clinic, by=life.people["manager"]) as act:
        items.lift(act, forceps, "cleaned and looked at; the patients are in the look-back")


def _soak(life: Life) -> None:
    """A scope that was splashed goes through the bath: filled, soaked, judged, let go, rinsed."""
    scope, bath = life.scopes[0], life.machines["soak bath"]
    for text in ("start over", "clean", life.lots["clean"], scope, bath, "fill the bath"):
        life.scan(text, seconds=30)
    for text in (life.lots["agent"], scope, "start the load"):
        life.scan(text, seconds=20)
    load = load_rows.load_on(life.clinic.store, bath)
    assert load is not None  # noqa: S101 — it was opened a moment ago
    life.scan("end the load", seconds=750)
    with acting(life.clinic, by=life.people["nurse"]) as act:
        out = load_rows.load_of(act.store, load.load)
        assert out is not None  # noqa: S101 — it ended a moment ago
        values = {"celsius": "21.5", "strip": "pass"}
        end_load(act, out, SoakChecks(values, life.lots["strip"]))
    for text in (load.load, "release", "rinse", scope, "start over"):
        life.scan(text, seconds=30)


def _bent_hook(life: Life) -> None:
    hook = item_rows.standings_of_type(life.clinic.store, "hook")[2].item
    life.scan(hook, at="bench 1", seconds=60)
    life.scan("bent", at="bench 1")
    with acting(life.clinic, by=life.people["manager"]) as act:
        items.send_out(act, hook, "Fenwick instrument repairs (invented)", "repair")


def _loan(life: Life) -> None:
    with acting(life.clinic, by=life.people["manager"]) as act:
        scope = items.add_item(act, act.house.types["scope-wiped"], "loaned", name="30°, on loan")
    life.scopes.append(scope)


def _loan_back(life: Life) -> None:
    scope = life.scopes.pop()
    with acting(life.clinic, by=life.people["manager"]) as act:
        items.send_out(act, scope, "Harbour Street clinic (invented)", "loan")


def _wrong_patient(life: Life) -> None:
    life.scan(life.new_patient(), at="room 1", seconds=300)
    life.scan(life.forceps[1], at="room 1")
    life.scan("move to another patient", at="room 1")
    life.scan(life.new_patient(), at="room 1")
    scope = life.scopes[1]
    _wipe_scope(life, scope)
    life.scan(scope, at="room 1")
    life.scan("undo", at="room 1")
    life.scan("take it back", at="room 1", act=f"taken-back-{scope}-{life.clock.now:%Y%m%d}")
    life.scan("finish", at="room 1")
    _wipe_scope(life, scope)


def _reference(life: Life) -> None:
    """The newest cycle that passed becomes the one that later ones are compared with."""
    with acting(life.clinic, by=life.people["manager"]) as act:
        passed = next(one for one in load_rows.recent_loads(act.store, 9) if one.verdict == "pass")
        reference_questions.choose(
            act, passed, "Like the cycles of the validation of this year (invented)."
        )


def _look_back(life: Life) -> None:
    """The loads of the days before are questioned, and the question is decided next day."""
    with acting(life.clinic, by=life.people["manager"]) as act:
        newest = [one.load for one in load_rows.recent_loads(act.store, 2)]
        case = case_acts.raise_doubt(
            act, newest, "The printed strip of the left steriliser was hard to read all week."
        )
    life.clock.passes(hours=2)
    with acting(life.clinic, by=life.people["manager"]) as act:
        case_acts.decide(
            act,
            case,
            "no patient was put at risk",
            "The logs of both loads were judged anew from their files and pass.",
            unfounded=True,
        )


def _on_the_right(life: Life, *, grows: bool) -> None:
    """A forceps through the steriliser without vacuum, with a spore test."""
    forceps, machine = life.forceps[3], life.machines["plain"]
    for word in ("clean", "inspect pass"):
        life.scan(word, seconds=60)
        life.scan(forceps, seconds=25)
    life.scan("start over")
    life.scan(machine, seconds=30)
    life.scan(forceps)
    load = _finish_run(life, hold_s=215, machine=machine)
    assert life.monitors is not None  # noqa: S101 — they came in on the first day
    life.monitors.put(load, grows=grows)
    life.scan(load, seconds=60)
    life.scan("release")
    life.scan("start over")


def _good_spores(life: Life) -> None:
    _on_the_right(life, grows=False)


def _spores_that_grow(life: Life) -> None:
    _on_the_right(life, grows=True)


def _open_question(life: Life) -> None:
    with acting(life.clinic, by=life.people["nurse"]) as act:
        newest = [one.load for one in load_rows.recent_loads(act.store, 1)]
        case_acts.raise_doubt(act, newest, "One pack of this load felt damp when it was put away.")


def _washer(life: Life) -> None:
    """Two forceps in the washer: its first load was cut short, so they go again and pass."""
    life.scan("start over", seconds=60)
    life.scan(life.machines["washer"])
    for forceps in life.forceps[2:]:
        life.scan(forceps)
    load = _finish_run(life, hold_s=40, machine=life.machines["washer"])
    life.scan(load, seconds=60)
    life.scan("run again")
    load = _finish_run(life, hold_s=330, machine=life.machines["washer"])
    life.scan(load, seconds=60)
    life.scan("release")
    life.scan("start over")


# On its day, or on the Monday after if that day is a Saturday or Sunday.
_SPECIAL: tuple[tuple[int, Callable[[Life], None]], ...] = (
    (3, _reference),
    (20, _wrong_patient),
    (36, _look_back),
    (48, _unfit_use),
    (55, _loan),
    (62, _bent_hook),
    (70, _soak),
    (76, _loan_back),
    (90, _wrong_patient),
    (102, _good_spores),
    (109, _spores_that_grow),
    (113, _open_question),
    (115, _washer),
)
