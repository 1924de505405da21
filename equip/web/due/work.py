"""Work: raised, given to somebody, sent away with a statement, back, written up, signed off."""

from flask import Blueprint, Response, abort, flash, g, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from equip.deliver.paper.statement import Statement, pdf
from equip.desk.act.act import acting
from equip.desk.upkeep import duties, work_acts
from equip.rules.upkeep.work import STATES, Work
from equip.scan import show_tag
from equip.store.readings import duty_rows, item_rows, work_rows
from equip.web.due.certificate_file import given_back, uploaded
from equip.web.request.forms import chosen, day, decimal, maybe_day, needed, tag, text
from equip.web.request.guard import anybody, manager, writer

bp = Blueprint("work", __name__, url_prefix="/due/work")

_CAUTION = (
    "This statement supports a competent person and does not replace the receiver’s own "
    "precautions. The maker’s instructions, local decontamination policy and the law come first."
)


@bp.get("")
def work_list_page() -> ResponseReturnValue:
    anybody()
    return render_template(
        "works.html",
        open=work_rows.open_work(g.clinic.store),
        closed=work_rows.closed_work(g.clinic.store),
        states=STATES,
        label=_label,
        now=g.now,
    )


@bp.get("/<name>")
def work_page(name: str) -> ResponseReturnValue:
    anybody()
    work = _work(name)
    stands = item_rows.standing_of(g.clinic.store, work.item)
    return render_template(
        "work.html",
        work=work,
        label=_label(work.item),
        states=STATES,
        now=g.now,
        today=g.clinic.house.today(g.now),
        stands=stands,
        row=_duty(work),
        staff=[one for one in g.clinic.house.staff.values() if one.active],
        known=work_acts.known_of(g.clinic, stands, g.now) if stands else None,
    )


def _duty(work: Work) -> object:
    wanted = work.raised.duty if work.raised else ""
    rows = duty_rows.duties_of(g.clinic.store, work.item)
    return next((row for row in rows if row.duty == wanted), None)


@bp.post("")
def raise_one() -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        name = work_acts.raise_work(
            act,
            tag("item"),
            text("what"),
            duty=text("duty"),
            out_of_use=bool(text("out_of_use")),
        )
    return redirect(url_for("work.work_page", name=name), code=303)


@bp.post("/<name>/<step>")
def change(name: str, step: str) -> ResponseReturnValue:
    person = manager() if step == "sign-off" else writer()
    paper = uploaded() if step == "write-up" else None
    kept = False
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        match step:
            case "assign":
                work_acts.assign(act, name, person=text("person"), firm=text("firm"))
            case "send":
                work_acts.send(act, name, needed("receiver"), text("declared"))
            case "receive":
                work_acts.receive(act, name, text("sender"))
            case "write-up":
                work_acts.write_up(
                    act,
                    name,
                    day("done"),
                    text("found"),
                    text("left"),
                    parts=text("parts"),
                    cost=decimal("cost"),
                    paper=paper,
                    issued=maybe_day("issued"),
                    not_after=maybe_day("not_after"),
                    hours=decimal("hours"),
                )
            case "sign-off":
                kept = work_acts.sign_off(
                    act,
                    name,
                    chosen("decision", ("service", "keep")),  # type: ignore[arg-type]
                    text("reason"),
                    meets=bool(text("meets")),
                )
            case _:
                abort(404)
    if kept:
        flash("It stays in quarantine: see its own page for why.")
    return redirect(url_for("work.work_page", name=name), code=303)


@bp.get("/<name>/certificate")
def certificate(name: str) -> ResponseReturnValue:
    """The file exactly as it was handed in, as nothing but what its first bytes say."""
    anybody()
    done = _work(name).done
    return given_back(done.certificate if done else "", f"{name}-certificate")


@bp.get("/<name>/statement.pdf")
def statement(name: str) -> ResponseReturnValue:
    """The statement that went with it, as it was given then."""
    anybody()
    work = _work(name)
    sent = work.sent
    if sent is None:
        abort(404)
    row = item_rows.item_row(g.clinic.store, work.item)
    zone = g.clinic.house.zone
    thing = [
        ("Thing", _label(work.item)),
        ("Serial number", row.serial if row and row.serial else "not recorded"),
        ("Goes to", sent.receiver),
        ("What for", work.raised.what if work.raised else ""),
    ]
    made = pdf(
        Statement(
            clinic=g.clinic.house.name,
            made=f"{sent.at.astimezone(zone):%Y-%m-%d %H:%M}",
            thing=thing,
            shown=sent.shown,
            recorded=sent.recorded,
            declared=sent.declared,
            by=g.clinic.house.person_name(sent.by),
            entry=f"{name} · {show_tag(work.item)}",
            caution=_CAUTION,
        )
    )
    disposition = f'inline; filename="{name}-statement.pdf"'
    return Response(made, mimetype="application/pdf", headers={"Content-Disposition": disposition})


def _label(item: str) -> str:
    return duties.label_of(g.clinic, item)


def _work(name: str) -> Work:
    work = work_rows.work_of(g.clinic.store, name)
    if work is None:
        abort(404)
    return work
