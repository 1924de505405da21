"""A log as some machine might write it, invented: gauge bar, decimal commas, its own numbers."""

from datetime import datetime, timedelta

from equip.demo.cycles import steam_log
from equip.logs.layout import Layout, to_json
from equip.logs.plain import read_plain

LAYOUT = Layout(
    delimiter="semicolon",
    decimal="comma",
    skip=3,
    time="Time",
    time_as="stamp",
    date="Date",
    date_order="dmy",
    zone="Europe/London",
    probes=("Chamber °C",),
    pressure="Chamber bar",
    pressure_unit="bar",
    gauge=True,
    machine_key="Serial",
    cycle_key="Cycle",
    until="END",
)
JSON = to_json(LAYOUT).decode()


def machine_log(
    cycle: str = "41",
    *,
    began: datetime,
    serial: str = "SN 77",
    seed: int = 41,
    hold_s: int = 215,
) -> bytes:
    """A steam cycle in `LAYOUT`; *began* is what the machine's own clock shows, in London."""
    trace = read_plain(steam_log(seed, hold_s=hold_s))
    assert trace.kpa is not None
    lines = [f"Serial;{serial}", f"Cycle;{cycle}", "", "Date;Time;Chamber °C;Chamber bar"]
    for second, celsius, kpa in zip(trace.seconds, trace.probes[0], trace.kpa, strict=True):
        at = began + timedelta(seconds=second)
        cells = f"{at:%d.%m.%Y;%H:%M:%S};{celsius:.2f};{(kpa - 101.325) / 100:.4f}"
        lines.append(cells.replace(".", ",").replace(",", ".", 2))
    return ("\n".join([*lines, "END"]) + "\n").encode()
