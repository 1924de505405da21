"""Ten years of forty clinics, invented with a fixed seed: lines of a past, as files bring them in.

Each visit uses two things of a clinic on one patient; what was used goes through a load together.
In each clinic one load fails, one has no verdict and one thing is used again without a load,
however many uses there are: that is where the exposures come from.
"""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from random import Random

from equip.desk.past.file import COLUMNS

CLINICS = 40
YEARS = 10
BEGAN = datetime(2015, 1, 5, 8, tzinfo=UTC)
THINGS = 24
_BATCH = 6  # visits between two loads
_SEED = 20_266

Line = tuple[str, ...]
HEADER = ",".join(COLUMNS)


def clinic_lines(clinic: int, uses: int) -> Iterator[Line]:
    """The lines of one clinic, in order of time: *uses* of them, and the loads between."""
    random = Random(_SEED + clinic)
    rounds = max(uses // (2 * _BATCH), 1)
    apart = timedelta(days=365 * YEARS) / rounds
    pace = min(timedelta(minutes=20), apart / (2 * _BATCH))
    free = [f"C{clinic:02} T{number:02}" for number in range(THINGS)]
    patients = max(uses // 8, 4)
    left = uses
    slips = random.sample(range(1, max(rounds, 5)), 3)
    for number in range(rounds):
        at, used = BEGAN + number * apart, []
        for visit in range(_BATCH):
            patient = f"DEMO-{clinic:02}-{random.randrange(patients):06}"
            again = visit == 1 and number == slips[0]
            pair = [used[-1] if again else free.pop(0), free.pop(0)]
            for thing in pair[: max(left, 0)]:
                yield _line(at, "use", thing, patient, who=f"Nurse {clinic:02}-{number % 4}")
                left -= 1
            used += pair[again:]
            at += pace
        result = {slips[1]: "fail", slips[2]: ""}.get(number, "pass")
        load = f"C{clinic:02} L{number:06}"
        machine = f"C{clinic:02} M{number % 2}"
        inside = list(dict.fromkeys(used))
        for thing in inside:
            yield _line(at, "load", thing, "", load, machine, "steam-134", result)
        free += inside


def as_file(lines: Iterator[Line]) -> bytes:
    """The same as a file; no cell needs a quotation mark."""
    return ("\n".join([HEADER, *(",".join(line) for line in lines)]) + "\n").encode()


def _line(
    at: datetime,
    what: str,
    item: str,
    patient: str = "",
    load: str = "",
    machine: str = "",
    programme: str = "",
    result: str = "",
    who: str = "",
) -> Line:
    return (at.isoformat(), what, item, patient, load, machine, programme, result, who, "", "")
