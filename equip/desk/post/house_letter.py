"""The house's daily letter: everything that is due, what is odd, and the newest seals."""

from datetime import date, datetime

from equip.deliver.post.digest import HeadLine, digest
from equip.desk.clinic import Clinic
from equip.desk.cycles import charts
from equip.desk.machines import spores
from equip.desk.post.due_reminders import due_line
from equip.desk.register.stock import stock
from equip.desk.upkeep.due_line import Due
from equip.desk.upkeep.duties import due
from equip.scan import show_tag
from equip.store.ledger import ledger
from equip.store.post import agenda
from equip.store.readings import item_rows


def house_letter(clinic: Clinic, day: date, now: datetime) -> tuple[str, str, list[Due]]:
    """Subject and text of that day's letter, and what is due that it tells of."""
    found = due(clinic, day, within_days=14)
    heads = [
        HeadLine(site, head.position, head.seal.hex())
        for site, head in sorted(ledger.heads(clinic.store).items())
    ]
    shelf = stock(clinic, now)
    alerts = [f"{len(shelf.lapsing)} things run out of time within a day."] if shelf.lapsing else []
    alerts += spores.late_lines(clinic, now)
    alerts += _odd_machines(clinic, now)
    if stuck := len(agenda.stuck(clinic.store)):
        letters = "1 letter was" if stuck == 1 else f"{stuck} letters were"
        alerts.append(f"{letters} not delivered: the outbox, under Setup, says why.")
    lines = [due_line(one) for one in found]
    return *digest(day, clinic.house.name, lines, heads, alerts), found


def _odd_machines(clinic: Clinic, now: datetime) -> list[str]:
    """What the control charts warn of, before a limit is broken."""
    says = []
    for row in item_rows.items(clinic.store):
        if clinic.house.kind(row.type).process is not None:
            name = f"{clinic.house.kind(row.type).name} {show_tag(row.tag)}"
            found = charts.signals(charts.charts(clinic, row.tag, now))
            says += [f"{name}: {one}" for one in found]
    return says
