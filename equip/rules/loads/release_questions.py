"""What is asked of whoever releases a load: each is a good sign, and the release says Yes to it."""

from collections.abc import Iterable

from equip.facts import Step, Told

WASHED = Told(
    code="wash-judged",
    says="Is every step ahead of it, such as its wash, judged and released?",
)
"""Asked of the records, not of the person: it is theirs to answer."""


def questions(steps: Iterable[Step], *, wrapped: bool, bare: bool) -> tuple[Told, ...]:
    """The questions about a load of a machine that does *steps*, each to be answered by looking.

    *wrapped*: there are packs in it; *bare*: there are items without a pack.
    """
    done = set(steps)
    asked: list[tuple[str, str]] = []
    if "sterilise" in done and wrapped:
        asked += [
            ("dry", "Is every pack dry?"),
            ("whole", "Is every pack whole, without a tear or a hole?"),
            ("sealed", "Is every seal closed all along?"),
            ("turned", "Has the indicator on every pack turned?"),
        ]
    if "sterilise" in done and bare:
        asked.append(("bare-dry", "Is every item without a pack dry?"))
    if "clean" in done:
        asked.append(("clean", "Does every item look clean, its joints and channels too?"))
    if "dry" in done:
        asked.append(("washed-dry", "Is every item dry?"))
    if "disinfect" in done and "clean" not in done:
        says = "Was every item under the solution all along, its channels filled?"
        asked.append(("covered", says))
    return tuple(Told(code=code, says=says) for code, says in asked)
