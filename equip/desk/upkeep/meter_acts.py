"""A thing's own meter, read and written down."""

from decimal import Decimal

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.register.items import known
from equip.facts import Meter, MeterWord
from equip.rules.upkeep import meters
from equip.rules.upkeep.words import METERS
from equip.store.readings import duty_rows


def read_meter(
    act: Act,
    tag: str,
    meter: Meter,
    reading: Decimal,
    *,
    how: MeterWord = "read",
    ended: Decimal | None = None,
    began: Decimal | None = None,
    note: str = "",
) -> None:
    """What a thing's own meter shows; it goes up, or somebody says why not."""
    known(act, tag)
    if meter not in METERS:
        raise Refused(f"“{meter}” is no meter: hours or counter.")
    told = facts.MeterRead(
        at=act.at,
        by=act.by,
        act=act.id,
        item=tag,
        meter=meter,
        reading=reading,
        how=how,
        ended=ended,
        began=began,
        note=note,
    )
    readings = [read for read in duty_rows.meter_readings(act.store, tag) if read.meter == meter]
    try:
        meters.check(
            told,
            [read for read in readings if read.at <= act.at],
            [read for read in readings if read.at > act.at],
        )
    except meters.BadReading as problem:
        raise Refused(str(problem)) from None
    act.tell(
        facts.MeterRead,
        item=tag,
        meter=meter,
        reading=reading,
        how=how,
        ended=ended,
        began=began,
        note=note,
    )
