"""What only the whole of a file of the past tells: which names are packs, sets, machines."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from equip.desk.past.file import PastRow

Change = tuple[datetime, str, str]
"""When something joined or left a set, which of both, what it was."""


@dataclass
class Plan:
    """What only the whole file tells: which names are packs, sets and machines, since when."""

    since: dict[str, datetime] = field(default_factory=dict)
    kinds: dict[str, str] = field(default_factory=dict)
    packs: dict[str, int] = field(default_factory=dict)
    made_here: dict[str, PastRow] = field(default_factory=dict)
    sets: set[str] = field(default_factory=set)
    machines: dict[str, datetime] = field(default_factory=dict)
    loads: dict[str, list[PastRow]] = field(default_factory=dict)
    members: dict[str, list[Change]] = field(default_factory=dict)
    ears: dict[tuple[str, datetime], set[str]] = field(default_factory=dict)


def plan_of(rows: Iterable[PastRow]) -> Plan:
    """Read once through all rows; nothing is told yet."""
    plan = Plan()
    mixed: set[str] = set()
    for row in rows:
        if row.item:
            plan.since[row.item] = min(row.when, plan.since.get(row.item, row.when))
        if row.machine:
            plan.machines[row.machine] = min(row.when, plan.machines.get(row.machine, row.when))
        match row.what:
            case "load":
                plan.loads.setdefault(row.load, []).append(row)
            case "packed":
                mixed.add(row.load)
                plan.packs.setdefault(row.item, 1)
                plan.made_here.setdefault(row.item, row)
                plan.kinds.setdefault(row.item, row.note)
            case "join" | "leave":
                plan.sets.add(row.note)
                plan.since[row.note] = min(row.when, plan.since.get(row.note, row.when))
                plan.members.setdefault(row.note, []).append((row.when, row.what, row.item))
            case "use":
                plan.ears.setdefault((row.patient, row.when), set()).add(row.ear)
        if row.what in ("use", "load") and row.note:
            plan.kinds.setdefault(row.item, row.note)
    for load in mixed:
        for row in plan.loads.get(load, ()):
            plan.packs[row.item] = row.contents or plan.packs.get(row.item, 1)
    for changes in plan.members.values():
        changes.sort(key=lambda one: (one[0], one[1] == "leave"))
    return plan
