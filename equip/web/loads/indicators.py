"""Indicators and spore tests of a load; a machine's spore tests and the loads they put in doubt."""

from typing import Any

from flask import Blueprint, abort, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import acting
from equip.desk.loads import indicators
from equip.desk.lookback.cases import spore_doubt
from equip.desk.machines import spores
from equip.facts import Process
from equip.rules.loads.load import Load
from equip.scan import show_tag
from equip.store.readings import item_rows, lot_rows, machine_rows
from equip.web.loads.address import load_at, process_at
from equip.web.request.forms import chosen, decimal, needed, text
from equip.web.request.guard import anybody, writer

bp = Blueprint("indicators", __name__)

_YES_NO = ("yes", "no")


def beside(load: Load, process: Process | None) -> dict[str, Any]:
    """What the part of a load's page that shows indicators and spore tests needs."""
    every = lot_rows.lots(g.clinic.store, g.clinic.house.zone)
    serving = [lot for lot in every if not lot.finished]
    return {
        "takes_indicators": indicators.takes_any(process),
        "unread_indicators": indicators.missing(g.clinic, load),
        "lot_names": {lot.tag: f"{lot.name}, lot {lot.number}" for lot in every},
        "indicator_lots": [lot for lot in serving if lot.sort == "chemical-indicator"],
        "spore_lots": [lot for lot in serving if lot.sort == "spore-test"],
        "places": indicators.PLACES,
        "results": indicators.RESULTS,
    }


@bp.post("/loads/<tag>/indicators/<what>")
def change(tag: str, what: str) -> ResponseReturnValue:
    person = writer()
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        load = load_at(tag)
        match what:
            case "read":
                indicators.read_indicator(
                    act,
                    load,
                    needed("lot"),
                    chosen("where", indicators.PLACES),  # type: ignore[arg-type]
                    chosen("result", tuple(indicators.RESULTS)),  # type: ignore[arg-type]
                    pack=text("pack"),
                    again=text("again") == "yes",
                )
            case "put-spore":
                with_control = chosen("with_control", _YES_NO) == "yes"
                indicators.put_spore(act, load, needed("lot"), with_control=with_control)
            case "read-spore":
                indicators.read_spore(
                    act,
                    load,
                    needed("lot"),
                    grew=chosen("grew", _YES_NO) == "yes",
                    control_grew=_yes_or_no("control_grew"),
                    incubated_h=decimal("incubated_h"),
                    incubator_c=decimal("incubator_c"),
                )
            case _:
                abort(404)
    return redirect(url_for("load.load_page", tag=tag, _anchor="indicators"), code=303)


@bp.get("/machines/<tag>/spores")
def machine(tag: str) -> ResponseReturnValue:
    anybody()
    process = _process(tag)
    clinic, now = g.clinic, g.now
    defect = request.args.get("defect") == "yes"
    known = {one.load for one in machine_rows.loads_run(clinic.store, tag, None, None)}
    wrong = [one for one in request.args.getlist("wrong") if one in known]
    found = spore_doubt.scope(clinic, tag, process, now, defect=defect, wrong=wrong)
    label = _label(tag)
    return render_template(
        "spores.html",
        scope=found,
        label=label,
        defect=defect,
        wrong=wrong,
        proposal=" ".join(reason.says for reason in found.reasons)[:500],
        kept_back=len(spore_doubt.stock_kept_back(clinic, label)),
        growing={one.row.load for one in spores.waiting(clinic, now)},
    )


@bp.post("/machines/<tag>/spores/look-back")
def look_back(tag: str) -> ResponseReturnValue:
    person = writer()
    process = _process(tag)
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        case = spore_doubt.confirm(
            act,
            tag,
            process,
            needed("why"),
            defect=text("defect") == "yes",
            wrong=request.form.getlist("wrong"),
        )
    return redirect(url_for("history.look_back", case=case), code=303)


@bp.post("/machines/<tag>/spores/let-out")
def let_out(tag: str) -> ResponseReturnValue:
    person = writer()
    process = _process(tag)
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        spore_doubt.let_out(act, tag, process, needed("reason"))
    return redirect(url_for("indicators.machine", tag=tag), code=303)


def _yes_or_no(name: str) -> bool | None:
    return chosen(name, _YES_NO) == "yes" if text(name) else None


def _process(tag: str) -> Process:
    process = process_at(tag)
    if not indicators.takes_any(process):
        abort(404)
    return process


def _label(tag: str) -> str:
    """The machine as the desk calls it."""
    row = item_rows.item_row(g.clinic.store, tag)
    assert row is not None  # noqa: S101 — it stands somewhere
    own = f", {row.name}" if row.name else ""
    return f"{g.clinic.house.kind(row.type).name}{own} {show_tag(tag)}"
