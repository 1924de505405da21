"""What nobody knows of what makes an item fit: it stops nothing, and a Yes says it."""

from collections.abc import Iterable, Iterator

from equip.rules.fitness.standing import Done
from equip.rules.loads.load import Load

_WITH_A_LOT = frozenset({"clean", "disinfect"})


def of_the_load(load: Load, *, sterilises: bool) -> Iterator[str]:
    """What is not known of the load that makes an item fit; *sterilises*: it takes indicators."""
    codes = {reason.code for reason in load.reasons}
    if load.past:
        yield "what the log of its load shows (it ran before this book)"
        return
    if not load.log and load.typed:
        yield "what the machine’s log shows (values were read off the machine)"
    if "machine-limits-not-known" in codes:
        yield "whether its load kept the machine’s own limits (they are not set)"
    read = [one for one in load.indicators if "result-not-counted" not in one.codes]
    if sterilises and not read and not load.typed.get("indicator"):
        if any(one.code == "turned" for one in load.stated):
            yield "what an indicator inside its load shows (only those on the packs were seen)"
        else:
            yield "whether an indicator in its load turned (none was read)"
    if any(test.result is None for test in load.spores):
        yield "whether spores grew in the test of its load (not read yet)"


def of_the_steps(done: Iterable[Done]) -> Iterator[str]:
    """Steps by hand for which a lot may be scanned, and none was."""
    for one in done:
        by_hand = not one.load and not one.lots and not one.void
        for step in one.steps if by_hand else ():
            if step in _WITH_A_LOT:
                yield f"what “{step}” was done with (no lot was scanned)"


def said(parts: Iterable[str]) -> str:
    """All of it as one sentence, each once; "" if there is nothing."""
    once = list(dict.fromkeys(parts))
    return f"Not known: {'; '.join(once)}." if once else ""
