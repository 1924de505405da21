"""Setup, People: who works here, what each may decide, their passwords and PINs."""

from flask import Blueprint, current_app, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip import typed
from equip.desk.act.act import Refused, acting
from equip.desk.people import competence
from equip.desk.register import items
from equip.rules.people.competence import TASKS
from equip.store.kept.people import keep_secrets
from equip.web.request.forms import chosen, needed, text
from equip.web.request.guard import anybody, manager

bp = Blueprint("people", __name__, url_prefix="/setup")


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
    if pin and not typed.is_digits(pin, 8, least=4):
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
    keep_secrets(clinic.store, tag, password=password, pin=pin, pepper=pepper)
    return redirect(url_for("people.people_page"), code=303)
