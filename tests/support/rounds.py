"""Whole rounds of reprocessing in a random life: mostly as they should be, one part left out.

A clinic that does everything at random seldom gets to a Yes. Here items go the whole way, while
evidence comes late, turns out bad, is taken back, or is never handed in.
"""

from contextlib import suppress
from typing import TYPE_CHECKING

from equip.demo.cycles import steam_log, washer_log
from equip.desk.act.act import Refused, acting
from equip.desk.loads.end import LogFile, end_load
from equip.desk.loads.release import reject_load, release_load
from equip.rules.loads.load import Load
from equip.store.readings import load_rows

if TYPE_CHECKING:
    from tests.support.life import Life

_BAD_WASH_S, _GOOD_WASH_S = 30, 300


def goes_round(life: "Life") -> None:
    """Used, washed, inspected, packed, steamed, used again; now and then a part is left out."""
    random = life.random
    item = random.choice(life.things[:3])
    if random.random() < 0.7:
        _used_on_somebody(life, item)
    if random.random() < 0.9:
        _washed(life, item)
    if random.random() < 0.9:
        life.play.scan("start over", "inspect pass", item)
    pack = life.play.fresh_pack()
    life.play.scan("start over", "pack", item, pack)
    life.packs.append(pack)
    load = _run(life, life.machines[0], pack)
    if load:
        _with_log(life, load)
    if random.random() < 0.7:
        _used_on_somebody(life, pack)


def wipes(life: "Life") -> None:
    """A scope is cleaned, wiped, rinsed and looked at: perhaps too soon, perhaps by a trainee,
    perhaps with no lot or with one whose agent stops too little."""
    random, scope = life.random, life.things[3]
    if random.random() < 0.6:
        _used_on_somebody(life, scope)
    who = random.choice(["nurse", "nurse", "trainee"])
    if random.random() < 0.9:
        life.play.scan("start over", "clean", scope, who=who)
    lot = random.choice([life.play.wipes(), life.play.wipes(), life.weak, ""])
    life.play.scan("start over", "disinfect", *([lot] if lot else []), scope, who=who)
    life.play.clock.passes(minutes=random.choice([0.2, 2, 10]))
    if random.random() < 0.2:
        _used_on_somebody(life, scope)
    life.play.scan("start over", "rinse", scope, "inspect pass", scope, who=who)
    if random.random() < 0.6:
        _used_on_somebody(life, scope)


def evidence_comes(life: "Life") -> None:
    """The log of a load that waited for it; or a load that was judged is released or rejected."""
    waiting = [
        load
        for load in load_rows.open_loads(life.play.clinic.store)
        if load.state in ("ended", "judged")
    ]
    if waiting:
        load = life.random.choice(waiting)
        if load.state == "ended":
            _with_log(life, load)
        else:
            _decided(life, load)


def _used_on_somebody(life: "Life", tag: str) -> None:
    life.play.scan("start over", life.random.choice(life.patients), tag, "finish")
    if life.random.random() < 0.1:
        life.play.scan("undo", "undo")


def _washed(life: "Life", item: str) -> None:
    """By hand, or in the washer, whose log may come later or never."""
    if life.random.random() < 0.3:
        life.play.scan("start over", "clean", item)
        return
    load = _run(life, life.machines[2], item)
    if load and life.random.random() < 0.6:
        _with_log(life, load)


def _run(life: "Life", machine: str, tag: str) -> Load | None:
    life.play.scan("start over", machine, tag, "start the load")
    load = load_rows.load_on(life.play.clinic.store, machine)
    if load is None or load.state != "running":
        return None
    life.play.clock.passes(minutes=40)
    life.play.cycles += 1
    life.play.scan("start over", load.load, "end the load", str(life.play.cycles))
    return load_rows.load_of(life.play.clinic.store, load.load)


def _with_log(life: "Life", load: Load) -> None:
    random, good = life.random, life.random.random() < 0.8
    if load.machine == life.machines[0]:
        data = steam_log(random.randint(1, 999), hold_s=215 if good else 60)
    else:
        seconds = _GOOD_WASH_S if good else _BAD_WASH_S
        data = washer_log(random.randint(1, 999), hold_s=seconds)
    with suppress(Refused):
        life.act(lambda act: end_load(act, load, LogFile(data)))
    again = load_rows.load_of(life.play.clinic.store, load.load)
    if again is not None and random.random() < 0.85:
        _decided(life, again)


def _decided(life: "Life", load: Load) -> None:
    by = life.play.people["manager"]
    with suppress(Refused), acting(life.play.clinic, by=by) as act:
        if load.verdict == "pass" and life.random.random() < 0.9:
            release_load(act, load, by)
        else:
            reject_load(act, load, by, "the door leaked")
