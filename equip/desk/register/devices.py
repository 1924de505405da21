"""Which bench a device may be: a place, a bench beside it, or one that it shares knowingly."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from equip.desk.clinic import Clinic
from equip.store.kept import devices
from equip.store.kept.devices import Device

_IN_USE = timedelta(days=30)
_LONGEST = 40


@dataclass(frozen=True, slots=True)
class Taken:
    """A bench that *other* is already; *own* is the name of a bench beside it."""

    bench: str
    other: Device
    own: str


def place_bench(clinic: Clinic, place: str) -> str:
    """The name of the bench at a place: the place's own, with its tag where two share a name."""
    name = clinic.house.place_name(place)
    same = [one for one in clinic.house.places.values() if one.name == name]
    return name[:_LONGEST] if len(same) == 1 else f"{name[: _LONGEST - 11]} {place}"


def taken(clinic: Clinic, bench: str, device: str, now: datetime) -> Taken | None:
    """Who is that *bench* already, if any device but this one was seen there of late."""
    every = devices.devices(clinic.store)
    others = [one for one in others_at(every, bench, device) if now - one.seen <= _IN_USE]
    if not others:
        return None
    names = {one.bench for one in every if one.id != device}
    numbers = (f"{bench[: _LONGEST - 9]} bench {number}" for number in range(2, len(names) + 3))
    return Taken(bench, others[0], next(name for name in numbers if name not in names))


def others_at(every: Iterable[Device], bench: str, device: str) -> list[Device]:
    """The devices that are *bench* as well, the one seen last first."""
    return [one for one in every if one.bench == bench and one.id != device]
