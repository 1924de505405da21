"""One load: its cycle with its working, why it may not be released, and what is decided."""

from collections.abc import Callable

from flask import Blueprint, Response, abort, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Act, Refused, acting
from equip.desk.cycles import reference_questions
from equip.desk.cycles.picture import cycle
from equip.desk.cycles.reasons import CAUTION, explained
from equip.desk.cycles.record_sheet import record_pdf
from equip.desk.loads import (
    loads,
    release_questions,
    second_look,
    second_reader,
    soak_acts,
    stages,
    watched_folder,
)
from equip.desk.loads.end import LogFile, ReadOff, SoakChecks, end_load
from equip.desk.loads.release import reject_load, release_load, why_not_release
from equip.desk.people import competence
from equip.desk.register import set_counts
from equip.photos import Photo
from equip.rules.cycles import figures
from equip.rules.cycles.boundaries import BOUNDARIES
from equip.rules.cycles.matching import clock_says
from equip.rules.cycles.typed.fields import FIELDS, machine_of
from equip.rules.loads.load import Load
from equip.rules.machines.sheet import ahead_of
from equip.rules.wording import several
from equip.store.readings import (
    case_rows,
    item_rows,
    load_rows,
    log_rows,
    lot_rows,
    machine_rows,
    use_rows,
)
from equip.web.loads.address import load_at
from equip.web.loads.evidence import photo_handed_in, typed_values
from equip.web.loads.indicators import beside
from equip.web.request.forms import cycle_number, needed, text
from equip.web.request.guard import anybody, manager, writer

bp = Blueprint("load", __name__)


@bp.get("/loads/<tag>")
def load_page(tag: str) -> ResponseReturnValue:
    anybody()
    return _shown(load_at(tag))


def _shown(load: Load, problem: str = "") -> str:
    """The page of one load; what was typed comes back with what was wrong with it."""
    person, tag = anybody(), load.load
    store, house = g.clinic.store, g.clinic.house
    machine = item_rows.standing_of(store, load.machine)
    kind = house.kind(machine.type) if machine else None
    names = {
        put.item: house.kind(standing.type).name
        for put in load.inside
        if (standing := item_rows.standing_of(store, put.item)) is not None
    }
    return render_template(
        "load.html",
        load=load,
        machine_name=kind.name if kind else "",
        programmes=kind.process.programmes if kind and kind.process else (),
        names=names,
        why=competence.asks_why(g.clinic, person.tag, "run", g.now),
        uncounted=set_counts.uncounted_in(g.clinic, load),
        questions=release_questions.asked_before(g.clinic, load),
        why_not=why_not_release(g.clinic, load, person.tag, g.now),
        readers=several([house.person_name(reader) for reader in load.readers])
        or "those who typed them",
        fields=FIELDS[machine_of(kind.process)] if kind and kind.process else (),
        has_log=kind is not None and kind.process is not None and kind.process.heat != "none",
        reading=second_reader.asked(g.clinic, load, kind.process, person.tag)
        if kind and kind.process
        else None,
        look=second_look.asked(g.clinic, load, kind.process, person.tag)
        if kind and kind.process
        else None,
        picture=cycle.shown(g.clinic, load),
        reasons=explained(load),
        figures=figures.shown(load.figures),
        typed_again=figures.shown,
        caution_says=CAUTION,
        soak=soak_acts.shown(g.clinic, load, g.now),
        lots=[lot for lot in lot_rows.lots(store, house.zone) if lot.tag in load.lots],
        stages=stages.shown(g.clinic, load, kind.process if kind else None),
        boundaries=BOUNDARIES,
        cases=[case for case in case_rows.doubts(store) if tag in case.loads],
        used=use_rows.touches_behind(store, tag),
        strays=[stray for stray in log_rows.stray_logs(store) if stray.machine == load.machine],
        is_described=bool(log_rows.layout_of(store, load.machine)),
        clock=clock_says(load.started, load.log_started),
        problem=problem,
        given=request.form,
        **beside(load, kind.process if kind else None),
        beside=reference_questions.beside(g.clinic, load),
        before=ahead_of(machine_rows.cycle_numbers(store, load.machine), load.cycle_no),
    )


@bp.post("/loads/<tag>/end")
def end(tag: str) -> ResponseReturnValue:
    """The cycle is over, or its evidence comes."""
    return _typed(tag, _end)


@bp.post("/loads/<tag>/start")
def start(tag: str) -> ResponseReturnValue:
    """The machine runs; of a soak bath its temperature and strip may be typed now."""
    return _typed(
        tag,
        lambda act, load, _: loads.start(
            act,
            load,
            _soak_values(),
            text("strip_lot"),
            who=competence.by_reason(act, "run", text("all_the_same")),
        ),
    )


def _typed(tag: str, tell: Callable[[Act, Load, Photo | None], None]) -> ResponseReturnValue:
    """A form with values is taken; if it will not do it comes back with why."""
    person = writer()
    load_at(tag)
    try:
        photo = photo_handed_in()
        with acting(g.clinic, person.tag, signed=person.tag) as act:
            tell(act, load_at(tag), photo)
    except Refused as refused:
        return _shown(load_at(tag), str(refused)), 400
    return redirect(url_for("load.load_page", tag=tag), code=303)


@bp.get("/loads/<tag>/record.pdf")
def record(tag: str) -> ResponseReturnValue:
    """The cycle record on paper, whoever asks for it."""
    anybody()
    load = load_at(tag)
    data = record_pdf(g.clinic, load, g.now)
    headers = {"Content-Disposition": f'inline; filename="load-{load.load}.pdf"'}
    return Response(data, mimetype="application/pdf", headers=headers)


@bp.post("/loads/<tag>/<what>")
def change(tag: str, what: str) -> ResponseReturnValue:
    person = writer()
    load_at(tag)
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        load = load_rows.load_of(act.store, tag)
        assert load is not None  # noqa: S101 — found above
        match what:
            case "programme":
                loads.choose_programme(act, load, needed("programme"))
            case "release":
                held = request.form.getlist("held")
                release_load(
                    act,
                    load,
                    person.tag,
                    held,
                    text("note"),
                    answer=text("answer"),
                    seen=request.form.getlist("asked"),
                    said=request.form.getlist("said") or None,
                )
            case "reference":
                manager()
                reference_questions.choose(act, load, text("reason"))
            case "reject":
                reject_load(act, load, person.tag, text("reason"))
            case "stages":
                stages.correct(act, load, {name: text(name) for name in BOUNDARIES}, text("reason"))
            case "again":
                tag, _ = loads.run_again(act, load)
            case _:
                abort(404)
    return redirect(url_for("load.load_page", tag=tag), code=303)


def _end(act: Act, load: Load, photo: Photo | None) -> None:
    cycle_no = cycle_number("cycle_no")
    if stray := text("stray", 64):
        watched_folder.claim(act, load, stray, cycle_no)
        return
    upload = request.files.get("log")
    if upload is not None and upload.filename:
        log = LogFile(upload.read(), upload.filename)
        end_load(act, load, log, cycle_no=cycle_no)
        return
    if soak_acts.is_soak(load):
        checks = SoakChecks(_soak_values(), text("strip_lot"), early=text("early") == "yes")
        end_load(act, load, checks)
        return
    end_load(act, load, ReadOff(typed_values(), photo), cycle_no=cycle_no)


def _soak_values() -> dict[str, str]:
    return {name: text(name) for name in ("celsius", "strip")}
