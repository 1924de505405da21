"""Loads: every machine with its last load and today's sheet, what waits, what was decided."""

from flask import Blueprint, g, render_template
from flask.typing import ResponseReturnValue

from equip.desk.loads import second_look
from equip.desk.machines import may_run, spores
from equip.rules.machines.sheet import soaks, unrecorded
from equip.store.readings import item_rows, load_rows, log_rows, machine_rows
from equip.web.request.guard import anybody

bp = Blueprint("loads", __name__)


@bp.get("/loads")
def loads_page() -> ResponseReturnValue:
    anybody()
    store, house = g.clinic.store, g.clinic.house
    machines = [
        (row, house.kind(row.type), load_rows.last_load(store, row.tag))
        for row in item_rows.items(store)
        if house.kind(row.type).process is not None
    ]
    today = {}
    for row, kind, _ in machines:
        if kind.process is not None:
            today[row.tag] = may_run.in_short(g.clinic, row.tag, kind.process, g.now)
    return render_template(
        "loads.html",
        sheets=today,
        strays=log_rows.stray_logs(store),
        missing={
            row.tag: sum(last - first + 1 for first, last in unrecorded(numbers))
            for row, _, _ in machines
            if (numbers := machine_rows.cycle_numbers(store, row.tag))
        },
        waiting=load_rows.open_loads(store),
        looks=second_look.waiting(g.clinic),
        today=house.today(g.now),
        decided=load_rows.recent_loads(store, 60),
        machines=machines,
        growing=spores.waiting(g.clinic, g.now),
        baths={row.tag for row, kind, _ in machines if kind.process and soaks(kind.process)},
    )
