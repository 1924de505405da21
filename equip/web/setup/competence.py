"""Setup, People: how one person stands for each task; an assessment or leave is written down."""

from hashlib import sha256

from flask import Blueprint, abort, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import acting
from equip.desk.people import competence
from equip.rules.people.competence import OUTCOMES, TASKS
from equip.web.request.forms import chosen, day, maybe_day, text
from equip.web.request.guard import anybody, manager, writer

bp = Blueprint("competence", __name__, url_prefix="/setup/people")


@bp.get("/<tag>")
def competence_page(tag: str) -> ResponseReturnValue:
    anybody()
    house = g.clinic.house
    if tag not in house.staff:
        abort(404)
    today = house.today(g.now)
    rules = house.rules(g.now)
    return render_template(
        "competence.html",
        one=house.staff[tag],
        today=today,
        lines=competence.lines(g.clinic, tag, today, rules.whole("competence.soon-days")),
        history=competence.history(house, tag),
        tasks=TASKS,
        outcomes=OUTCOMES,
        months=rules["competence.months"],
        leave_days=rules.whole("competence.leave-days"),
    )


@bp.post("/<tag>/assessed")
def assess(tag: str) -> ResponseReturnValue:
    """Of a certificate only its hash is kept: the file itself stays where the clinic keeps it."""
    person = manager()
    upload = request.files.get("certificate")
    given = upload.read() if upload is not None and upload.filename else b""
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        for task in request.form.getlist("task") or [""]:
            competence.assess(
                act,
                tag,
                task,
                chosen("outcome", tuple(OUTCOMES)),
                day("since"),
                until=maybe_day("until"),
                assessor=text("assessor"),
                outside=text("outside", 120),
                evidence=text("evidence"),
                file=sha256(given).hexdigest() if given else "",
            )
    return redirect(url_for("competence.competence_page", tag=tag), code=303)


@bp.post("/<tag>/allowed")
def allow(tag: str) -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        competence.allow(act, tag, chosen("task", tuple(TASKS)), day("until"), text("reason"))
    return redirect(url_for("competence.competence_page", tag=tag), code=303)
