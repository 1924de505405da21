"""The sheet for occupational health: who was hurt by what, and whom the instrument may carry."""

from dataclasses import dataclass

from equip.deliver.paper.page import SMALL, STRONG, TITLE, Sheet, Style, pages
from labels.faces import BOLD

NAME = "The Instrument Book – for occupational health"


@dataclass(frozen=True, slots=True)
class SourceLine:
    """An earlier use: whom, by token or as unmasked, when, with what, how surely in plain words."""

    patient: str
    when: str
    item: str
    sure: str


@dataclass(frozen=True, slots=True)
class BetweenLine:
    """Something that happened since the last effective decontamination, and where it stands."""

    when: str
    item: str
    says: str
    entry: str


@dataclass(frozen=True, slots=True)
class InjurySheet:
    """All that the sheet says, in words and in the clinic's own time."""

    clinic: str
    entry: str
    person: str
    instrument: str
    when: str
    sources: tuple[SourceLine, ...]
    last_gates: tuple[tuple[str, str], ...]
    between: tuple[BetweenLine, ...]
    not_known: tuple[str, ...]
    since_told: str
    unmasked: str
    cautions: tuple[str, ...]
    made: str


def pdf(sheet: InjurySheet) -> bytes:
    """The sheet as PDF; the same bytes for the same content."""
    foot = f"{NAME} · entry {sheet.entry} · made {sheet.made}"
    return pages(lambda: _set(sheet), f"{NAME}, entry {sheet.entry}", foot)


def _set(sheet: InjurySheet) -> Sheet:
    page = Sheet()
    page.say(NAME, TITLE)
    page.say(f"{sheet.clinic} · made {sheet.made}", SMALL)
    page.space(6)
    head = [
        (f"{sheet.person} was hurt by {sheet.instrument}", Style(14, BOLD)),
        (f"{sheet.when}; entry {sheet.entry} of the book", Style(9)),
    ]
    page.banner(head, reverse=False)
    _sources(page, sheet)
    page.head("Last effective decontamination")
    page.table(sheet.last_gates or [("–", "None is recorded.")], (40, 60))
    if sheet.between:
        page.head("What happened since")
        rows = [(line.when, line.item, line.says, line.entry) for line in sheet.between]
        heads = ("When", "Thing", "What", "Entry")
        page.table(rows, (18, 24, 44, 14), heads=heads, style=Style(8))
    page.space(8)
    for says in sheet.cautions:
        page.say(says, STRONG)
    if page.altered:
        page.say("Some letters stand without their accent or as “?”; the screen shows them.", SMALL)
    return page


def _sources(page: Sheet, sheet: InjurySheet) -> None:
    page.head("Whom it may carry")
    if sheet.sources:
        rows = [(line.patient, line.when, line.item, line.sure) for line in sheet.sources]
        heads = ("Patient", "Used", "With", "How sure the record is")
        page.table(rows, (22, 18, 24, 36), heads=heads, first=STRONG)
    else:
        page.say("Nobody is recorded on it since its last effective decontamination.")
    for says in (*sheet.not_known, sheet.since_told, sheet.unmasked):
        if says:
            page.space(2)
            page.say(says)
