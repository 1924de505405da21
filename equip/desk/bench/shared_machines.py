"""The machine behind an instrument meets the same patient: an irrigator behind its handpiece.

So does a pump of which something is changed for each patient, as its liner. Nobody has to scan the
machine each time. Where only one can have been meant, by the place in hand or
because there is no other, it is written down with the use; where several can, its scan is asked
for.
"""

from collections.abc import Iterator, Sequence

from equip.desk.act.act import Act
from equip.facts import ItemType
from equip.rulebook.fitness import checks_each_use
from equip.rules.bench.transitions import Context
from equip.rules.fitness.standing import Standing
from equip.store.readings import item_rows


def met(act: Act, context: Context, standing: Standing, covers: Sequence[str]) -> list[Standing]:
    """The machines that meet the patient with what is used now, and were not scanned for it."""
    found = [_in_question(act, context, kind) for kind in _behind(act, standing, covers)]
    return [those[0] for those in found if len(those) == 1]


def unnamed(act: Act, context: Context, standing: Standing, covers: Sequence[str]) -> list[str]:
    """A sentence for each machine of which nobody said which one it was."""
    return [
        f"Scan the {kind.name.lower()} that it is used with: there are several."
        for kind in _behind(act, standing, covers)
        if len(_in_question(act, context, kind)) > 1
    ]


def unnamed_in(act: Act, context: Context) -> list[str]:
    """The same of the whole use that is finished now: whoever it was has to be said yet."""
    says = [
        f"{one} Say “one more”, then scan it: else its list lacks this patient."
        for tag in context.used
        for one in unnamed(act, context, act.standing(tag), ())
    ]
    return list(dict.fromkeys(says))


def _behind(act: Act, standing: Standing, covers: Sequence[str]) -> Iterator[ItemType]:
    """The types of the machines behind it and behind what it holds, whose patients are traced."""
    inside = item_rows.standings(act.store, list(covers))
    kinds = [act.kind(one) for one in (standing, *inside)]
    kinds += [act.house.kind(loose.type) for one in (standing, *inside) for loose in one.loose]
    each_use = checks_each_use(act.house.rules(act.at))
    for code in dict.fromkeys(kind.served_by for kind in kinds):
        machine = act.house.types.get(code)
        if machine is None:
            continue
        if machine.contact != "neither" or any(one.check in each_use for one in machine.checks):
            yield machine


def _in_question(act: Act, context: Context, kind: ItemType) -> list[Standing]:
    """Those it can have been; none where one of them was scanned for this use."""
    here = [one for one in item_rows.all_of_type(act.store, kind.code) if one.where == "here"]
    if any(one.item in context.used for one in here):
        return []
    there = [one for one in here if context.place and one.place == context.place]
    return there or here
