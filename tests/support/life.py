"""A clinic lived at random: scans, loads, mistakes put right, word that comes late, doubts.

Nothing here says what is right. Whatever is refused is refused; what was written has to add up.
"""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from random import Random
from uuid import uuid4

from equip import facts
from equip.demo.cycles import steam_log
from equip.desk.act.act import Act, Refused, acting
from equip.desk.bench import scanning
from equip.desk.loads.end import LogFile, end_load
from equip.desk.loads.release import reject_load, release_load
from equip.desk.lookback.cases import case_acts, case_evidence
from equip.desk.lookback.cases.case_evidence import EvidenceSeen
from equip.desk.machines import lots
from equip.desk.register import items, searches, set_counts
from equip.desk.upkeep import duty_acts, meter_acts
from equip.facts import Counts, DutyTerms, Stated
from equip.rules.loads.load import Load
from equip.scan import CARDS
from equip.store.readings import load_rows
from tests.support import rounds
from tests.support.past_play import as_file, bring_in, row
from tests.support.playing import Play

_PATIENTS = ("123451", "123452", "123453", "123454")
_MARKS = ("dropped", "blood", "blocked", "wet pack", "torn pack", "discharge", "soil", "count")
_STEPS = ("clean", "rinse", "dry", "disinfect", "inspect pass", "inspect fail", "wipe")


@dataclass
class Life:
    """Who is there and what happened; *play* is told of everything."""

    play: Play
    random: Random
    things: list[str] = field(default_factory=list)
    packs: list[str] = field(default_factory=list)
    machines: list[str] = field(default_factory=list)
    sets: list[str] = field(default_factory=list)
    cases: list[str] = field(default_factory=list)
    patients: tuple[str, ...] = _PATIENTS
    weak: str = ""
    lots: list[str] = field(default_factory=list)
    tablets: str = ""

    @classmethod
    def begin(cls, play: Play, random: Random) -> "Life":
        life = cls(play, random)
        for code in ("hook", "hook", "suction-tip", "scope-wiped"):
            arrival = random.choice(["factory-new", "go-live", "loaned"])
            life.things.append(play.add(code, arrival))
        codes = ("steriliser-vacuum", "ultrasonic-bath", "washer")
        life.machines = [play.add(code) for code in codes]
        play.add("suction-pump")
        life.things += [play.add("irrigator"), play.add("irrigator-handpiece", "go-live")]
        life.tablets = str(life.act(_tablets))
        life.sets = [play.add("set")]
        stated = Stated(contact_s=30, agent="alcohol-70")
        life.weak = str(life.act(lots.add, "wipe", "Weak wipes", "W-2", stated=stated))
        with acting(play.clinic, by=play.people["nurse"]) as act:
            for agent in ("chlorine-dioxide", "alcohol-70", ""):
                stated = Stated(contact_s=60, agent=agent)
                life.lots.append(lots.add(act, "wipe", "Wipes", f"W-{agent}", stated=stated))
        return life

    def goes_on(self, acts: int) -> None:
        """So many acts, each of any sort."""
        for _ in range(acts):
            self.play.clock.passes(minutes=self.random.choice([0, 1, 20, 400]))
            chosen = self.random.choice(_ACTS)
            with suppress(Refused):
                chosen(self)

    def any_thing(self) -> str:
        return self.random.choice([*self.things, *self.packs, *self.sets])

    def some(self) -> list[str]:
        return [self.any_thing() for _ in range(self.random.randint(1, 3))]

    def act(self, what: Callable[..., object], *given: object, **more: object) -> object:
        with acting(self.play.clinic, by=self.play.people["manager"]) as act:
            return what(act, *given, **more)


def _uses(life: Life) -> None:
    """On somebody, perhaps set aside, perhaps not used after all, perhaps left unfinished."""
    words = [life.random.choice(_PATIENTS), *life.some()]
    if life.random.random() < 0.3:
        words.insert(1, "start a use")
    if life.random.random() < 0.3:
        words.append(life.random.choice(["used anyway", "opened, not used", "left ear"]))
    if life.random.random() < 0.3:
        words += life.some()
    if life.random.random() < 0.6:
        words.append("finish")
    life.play.scan("start over", *words, who=life.random.choice(["nurse", "manager"]))


def _steps(life: Life) -> None:
    for word in life.random.sample(_STEPS, life.random.randint(1, 3)):
        lot = [life.random.choice(life.lots)] if life.random.random() < 0.6 else []
        life.play.scan("start over", word, *(lot if word == "disinfect" else []), *life.some())


def _wipes_as_before(life: Life) -> None:
    """A wipe as it was told before anybody wrote down what it stops; its packet told later."""
    lot, item = life.lots[2], life.random.choice(life.things)
    wiped = {"step": "disinfect", "lots": (lot,), "contact_s": 60}
    life.act(lambda act: act.tell(facts.Stepped, item=item, **wiped))
    if life.random.random() < 0.3:
        life.act(lambda act: lots.describe(act, lot, "chlorine-dioxide"))


def _marks(life: Life) -> None:
    life.play.scan("start over", life.any_thing(), life.random.choice(_MARKS))


def _packs(life: Life) -> None:
    pack, card = life.play.fresh_pack(), _card_of_tips(life)
    inside = life.some() if life.random.random() < 0.5 else [card] * life.random.randint(1, 3)
    before = life.random.sample(life.machines, life.random.randint(0, 1))
    life.play.scan("start over", "pack", *inside, *before, pack)
    life.packs.append(pack)


def _mixes(life: Life) -> None:
    """Untagged tips of two packs, used perhaps, washed together; another pack out of them."""
    card = _card_of_tips(life)
    both = [life.play.fresh_pack(), life.play.fresh_pack()]
    for pack in both:
        life.play.scan("start over", "pack", *[card] * life.random.randint(1, 3), pack)
        if life.random.random() < 0.8:
            life.play.scan("start over", life.random.choice(_PATIENTS), pack, "finish")
    bath = life.machines[1]
    life.play.scan("start over", bath, *both, "start the load")
    life.play.clock.passes(minutes=10)
    life.play.scan("end the load", "1")
    load = load_rows.last_load(life.play.clinic.store, bath)
    if load is not None and life.random.random() < 0.3:
        life.play.scan("start over", load.load, "release")
    out = life.play.fresh_pack()
    life.play.scan("start over", "pack", *[card] * life.random.randint(1, 3), bath, out)
    life.play.scan("start over", life.random.choice(_PATIENTS), out, "finish")
    life.packs += [*both, out]


def _card_of_tips(life: Life) -> str:
    kinds = life.play.clinic.house.types.values()
    return next(kind.card for kind in kinds if kind.code == "fine-tip")


def _runs(life: Life) -> None:
    """A load from filling to release, which may stop or go wrong anywhere."""
    machine, by = life.random.choice(life.machines), life.play.people["manager"]
    life.play.scan("start over", machine, *life.some(), *life.some())
    if life.random.random() < 0.2:
        life.play.scan("take out", life.any_thing())
    life.play.scan("start the load")
    load = load_rows.load_on(life.play.clinic.store, machine)
    if load is None or load.state != "running" or life.random.random() < 0.1:
        return
    life.play.clock.passes(minutes=25)
    if machine == life.machines[0]:
        hold = life.random.choice([215, 215, 60])
        life.play.cycles += 1
        log = LogFile(steam_log(life.play.cycles, hold_s=hold))
        life.act(lambda act: end_load(act, load, log, cycle_no=str(life.play.cycles)))
    else:
        life.play.scan("end the load", str(life.play.cycles))
    match life.random.choice(["release", "release", "hold back", "reject", "leave"]):
        case "release":
            life.play.scan("start over", load.load, "release")
        case "hold back" if load.inside:
            held = [load.inside[0].item]
            life.act(lambda act: release_load(act, _again(act, load.load), by, held))
        case "reject":
            life.act(lambda act: reject_load(act, _again(act, load.load), by, "a wet pack"))
        case _:
            pass


def _again(act: Act, tag: str) -> Load:
    found = load_rows.load_of(act.store, tag)
    assert found is not None
    return found


def _scans_anything(life: Life) -> None:
    """Whatever lies about, without a thought: each scan has an answer."""
    near = [*_PATIENTS, *CARDS, *life.things, *life.packs, *life.machines, *life.sets]
    near += [
        *life.play.people.values(),
        *life.play.places.values(),
        "37",
        "a reason",
        "undo",
        "take it back",
    ]
    for text in life.random.choices(near, k=life.random.randint(1, 6)):
        assert life.play.scan(text).word


def _puts_right(life: Life) -> None:
    if life.random.random() < 0.5:
        life.play.scan("undo", "other patients too", "take it back")
    else:
        life.play.scan("move to another patient", life.random.choice(_PATIENTS))


def _tells_late(life: Life) -> None:
    """A bench that was cut off sends what it scanned some hours ago."""
    at = life.play.clock.now - timedelta(hours=life.random.choice([1, 5, 30]))
    words = [life.random.choice(_PATIENTS), life.any_thing(), "finish"]
    if life.random.random() < 0.4:
        words = [life.random.choice(_STEPS), life.any_thing()]
    for number, text in enumerate(["start over", *words]):
        moment = at + timedelta(seconds=number)
        order = scanning.Scan(str(uuid4()), "bench 2", text, at=moment)
        scanning.scan(life.play.clinic, order, life.play.people["nurse"])


def _tells_earlier(life: Life) -> None:
    """Somebody says at the bench that it happened some minutes ago."""
    zone = life.play.clinic.house.zone
    ago = timedelta(minutes=life.random.choice([1, 15, 120]))
    clock = f"{(life.play.clock.now - ago).astimezone(zone):%H:%M}"
    words = [life.random.choice([*_PATIENTS, *_STEPS]), *life.some(), "finish"]
    life.play.scan("start over", "earlier", clock, *words, "now")


def _brings_in(life: Life) -> None:
    """A line or two of the time before this book, about what is there already."""
    lines = []
    for _ in range(life.random.randint(1, 3)):
        thing, minutes = life.any_thing(), life.random.choice([0, 10, 20, 30])
        if life.random.random() < 0.6:
            patient = life.random.choice(_PATIENTS)
            lines.append(row(minutes, "use", thing, patient=patient))
        else:
            result = life.random.choice(["pass", "fail", ""])
            more = {"machine": "M1", "programme": "steam-134", "result": result}
            lines.append(row(minutes, "load", thing, load=f"old {minutes} {result}", **more))
    bring_in(life.play.clinic, as_file(lines))


def _moves(life: Life) -> None:
    of, thing = life.sets[0], life.random.choice(life.things)
    match life.random.choice(["join", "leave", "out", "back", "kept", "lifted", "retired"]):
        case "join":
            life.act(items.join, of, thing)
        case "leave":
            life.act(items.leave, of, thing)
        case "out":
            life.act(items.send_out, thing, "Bench and Sons", "repair")
        case "back":
            life.act(items.arrive, thing, life.random.choice(["repaired", "loaned"]))
        case "kept":
            life.act(items.quarantine, thing, "a burr", "clean-it-now")
        case "lifted":
            life.act(items.lift, thing, "polished")
        case _ if len(life.things) > 3 and life.random.random() < 0.2:
            life.act(items.retire, thing, "worn")
        case _:
            pass


def _counts(life: Life) -> None:
    """A set gets something to count, is counted, lacks a piece, has it again or gives it up."""
    of = life.sets[0]
    match life.random.choice(["list", "count", "missing", "missing", "found", "lost"]):
        case "list":
            life.act(set_counts.list_pieces, of, "2 × Fine suction tip")
        case "count":
            life.play.scan("start over", life.random.choice(["clean", "pack"]), of, "all there")
        case "missing":
            life.play.scan("start over", "lay up", of, "missing", life.random.choice("123"))
        case "found":
            life.play.scan("start over", "lay up", of, "found", "in a bin")
        case _:
            search = str(life.act(_open_search, of))
            life.act(searches.lost, of, search, "the bin was emptied")


def _open_search(act: Act, of: str) -> str:
    found = searches.open_of(act.standing(of))
    return found[0].search if found else ""


def _tablets(act: Act) -> str:
    stated = Stated(contact_s=600, agent="hypochlorite-0.1", percent=Decimal("0.1"))
    return lots.add(act, "waterline", "Tablets", "W-1", stated=stated)


def _waters(life: Life) -> None:
    """The irrigator is disinfected, perhaps rinsed too early or not at all, perhaps dried."""
    irrigator = next(tag for tag in life.things if tag[0] == "D")
    if life.random.random() < 0.7:
        life.play.scan("start over", "dry", irrigator)
    life.play.scan("start over", "disinfect", life.tablets, irrigator)
    life.play.clock.passes(minutes=life.random.choice([2, 10, 12]))
    if life.random.random() < 0.8:
        life.play.scan("start over", "rinse", irrigator)
    for patient in life.random.sample(_PATIENTS, 2):
        life.play.scan("start over", patient, life.things[-1], irrigator, "finish")


def _upkeep(life: Life) -> None:
    """Duties by day and by count, of one thing and of its type; done, dropped, a meter read."""
    thing = life.random.choice([*life.things, *life.machines])
    today = life.play.clinic.house.today(life.play.clock.now)
    day = today + timedelta(days=life.random.randint(-40, 40))
    kind = life.act(lambda act: act.standing(thing).type)
    counts: Counts = life.random.choice(["uses", "cycles", "hours"])
    by_count = DutyTerms(every_count=life.random.randint(1, 4), counts=counts)
    match life.random.choice(["by day", "by count", "of type", "met", "met", "dropped", "meter"]):
        case "by day":
            life.act(lambda act: duty_acts.set_duty(act, thing, "service", day, every_months=3))
        case "by count":
            life.act(lambda act: duty_acts.set_duty(act, thing, "filter", day, terms=by_count))
        case "of type":
            life.act(
                lambda act: duty_acts.set_type_duty(act, str(kind), "filter", day, terms=by_count)
            )
        case "met":
            done, duty = min(day, today), life.random.choice(["service", "filter"])
            life.act(duty_acts.meet_duty, thing, duty, done)
        case "dropped":
            life.act(lambda act: duty_acts.drop_duty(act, "filter", "by the maker", tag=thing))
        case _:
            reading = Decimal(life.random.randint(1, 999))
            life.act(meter_acts.read_meter, thing, "hours", reading)


def _doubts(life: Life) -> None:
    """A look-back is opened, or one goes a step on."""
    if life.cases and life.random.random() < 0.7:
        case = life.random.choice(life.cases)
        match life.random.choice(["contain", "list", "decide", "unfounded"]):
            case "contain":
                life.act(case_acts.contain, case)
            case "list":
                life.act(case_acts.take_list, case)
            case "decide":
                life.act(case_acts.take_list, case)
                life.act(case_acts.judge_risk, case, "B", "cleaned and wrapped")
                life.act(case_acts.decide, case, "told", "policy")
            case _:
                life.act(lambda act: case_acts.decide(act, case, "", "no fault", unfounded=True))
        return
    load = load_rows.last_load(life.play.clinic.store, life.random.choice(life.machines))
    if load is None:
        return
    asked = EvidenceSeen(case_evidence.evidence_named("load"), load.load)
    found = case_evidence.propose(life.play.clinic, asked, life.play.clock.now)
    opened = life.act(
        case_acts.open_case, found, load.load, "the curve looks odd", found.loads, found.gates
    )
    life.cases.append(str(opened))


_ACTS: tuple[Callable[[Life], None], ...] = (
    *[_uses] * 6,
    *[_runs] * 4,
    *[_steps] * 3,
    *[_packs] * 2,
    *[_moves] * 2,
    *[_counts] * 2,
    *[_waters] * 2,
    *[_doubts] * 2,
    *[_puts_right] * 2,
    *[_scans_anything] * 3,
    *[_mixes] * 2,
    *[_upkeep] * 2,
    *[rounds.goes_round] * 4,
    *[rounds.wipes] * 2,
    *[rounds.evidence_comes] * 2,
    _marks,
    _wipes_as_before,
    _tells_late,
    _tells_earlier,
    _brings_in,
)
