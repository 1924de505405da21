"""Random small histories of things that meet patients, loads and one another, ties included."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from hypothesis import strategies as st

from equip.rules.lookback.sweep import Contact, Effect

TAGGED = ("E1", "E2")
EFFECTS: tuple[Effect, ...] = ("clears", "unproven", "void")


class Listed:
    """A history that lies in a list."""

    def __init__(self, contacts: Iterable[Contact]) -> None:
        self.contacts = sorted(contacts)
        self._of: dict[str, list[Contact]] = defaultdict(list)
        for contact in self.contacts:
            self._of[contact.item].append(contact)

    def after(self, item: str, at: int) -> list[Contact]:
        return [one for one in self._of[item] if one.at >= at]

    def before(self, item: str, at: int) -> list[Contact]:
        return [one for one in reversed(self._of[item]) if one.at <= at]

    def into(self, load: str) -> Sequence[Contact]:
        return [c for c in self.contacts if c.what == "gate" and c.ref == load and c.contents]

    def out_of(self, load: str) -> Sequence[Contact]:
        return [c for c in self.contacts if c.what == "made" and c.ref == load]


@st.composite
def histories(draw: st.DrawFn, most: int = 14) -> list[Contact]:
    """Uses, gates, arrivals of two tagged things and of packs that are made out of loads."""
    packs = {f"P{number}": draw(st.integers(1, 4)) for number in range(draw(st.integers(1, 3)))}
    contacts: list[Contact] = []
    for number in range(draw(st.integers(1, most))):
        at = draw(st.integers(0, 12))
        entry = f"T/{number}"
        item = draw(st.sampled_from([*TAGGED, *packs]))
        match draw(st.sampled_from(("use", "use", "use", "gate", "mix", "outside"))):
            case "use":
                patient = draw(st.sampled_from("abcd"))
                # one patient, one moment: things used together are one use
                contacts.append(Contact(at, item, "use", entry, f"u-{patient}-{at}", patient))
            case "outside":
                contacts.append(Contact(at, item, "outside", entry, entry))
            case "gate":
                effect = draw(st.sampled_from(EFFECTS))
                contacts.append(Contact(at, item, "gate", entry, f"L{number}", "", effect))
            case _:
                contacts += draw(_mixing(number, at, packs))
    return sorted({(c.at, c.item, c.what, c.ref): c for c in contacts}.values())


@st.composite
def _mixing(draw: st.DrawFn, number: int, at: int, packs: dict[str, int]) -> list[Contact]:
    """A load that packs go into and come out of; what it did is the same for all that is in it."""
    load, effect = f"M{number}", draw(st.sampled_from(EFFECTS))
    goes = draw(st.lists(st.sampled_from(sorted(packs)), min_size=1, unique=True))
    made = [
        Contact(at, pack, "gate", f"T/{number}.{pack}", load, effect=effect, contents=packs[pack])
        for pack in goes
    ]
    for index in range(draw(st.integers(0, 2))):
        fresh = f"N{number}.{index}"
        packs[fresh] = draw(st.integers(1, 4))
        later = at + draw(st.integers(0, 2))
        made.append(
            Contact(later, fresh, "made", f"T/{number}.{fresh}", load, contents=packs[fresh])
        )
    return made
