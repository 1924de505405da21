"""How one exposure came about: its surest path with what lay around it, drawn and in words."""

from dataclasses import dataclass, replace
from datetime import datetime

from markupsafe import Markup

from equip.deliver.picture.layout import NARROW, SCREEN
from equip.deliver.picture.path import Left, Moment, PathDrawn, picture, rows_of
from equip.deliver.picture.svg import svg
from equip.desk.clinic import Clinic
from equip.desk.lookback.path.moments import Told, moments_of
from equip.facts import Hazard, moment
from equip.rules.lookback.hazards import USUAL
from equip.rules.lookback.sweep import Exposure
from equip.store.fold.contacts import Contacts, Doubted


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the same content in words; *path* is its entry, empty for a count."""

    says: str
    path: str = ""
    at: datetime | None = None
    on_path: bool = False


@dataclass(frozen=True, slots=True)
class Shown:
    """The picture for a wide and a narrow screen, and its content as lines in order."""

    wide: Markup
    narrow: Markup
    lines: tuple[Line, ...]


def shown(
    clinic: Clinic,
    exposure: Exposure,
    *,
    hazard: Hazard = USUAL,
    doubted: Doubted | None = None,
    name: str = "path",
) -> Shown:
    """What a page shows of an exposure; *doubted* are the gates that a look-back takes for nothing.

    *name* begins the ids in the picture: give each its own where a page shows several.
    """
    told = moments_of(clinic, exposure, Contacts(clinic.store, hazard, doubted), hazard)
    drawn = PathDrawn(
        moments=tuple(one.moment for one in told),
        title="How the exposure came about",
        says="The same content stands beside it as a list.",
    )
    brief = replace(drawn, moments=tuple(_brief(one) for one in told))
    by_moment = {id(one.moment): one for one in told}
    return Shown(
        wide=Markup(svg(picture(brief, SCREEN), f"{name}-wide")),  # noqa: S704 — ours, escaped
        narrow=Markup(svg(picture(brief, NARROW), f"{name}-narrow")),  # noqa: S704
        lines=tuple(_line(row, by_moment) for row in rows_of(drawn)),
    )


def _brief(one: Told) -> Moment:
    """As in the picture, where a patient's token is as short as on every page."""
    token = one.contact.patient
    short = one.moment.says.replace(token, f"t·{token[1:5]}") if token else one.moment.says
    return replace(one.moment, says=short)


def _line(row: Moment | Left, by_moment: dict[int, Told]) -> Line:
    if isinstance(row, Left):
        return Line(row.says)
    contact = by_moment[id(row)].contact
    return Line(row.says, contact.entry, moment(contact.at), row.on_path)
