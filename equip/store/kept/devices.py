"""Which bench each device is: kept by an id that only the device has."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from equip.facts import micros, moment
from equip.store.database import Store

_SEEN_ANEW = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Device:
    """A device by its *id*, the *bench* it is, and the tag of its *place* ("": it moves around)."""

    id: str
    bench: str
    place: str
    person: str
    named: datetime
    seen: datetime


_DEVICE = "SELECT id, bench, place, person, named, seen FROM device"


def _device(row: tuple[Any, ...]) -> Device:
    device, bench, place, person, named, seen = row
    return Device(device, bench, place, person, moment(named), moment(seen))


def device_of(store: Store, device: str) -> Device | None:
    """The device of that id, None if nobody named it yet."""
    row = store.one(f"{_DEVICE} WHERE id = ?", device)
    return None if row is None else _device(row)


def devices(store: Store) -> list[Device]:
    """Every device that has a name, by bench, the one seen last first."""
    return [_device(row) for row in store.rows(f"{_DEVICE} ORDER BY bench, seen DESC, id")]


def named(store: Store, device: str, bench: str, place: str, person: str, now: datetime) -> None:
    """*person* says which *bench* that device is, from now on."""
    forgotten(store, device)
    store.run(
        "INSERT INTO device (id, bench, place, person, named, seen) VALUES (?, ?, ?, ?, ?, ?)",
        device,
        bench,
        place,
        person,
        micros(now),
        micros(now),
    )


def seen(store: Store, device: Device, now: datetime) -> None:
    """The device was here again; written once an hour."""
    if now - device.seen >= _SEEN_ANEW:
        store.run("UPDATE device SET seen = ? WHERE id = ?", micros(now), device.id)


def forgotten(store: Store, device: str) -> None:
    """The device has no name any more: lost, or given away."""
    store.run("DELETE FROM device WHERE id = ?", device)
