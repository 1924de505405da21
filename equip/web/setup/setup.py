"""Setup: the register, people, places, types, rules, benches, and how the house itself stands."""

from datetime import timedelta
from pathlib import Path

import msgspec
from flask import Blueprint, current_app, flash, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.cycles import methods
from equip.desk.people import competence
from equip.desk.register import import_file, items, machine_limits
from equip.rules.fitness.session import KINDS, band_of
from equip.rules.fitness.why_not import AUTHORITY
from equip.rules.people.competence import TASKS
from equip.scan import CARDS, read_tag
from equip.store.kept import people
from equip.store.ledger import ledger, verifying
from equip.store.post import agenda
from equip.store.readings import clinic_rows, item_rows
from equip.web.request.forms import chosen, day, needed, text, whole
from equip.web.request.guard import anybody, manager
from equip.web.setup import process_form, session_form

bp = Blueprint("setup", __name__, url_prefix="/setup")


@bp.get("")
def setup_page() -> ResponseReturnValue:
    anybody()
    metronome = current_app.extensions["parts"].metronome
    store = g.clinic.store
    return render_template(
        "setup.html",
        items=len(item_rows.items(store)),
        metronome=metronome,
        waiting=len(agenda.waiting(store)),
        stuck=len(agenda.stuck(store)),
        heads=ledger.heads(store),
        late=metronome is not None
        and metronome.last_tick is not None
        and g.now - metronome.last_tick > timedelta(minutes=5),
    )


@bp.get("/register")
def register() -> ResponseReturnValue:
    anybody()
    return render_template(
        "register.html",
        rows=item_rows.items(g.clinic.store),
        arrivals=items.ARRIVALS,
        columns=import_file.COLUMNS,
        problems=(),
        says="",
    )


@bp.post("/register")
def add() -> ResponseReturnValue:
    person = manager()
    kind = g.clinic.house.types.get(needed("type"))
    if kind is None:
        raise Refused("Choose a type.")
    tag = text("tag")
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        made = items.add_item(
            act,
            kind,
            chosen("arrival", tuple(items.ARRIVALS)),  # type: ignore[arg-type]
            tag=read_tag(tag).text if tag else "",
            name=text("name"),
            serial=text("serial"),
            maker_code=text("maker_code"),
            place=text("place"),
            aliases=(text("old_name"),) if text("old_name") else (),
        )
    return redirect(url_for("stock.thing", tag=made), code=303)


@bp.post("/register/file")
def add_file() -> ResponseReturnValue:
    """A register from a CSV file: every fault by line; all of it, or the good lines by consent."""
    person = manager()
    upload = request.files.get("file")
    if upload is None or not upload.filename:
        raise Refused("Choose a file first.")
    try:
        found = import_file.read_register(upload.read(), g.clinic.house, g.clinic.store)
    except import_file.UnreadableFile as problem:
        raise Refused(str(problem)) from None
    partial = bool(text("partial"))
    taken = 0
    if found.rows and (partial or not found.problems):
        with acting(g.clinic, person.tag, signed=person.tag) as act:
            taken = len(import_file.take_in(act, found.rows))
    return render_template(
        "register.html",
        rows=item_rows.items(g.clinic.store),
        arrivals=items.ARRIVALS,
        columns=import_file.COLUMNS,
        problems=found.problems,
        says=f"{taken} things are on the register now; {len(found.problems)} faults.",
    )


@bp.get("/people")
def people_page() -> ResponseReturnValue:
    anybody()
    today = g.clinic.house.today(g.now)
    soon_days = g.clinic.house.rules(g.now).whole("competence.soon-days")
    return render_template(
        "people.html",
        rights=items.RIGHTS,
        roles=items.ROLES,
        tasks=TASKS,
        today=today,
        soon_days=soon_days,
        lapsing=competence.lapsing(g.clinic, today, soon_days),
    )


@bp.post("/people")
def add_person() -> ResponseReturnValue:
    """A person, or a change of one, with a password and a PIN if they were typed."""
    person = manager()
    clinic = g.clinic
    password, pin = request.form.get("password", ""), request.form.get("pin", "")
    if password and len(password) < 10:
        raise Refused("A password has at least ten characters.")
    if pin and not (pin.isascii() and pin.isdigit() and 4 <= len(pin) <= 8):
        raise Refused("A PIN has four to eight digits.")
    with acting(clinic, person.tag, signed=person.tag) as act:
        tag = items.add_person(
            act,
            needed("name"),
            chosen("role", items.ROLES),
            request.form.getlist("rights"),
            tag=text("tag"),
            active=not text("left"),
        )
    pepper = current_app.extensions["parts"].pepper
    people.keep_secrets(clinic.store, tag, password=password, pin=pin, pepper=pepper)
    return redirect(url_for("setup.people_page"), code=303)


@bp.get("/places")
def places() -> ResponseReturnValue:
    anybody()
    return render_template("places.html")


@bp.post("/places")
def add_place() -> ResponseReturnValue:
    person = manager()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        items.add_place(act, needed("name"), needed("sort"))
    return redirect(url_for("setup.places"), code=303)


@bp.get("/types")
def types() -> ResponseReturnValue:
    anybody()
    return render_template("types.html", types=list(g.clinic.house.types.values()))


@bp.get("/types/<code>")
def type_page(code: str) -> ResponseReturnValue:
    anybody()
    kind = g.clinic.house.types.get(code) or facts.ItemType(code="", name="")
    rules = g.clinic.house.rules(g.now)
    return render_template(
        "type.html",
        kind=kind,
        steps=process_form.STEPS,
        heats=process_form.HEATS,
        rows=process_form.ROWS,
        limits=machine_limits.NAMES,
        families=machine_limits.FAMILIES,
        checks=KINDS,
        bands={one.check: band_of(one, None) for one in kind.checks},
        programmes=rules.programmes(),
        machines=[one for one in g.clinic.house.types.values() if one.sort == "machine"],
    )


@bp.post("/types")
def define_type() -> ResponseReturnValue:
    """A type by form. What a form does not show of an old type (its card) stays."""
    person = manager()
    code = needed("code").lower()
    before = g.clinic.house.types.get(code) or facts.ItemType(code=code, name="")
    sort = chosen("sort", ("instrument", "machine", "set"))
    kind = msgspec.structs.replace(
        before,
        name=needed("name"),
        sort=sort,
        contact=chosen("contact", ("touches", "water-or-air", "neither")),
        tagged=bool(text("tagged")),
        reuse=chosen("reuse", ("reusable", "single-use", "single-patient")),
        hollow=bool(text("hollow")),
        heat_proof=bool(text("heat_proof")),
        optic=chosen("optic", ("", "rigid", "flexible")),
        route=_route(before.route),
        use_limit=whole("use_limit") or None,
        cycle_limit=whole("cycle_limit") or None,
        instructions=text("instructions"),
        process=process_form.read_process(sort, before.process),
        checks=session_form.read_checks(before.checks),
        served_by=_served_by(before) if sort == "instrument" else "",
    )
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        items.define_type(act, kind)
    return redirect(url_for("setup.type_page", code=code), code=303)


def _served_by(before: facts.ItemType) -> str:
    """The machine it is used with; as it was where the form did not ask."""
    if "served_by" not in request.form:
        return before.served_by
    machines = [one.code for one in g.clinic.house.types.values() if one.sort == "machine"]
    return chosen("served_by", ("", *machines))


_USUALLY_STOPS: tuple[facts.Hazard, ...] = ("bacteria-viruses", "spores")


def _route(before: tuple[facts.RouteStep, ...]) -> tuple[facts.RouteStep, ...]:
    """The steps of the form, in the order they had; a new one goes where it usually stands.

    An effective step keeps what it stopped before; a new one stops what the usual ones do.
    """
    known = {step.step: step for step in before}
    order = [step.step for step in before]
    for place, name in enumerate(process_form.STEPS):
        if name not in order:
            later = [order.index(one) for one in process_form.STEPS[place:] if one in order]
            order.insert(min(later, default=len(order)), name)
    made = (_route_step(name, text(f"step_{name}"), known.get(name)) for name in order)
    return tuple(step for step in made if step is not None)


def _route_step(
    name: facts.Step, how: str, before: facts.RouteStep | None
) -> facts.RouteStep | None:
    if how == "gate":
        stops = before.stops if before is not None and before.stops else _USUALLY_STOPS
        return facts.RouteStep(step=name, stops=stops)
    if how in ("needed", "on the way"):
        return facts.RouteStep(step=name, required=how == "needed")
    return None


@bp.get("/rules")
def rules() -> ResponseReturnValue:
    anybody()
    today = g.clinic.house.today(g.now)
    return render_template(
        "rules.html",
        rules=sorted(g.clinic.house.rules(g.now).values(), key=lambda rule: rule.id),
        book=g.clinic.house.book,
        today=today,
        authority=AUTHORITY,
        overrides=clinic_rows.overrides(g.clinic.store),
    )


@bp.post("/rules")
def set_rule() -> ResponseReturnValue:
    person = manager()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        items.set_rule(act, needed("rule"), needed("value"), needed("reason"), day("since"))
    return redirect(url_for("setup.rules"), code=303)


@bp.get("/method")
def method() -> ResponseReturnValue:
    anybody()
    return render_template("methods.html", shown=methods.methods(g.clinic, g.now))


@bp.get("/benches")
def benches() -> ResponseReturnValue:
    anybody()
    return render_template("benches.html", cards=CARDS, key="", keys=people.keys(g.clinic.store))


@bp.post("/benches")
def add_bench() -> ResponseReturnValue:
    """A bench key for the JSON API; it is shown once and kept only as a hash."""
    person = manager()
    key = people.open_session(g.clinic.store, person.tag, "key", g.now, label=needed("label"))
    return render_template("benches.html", cards=CARDS, key=key, keys=people.keys(g.clinic.store))


@bp.post("/benches/<key>/close")
def close_bench(key: str) -> ResponseReturnValue:
    """A bench key that was lost opens nothing any more."""
    manager()
    if not people.close_key(g.clinic.store, key):
        raise Refused("That bench key is closed already.")
    return redirect(url_for("setup.benches"), code=303)


@bp.post("/verify")
def verify() -> ResponseReturnValue:
    """Recompute every seal now; the whole proof with the projections is on the command line."""
    anybody()
    data = Path(g.clinic.settings.data)
    fault = verifying.verify_chain(g.clinic.store, verifying.read_heads(data / "heads.txt"))
    if fault is None:
        flash("Every seal agrees, and nothing is missing.")
    else:
        flash(f"Broken at {fault.site}/{fault.position}: {fault.says}")
    return redirect(url_for("setup.setup_page"), code=303)
