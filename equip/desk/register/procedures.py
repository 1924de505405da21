"""Kinds of procedure: what each needs and how long it takes, so that a list can be played ahead."""

import re
from collections.abc import Sequence

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.facts import ItemType, Loose, Procedure

ROWS = 10
"""The most types that one procedure needs."""
_MOST = 50


def needable(kind: ItemType) -> bool:
    """Whether a procedure may need it: whatever is no machine that runs loads."""
    return kind.process is None


def define(
    act: Act, name: str, minutes: int, needs: Sequence[tuple[str, int]], *, offered: bool = True
) -> Procedure:
    """A new procedure, or a change of the one of that name. Refused with a sentence."""
    name = " ".join(name.split())
    code = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")
    if not code or not name[0].isalpha():
        raise Refused("A procedure needs a name that begins with a letter, such as “Both ears”.")
    if not 1 <= minutes <= 600:
        raise Refused(f"{name}: {minutes} min was read; from 1 to 600 is possible.")
    if not needs:
        raise Refused(f"{name} needs nothing: choose the types of which it opens one or more.")
    kinds = [kind for kind, _ in needs]
    for kind, count in needs:
        known = act.house.types.get(kind)
        if known is None or not needable(known):
            raise Refused(f"“{kind}” is no type that a procedure can need: choose one of the list.")
        if kinds.count(kind) > 1:
            raise Refused(f"{known.name} stands twice: give it once, with how many of it.")
        if not 1 <= count <= _MOST:
            raise Refused(f"{known.name}: {count} was read; give a number from 1 to {_MOST}.")
    made = Procedure(
        code=code,
        name=name,
        minutes=minutes,
        needs=tuple(Loose(type=kind, count=count) for kind, count in needs),
        offered=offered,
    )
    act.tell(facts.ProcedureDefined, procedure=made)
    return made
