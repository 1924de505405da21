"""The logbook of anything: a patient, an item, a load, a person, in order of time, both ways."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from equip import facts
from equip.desk.act.act import Refused
from equip.desk.clinic import Clinic
from equip.desk.lookback import moves, use_marks
from equip.desk.lookback.moves import NOT_MOVED, Moved
from equip.desk.lookback.use_marks import UseAfter, UseMark
from equip.rules.fitness.standing import fold
from equip.rules.logbook.lines import Margin, margin, tell
from equip.rules.logbook.names import Names
from equip.rules.wording import counted
from equip.scan import UnreadableScan, read, show_tag
from equip.store.ledger.about import (
    Spot,
    in_time,
    newest_about,
    told_about,
    told_between,
    withdrawn,
)
from equip.store.ledger.ledger import Entry
from equip.store.readings import exposure_rows, item_rows, load_rows, lot_rows, use_rows
from equip.store.readings.use_rows import TouchRow
from equip.typed import is_digits

_LATE = timedelta(minutes=5)


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """One line of the logbook. *path* is the entry that proves it, *moved* whose it is by now."""

    at: datetime
    recorded_at: datetime
    path: str
    kind: str
    text: str
    who: str
    margin: Margin
    withdrawn: bool = False
    late: bool = False
    marks: tuple[UseMark, ...] = ()
    moved: Moved = NOT_MOVED


@dataclass(frozen=True, slots=True)
class HistoryPage:
    """Everything that the history of one subject shows; *earlier* leads to the lines before."""

    subject: str
    title: str
    says: tuple[str, ...]
    lines: tuple[HistoryLine, ...]
    touches: tuple[TouchRow, ...]
    earlier: str = ""
    after: tuple[UseAfter, ...] = ()
    more_after: int = 0


def find(clinic: Clinic, text: str) -> str:
    """The subject that a search text names: a tag, an old name, a person's name, a reference.

    A patient reference is looked up by its keyed index; whoever asks knew it already, so
    nothing is unmasked.
    """
    wanted = " ".join(text.split())
    if not wanted:
        raise Refused("Type or scan a tag, a patient reference, a load or a name.")
    if wanted.startswith("t") and told_about(clinic.store, wanted):
        return wanted
    alias = item_rows.aliased(clinic.store, wanted)
    if alias is not None:
        return alias
    token = clinic.vault.find(wanted)
    if token is not None:
        return token
    people = [p.tag for p in clinic.house.staff.values() if p.name.lower() == wanted.lower()]
    if len(people) == 1:
        return people[0]
    try:
        reading = read(wanted, clinic.patients)
    except UnreadableScan as problem:
        raise Refused(str(problem)) from None
    if reading.kind == "tag" and told_about(clinic.store, reading.value):
        return reading.value
    raise Refused("Nothing in this book goes by that: check the spelling, or scan it.")


def page(clinic: Clinic, subject: str, *, most: int | None = None, before: str = "") -> HistoryPage:
    """The history of *subject*, oldest line first: all of it, or the newest *most* lines.

    *before* is the `earlier` of a later page, and Refused if it is none.
    """
    entries, earlier, came = _told(clinic, subject, most, before)
    touches = _touches(clinic, subject)
    marks = use_marks.marks_of(clinic, subject, entries, touches)
    lines = tuple(
        replace(line, marks=marks.get(line.path, ()), moved=came.get(line.path, line.moved))
        for line in entry_lines(clinic, entries)
    )
    after, more = use_marks.uses_after(clinic, subject) if subject[:1] == "L" else ((), 0)
    return HistoryPage(
        subject,
        title(clinic, subject),
        (*_says(clinic, touches), *_other_tokens(clinic, subject)),
        lines,
        touches,
        earlier,
        after,
        more,
    )


def _told(
    clinic: Clinic, subject: str, most: int | None, before: str
) -> tuple[list[Entry], str, dict[str, Moved]]:
    """The entries of a page, where the page before it begins, and what was moved to *subject*."""
    is_patient = subject.startswith("t")
    here, came = moves.moved_here(clinic.store, subject) if is_patient else ([], {})
    if most is None:
        return sorted([*told_about(clinic.store, subject), *here], key=in_time), "", came
    spot = _spot(before)
    if spot is not None:
        edge = (spot.at, spot.site, spot.position)
        here = [one for one in here if (facts.micros(one.fact.at), one.site, one.position) < edge]
    newest = newest_about(clinic.store, subject, most + 1, spot)
    entries = sorted([*newest, *here], key=in_time)[-most - 1 :]
    return entries[-most:], _mark(entries[1]) if len(entries) > most else "", came


def _mark(entry: Entry) -> str:
    return f"{facts.micros(entry.fact.at)}.{entry.site}.{entry.position}"


def _spot(text: str) -> Spot | None:
    if not text:
        return None
    at, _, rest = text.partition(".")
    site, _, position = rest.partition(".")
    if not (is_digits(at, 20) and is_digits(position, 18) and len(text) < 60):
        raise Refused(f"“{text[:60]}” is no place in a logbook: start from its newest page.")
    return Spot(int(at), site, int(position))


def entry_lines(clinic: Clinic, entries: list[Entry]) -> list[HistoryLine]:
    """Any entries of the ledger as lines."""
    names = Names(kind=lambda code: clinic.house.kind(code).name, place=clinic.house.place_name)
    gone = withdrawn(clinic.store, (entry.fact.act for entry in entries))
    went = moves.moved_away(clinic.store, entries)
    return [
        replace(_line(clinic, entry, gone, names), moved=went.get(entry.path, NOT_MOVED))
        for entry in entries
    ]


def title(clinic: Clinic, subject: str) -> str:
    """What a subject is called at the head of its page."""
    row = item_rows.item_row(clinic.store, subject)
    if row is not None:
        return clinic.house.label(row)
    if subject in clinic.house.staff:
        return clinic.house.person_name(subject)
    if subject in clinic.house.places:
        return clinic.house.place_name(subject)
    lot = lot_rows.lot_of(clinic.store, subject)
    if lot is not None:
        return f"Lot {lot.number} of {lot.name} {show_tag(subject)}"
    if subject.startswith("L") and len(subject) == 10:
        return f"Load {show_tag(subject)}"
    if use_rows.use_of(clinic.store, subject) is not None:
        return "One use"
    return f"Patient {subject}" if subject.startswith("t") else subject


def _touches(clinic: Clinic, subject: str) -> tuple[TouchRow, ...]:
    if subject.startswith("L"):
        return tuple(use_rows.touches_behind(clinic.store, subject))
    if subject.startswith("t"):
        return tuple(use_rows.touches_on(clinic.store, subject))
    return tuple(use_rows.touches_of(clinic.store, subject))


def _says(clinic: Clinic, touches: tuple[TouchRow, ...]) -> tuple[str, ...]:
    """How many uses there are, how many of them may have exposed their patient, and to whom they
    can be traced: an exposure is traceable, and is said first."""
    if not touches:
        return ()
    rows = (exposure_rows.exposure_of(clinic.store, one.item, one.use) for one in touches)
    found = [row for row in rows if row is not None]
    gaps = sum(1 for touch in touches if touch.gap)
    says = [counted(len(touches), "use")]
    if found:
        decided = sum(1 for row in found if not row.open)
        beside = f" ({decided} decided by a look-back)" if decided else ""
        says.append(f"{counted(len(found), 'exposure')}{beside}")
    missing = "1 gap" if gaps == 1 else f"{gaps} gaps"
    says += [f"{len(touches) - gaps} traceable", missing]
    return (", ".join(says),)


def _other_tokens(clinic: Clinic, subject: str) -> tuple[str, ...]:
    """Where else the same patient stands: both ways of writing a reference had a token once."""
    others = clinic.vault.others_of(subject) if subject.startswith("t") else ()
    return tuple(f"The same patient stands here as {other} too: see both." for other in others)


def _margin(clinic: Clinic, fact: facts.Fact) -> Margin:
    if isinstance(fact, facts.LoadReleased):
        load = load_rows.load_of(clinic.store, fact.load)
        standing = item_rows.standing_of(clinic.store, load.machine) if load else None
        process = clinic.house.kind(standing.type).process if standing else None
        if process is not None and {"disinfect", "sterilise"}.isdisjoint(process.steps):
            return ""
        if load is not None and load.stops == ():
            return ""
    if isinstance(fact, facts.Stepped) and fact.contact_s and not _stayed_wet(clinic, fact):
        return ""
    return margin(fact)


def _stayed_wet(clinic: Clinic, fact: facts.Stepped) -> bool:
    """Whether nothing touched the thing before its contact time was over."""
    until = fact.at + timedelta(seconds=fact.contact_s)
    after = told_between(clinic.store, fact.item, fact.at, until)
    gone = withdrawn(clinic.store, (entry.fact.act for entry in after))
    stand = [entry.fact for entry in after if entry.fact.act not in gone]
    done = fold(fact.item, [fact, *stand]).done
    return bool(done) and not done[0].refused


def _line(clinic: Clinic, entry: Entry, gone: set[str], names: Names) -> HistoryLine:
    fact = entry.fact
    return HistoryLine(
        at=fact.at,
        recorded_at=entry.recorded_at,
        path=entry.path,
        kind=str(type(fact).__struct_config__.tag),
        text=tell(fact, names),
        who=clinic.house.person_name(fact.by) if fact.by else "",
        margin=_margin(clinic, fact),
        withdrawn=fact.act in gone,
        late=entry.recorded_at - fact.at > _LATE,
    )
