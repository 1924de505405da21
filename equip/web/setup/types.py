"""Setup, Types: what instruments and machines are, and their way back to fit."""

from typing import Literal

import msgspec
from flask import Blueprint, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip import facts
from equip.desk.act.act import acting
from equip.desk.register import items, machine_limits
from equip.rules.fitness.session import KINDS, band_of
from equip.web.request.forms import chosen, needed, text, whole
from equip.web.request.guard import anybody, manager
from equip.web.setup import process_form, session_form

bp = Blueprint("types", __name__, url_prefix="/setup")


@bp.get("/types")
def types_page() -> ResponseReturnValue:
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
        holds=_holds(before) if sort == "machine" else "use",
    )
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        items.define_type(act, kind)
    return redirect(url_for("types.type_page", code=code), code=303)


def _served_by(before: facts.ItemType) -> str:
    """The machine it is used with; as it was where the form did not ask."""
    if "served_by" not in request.form:
        return before.served_by
    machines = [one.code for one in g.clinic.house.types.values() if one.sort == "machine"]
    return chosen("served_by", ("", *machines))


def _holds(before: facts.ItemType) -> Literal["use", "day"]:
    """How long what its gate did holds; as it was where the form did not ask."""
    if "gate_holds" not in request.form:
        return before.holds
    return "day" if chosen("gate_holds", ("use", "day")) == "day" else "use"


_USUALLY_STOPS: tuple[facts.Hazard, ...] = ("bacteria-viruses", "spores")


def _route(before: tuple[facts.RouteStep, ...]) -> tuple[facts.RouteStep, ...]:
    """The steps of the form, in the order they had; a new one goes where it usually stands.

    An effective step keeps what it stopped before; a new one stops what the usual ones do. Where
    the form asked for no step at all, the route is as it was.
    """
    if not any(f"step_{name}" in request.form for name in process_form.STEPS):
        return before
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
