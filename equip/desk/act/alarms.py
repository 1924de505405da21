"""Word to the practice manager when uses are exposed now, or fewer of them can be traced.

Looked at as each act ends, from the tally before it and after it. What was sent stands in the
agenda, in the same transaction: it is sent once, and again only after the good value came back.
It names what, and never who.
"""

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from equip import facts
from equip.desk.clinic import House
from equip.facts import Fact
from equip.rules.wording import clock
from equip.scan import show_tag
from equip.store.database import Store
from equip.store.post import agenda, letters
from equip.store.readings import exposure_rows, item_rows, use_rows
from equip.store.readings.exposure_rows import ExposedRow

Tally = dict[str, int]
_FELL = "traceable:"
_NAMED = 3


@dataclass(frozen=True, slots=True)
class Ended:
    """An act as it ends: what it told, and the tally before and after it."""

    id: str
    now: datetime
    told: tuple[Fact, ...]
    before: Tally
    after: Tally


def watch(store: Store, house: House, ended: Ended) -> None:
    """Put on the agenda what must be known at once. Bringing in the past alarms nobody."""
    if undone := [fact.withdrawn for fact in ended.told if isinstance(fact, facts.Withdrawn)]:
        _watch_undone(store, house, ended, undone)
    if ended.before == ended.after:
        return
    if any(isinstance(fact, facts.PastBroughtIn) for fact in ended.told):
        return
    _watch_exposed(store, house, ended)
    _watch_traceable(store, house, ended)


# --- exposed now ------------------------------------------------------------------------------


def _watch_exposed(store: Store, house: House, ended: Ended) -> None:
    """Exposed now leaves 0: once, until it has been 0 again."""
    if not ended.before.get("open", 0) and ended.after.get("open", 0):
        _tell_exposed(store, house, ended)


def _tell_exposed(store: Store, house: House, ended: Ended) -> None:
    count = ended.after.get("open", 0)
    newest = exposure_rows.exposures(store, is_open=True, most=_NAMED, newest_first=True)
    named = "; ".join(_named(store, house, use) for use in reversed(newest))
    more = f"; {count - len(newest)} more" if count > len(newest) else ""
    says = (
        f"{_uses(count)} exposed now, where none was. {named}{more}."
        " Look at History, Exposed now, before these things are used again."
    )
    agenda.put(store, f"{_EXPOSED}{ended.id}", ended.now, "alert", says)


def _watch_undone(store: Store, house: House, ended: Ended, undone: list[str]) -> None:
    """What told of an exposure that is taken back is not sent; others that count still are told."""
    for act in undone:
        key = f"{_EXPOSED}{act}"
        if not agenda.exists(store, key):
            continue
        heard = letters.call_off(store, key, ended.now, _CALLED_OFF)
        if ended.after.get("open", 0) and not heard:
            _tell_exposed(store, house, ended)
        elif heard and not ended.after.get("open", 0):
            says = "What was told to be exposed was taken back: no use is exposed now."
            agenda.put(store, f"{_EXPOSED}{ended.id}", ended.now, "alert", says)


_EXPOSED = "exposed-now:"
_CALLED_OFF = "Called off: what it told of was taken back."


def _named(store: Store, house: House, use: ExposedRow) -> str:
    at = f"{use.at.astimezone(house.zone):%d %b %Y}, {clock(use.at, house.zone)}"
    return f"{called(store, house, use.item)}, used {at}, {use.certainty.word.replace('-', ' ')}"


def called(store: Store, house: House, item: str) -> str:
    """A thing by its type and tag, for whoever reads of it elsewhere."""
    standing = item_rows.standing_of(store, item)
    name = house.kind(standing.type).name if standing is not None and standing.type else "Thing"
    return f"{name} {show_tag(item)}"


def _uses(count: int) -> str:
    return "1 use is" if count == 1 else f"{count} uses are"


# --- traceable --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Fall:
    """An alert of the traceable share: the how-manieth, its day, the share before it fell."""

    number: int
    day: str
    good: Fraction

    @property
    def key(self) -> str:
        share = f"{self.good.numerator}/{self.good.denominator}"
        return f"{_FELL}{self.number:09d}:fell:{self.day}:{share}"


def _watch_traceable(store: Store, house: House, ended: Ended) -> None:
    """The share falls: once a day, and again on the same day if it had come back in between."""
    was, now = _share(ended.before), _share(ended.after)
    last = agenda.last_key(store, _FELL)
    standing = _standing(last)
    if standing is not None and now >= standing.good:
        if any(isinstance(fact, facts.Withdrawn) for fact in ended.told):
            letters.call_off(store, last, ended.now, _CALLED_OFF)
        agenda.put_nothing(store, f"{_FELL}{standing.number + 1:09d}:back", ended.now)
        return
    if now >= was or ended.after.get("gaps", 0) <= ended.before.get("gaps", 0):
        return
    day = house.today(ended.now).isoformat()
    if standing is not None and standing.day == day:
        return
    good = was if standing is None else standing.good
    fall = _Fall(_number(last) + 1, day, good)
    agenda.put(store, fall.key, ended.now, "alert", _says_fall(store, house, ended))


def _share(tally: Tally) -> Fraction:
    """What part of the uses is traceable; all of them while there is none."""
    uses = tally.get("uses", 0)
    return 1 - Fraction(tally.get("gaps", 0), uses) if uses else Fraction(1)


def _number(key: str) -> int:
    return int(key.removeprefix(_FELL).split(":")[0]) if key else 0


def _standing(key: str) -> _Fall | None:
    """The fall that has not come back yet, if the last key is one."""
    parts = key.split(":")
    if len(parts) != 5 or parts[2] != "fell":
        return None
    return _Fall(int(parts[1]), parts[3], Fraction(parts[4]))


def _says_fall(store: Store, house: House, ended: Ended) -> str:
    uses, gaps = ended.after.get("uses", 0), ended.after.get("gaps", 0)
    found = [
        called(store, house, item)
        for fact in ended.told
        if isinstance(fact, facts.Used)
        for item in (fact.item, *fact.covers)
        if use_rows.is_gap(store, item, fact.use)
    ]
    which = f" Nothing known stands before the use of {', '.join(found[:_NAMED])}." if found else ""
    return (
        f"Fewer uses can be traced: {uses - gaps} of {uses}.{which}"
        " Look at History, Gaps. You hear of this once a day until the share is what it was."
    )
