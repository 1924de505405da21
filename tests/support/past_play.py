"""A file of the past made and brought in, for the tests of tracing."""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from random import Random

from equip.desk.clinic import Clinic
from equip.desk.lookback import exposure_json
from equip.desk.past import bring_in as past
from equip.desk.past.file import COLUMNS, read_past
from equip.rules.lookback.sweep import Exposure, sweep
from equip.store.fold.met import Contacts, Doubted
from tests.support.past_oracle import Pair, Row

BEGAN = datetime(2026, 2, 2, 8, tzinfo=UTC)


def row(minutes: int, what: str, item: str = "", **more: str) -> Row:
    """One line, so many minutes after eight o'clock."""
    made = dict.fromkeys(COLUMNS, "")
    made |= {"when": (BEGAN + timedelta(minutes=minutes)).isoformat(), "what": what, "item": item}
    return made | more


def as_file(rows: Iterable[Row]) -> bytes:
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS)
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue().encode()


def bring_in(clinic: Clinic, data: bytes) -> past.Summary:
    found = read_past(data)
    assert found.problems == ()
    return past.bring_in(clinic, found.rows, data, "past.csv")


def pairs(clinic: Clinic, found: Sequence[Exposure]) -> dict[Pair, int]:
    """Exposures by the names and references that the file has, as the oracle gives them."""
    names = exposure_json.AnswerNames(clinic)
    told: dict[Pair, int] = {}
    for one in found:
        for source in one.sources:
            assert source.patient is not None
            pair = (
                clinic.vault.reveal(one.patient),
                names(one.item),
                exposure_json.stamp(one.at),
                clinic.vault.reveal(source.patient),
                exposure_json.stamp(source.at),
            )
            told[pair] = int(source.certainty)
    return told


def all_swept(clinic: Clinic, doubted: Doubted | None = None) -> list[Exposure]:
    """Every exposure by one sweep over all that was ever met, in the order of their list."""
    met = Contacts(clinic.store, doubted=doubted)
    items = [row[0] for row in clinic.store.rows("SELECT DISTINCT item FROM touch")]
    found = sweep(sorted(contact for item in items for contact in met.of(item)))
    return sorted(found, key=lambda one: (one.at, one.item, one.use))


def history(random: Random) -> list[Row]:
    """A small history with ties, sets that change, mixing, a pump, and perhaps a late line."""
    rows: list[Row] = []
    items, packs = ["A", "B"], ["Q0", "Q1", "Q2"]
    sets = ["S1"] if random.random() < 0.5 else []
    contents: dict[str, int] = {}
    minutes = loads = 0
    for _ in range(random.randint(3, 25)):
        minutes += random.choice([0, 0, 10, 10, 20])
        kind = random.random()
        if kind < 0.5:
            rows.append(_use(random, minutes, random.choice([*items, *packs, *sets, "PUMP"])))
        elif kind < 0.7:
            loads += 1
            inside = random.sample([*items, *sets], random.randint(1, len(items) + len(sets)))
            programme = random.choice(["steam-134", "thermal-a0-600"])
            rows += _load(random, minutes, f"L{loads}", inside, programme, {})
        elif kind < 0.9:
            loads += 1
            inside = random.sample(packs, random.randint(1, min(4, len(packs))))
            for pack in inside:
                contents.setdefault(pack, random.randint(1, 3))
            rows += _load(random, minutes, f"L{loads}", inside, "steam-134", contents)
            if random.random() < 0.8:
                minutes += random.choice([0, 10])
                for number in range(random.randint(1, 2)):
                    packs.append(f"L{loads}P{number}")
                    rows.append(
                        row(minutes, "packed", packs[-1], load=f"L{loads}", note="fine tip")
                    )
        elif sets:
            what = random.choice(["join", "leave"])
            rows.append(row(minutes, what, random.choice(items), note="S1"))
    if rows and random.random() < 0.3:
        rows.append(rows.pop(random.randrange(len(rows))))
    return rows


def _use(random: Random, minutes: int, item: str) -> Row:
    return row(
        minutes,
        "use",
        item,
        patient=f"REF{random.choice('1234')}",
        who=random.choice(["N1", ""]),
        ear=random.choice(["", "left"]),
        note="suction pump" if item == "PUMP" else "",
    )


def _load(
    random: Random,
    minutes: int,
    load: str,
    inside: Sequence[str],
    programme: str,
    contents: dict[str, int],
) -> list[Row]:
    result = random.choice(["pass", "fail", ""])
    return [
        row(
            minutes,
            "load",
            item,
            load=load,
            machine="M1",
            programme=programme,
            result=result,
            who="N2",
            note=f"contents={contents[item]}" if item in contents else "",
        )
        for item in inside
    ]
