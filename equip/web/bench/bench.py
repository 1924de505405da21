"""The Bench: one field that always has the focus, one answer that fills the screen."""

from dataclasses import dataclass
from uuid import uuid4

import msgspec
from flask import Blueprint, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from equip import acts
from equip.desk.act.answer import Answer
from equip.desk.bench import scanning
from equip.desk.bench.behind import BehindError
from equip.desk.bench.in_hand import strip
from equip.desk.bench.patient_end import patient_end
from equip.desk.loads import soak_acts
from equip.desk.machines.contact_times import running
from equip.desk.register import devices as benches
from equip.desk.register import searches
from equip.rules.bench.transitions import Context
from equip.scan import show_tag
from equip.store.kept import devices
from equip.store.kept.devices import Device
from equip.store.readings import act_rows, item_rows
from equip.web.bench import device
from equip.web.request.guard import anybody, writer

bp = Blueprint("bench", __name__)

_answer_from = msgspec.json.Decoder(Answer).decode
_RECENT = 12


@bp.get("/bench")
def bench_page() -> ResponseReturnValue:
    person, here = anybody(), _here()
    bench = here.bench
    seen = scanning.sight(g.clinic, bench, g.now)
    wanted = act_rows.act_of(g.clinic.store, request.args.get("act", ""))
    is_its_own = wanted is not None and bool(wanted.answer) and wanted.bench == bench
    answer = _answer_from(wanted.answer) if wanted is not None and is_its_own else seen.ended
    return _shown(here, seen.context, answer, person.tag, after=seen.after)


@bp.post("/bench")
def scan() -> ResponseReturnValue:
    """A scan from the page. With the script only the middle of the page comes back."""
    person, here = writer(), _here()
    bench = here.bench
    act = request.form.get("id") or str(uuid4())
    after = request.form.get("after")
    sent = scanning.Scan(
        act,
        bench,
        request.form.get("text", ""),
        after=after,
        repeats=request.form.get("repeats", ""),
    )
    try:
        reply = scanning.scan(g.clinic, sent, person.tag)
    except BehindError as fault:
        shown = after or ""
        page = _shown(here, fault.context, fault.answer, person.tag, after=shown, is_behind=True)
        return page, 200 if request.headers.get("X-Fragment") else 409
    if request.headers.get("X-Fragment"):
        return _shown(here, reply.context, reply.answer, person.tag, after=reply.act)
    return redirect(url_for("bench.bench_page", act=reply.act), code=303)


@dataclass(frozen=True, slots=True)
class _Here:
    """The bench that this device is; *device* is None as long as nobody named it."""

    bench: str
    device: Device | None


def _here() -> _Here:
    known = device.named()
    return _Here(device.own_name() if known is None else known.bench, known)


def _shown(
    here: _Here,
    context: Context,
    answer: Answer | None,
    signed: str,
    *,
    after: str,
    is_behind: bool = False,
) -> str:
    """The page, or its middle; *after* is the act that the scans of this screen follow."""
    recent = act_rows.recent_acts(g.clinic.store, here.bench, _RECENT)
    lines = [(act.at, _answer_from(act.answer)) for act in recent if act.answer]
    use_s, badge_s = scanning.runs_out(g.clinic, context, g.now)
    fragment = bool(request.headers.get("X-Fragment"))
    return render_template(
        "_bench.html" if fragment else "bench.html",
        here=here,
        shared=_shared(here),
        strip=strip(g.clinic, context, signed),
        timers=[*running(g.clinic, context, g.now), *soak_acts.running(g.clinic, g.now)],
        answer=answer,
        after=after,
        use_s=use_s,
        badge_s=badge_s,
        is_behind=is_behind,
        lines=lines,
        missing=() if fragment else searches.all_open(g.clinic),
        label=acts.label,
        cards=acts.buttons(context.mode),
        mishaps=acts.buttons_with_item() if context.item else (),
        mishap_of=_named(context.item) if context.item else "",
        hint=patient_end(g.clinic, answer.patient) if answer is not None and answer.patient else "",
    )


def _named(item: str) -> str:
    """An item by its name and tag, as answers have it."""
    row = item_rows.item_row(g.clinic.store, item)
    return g.clinic.house.label(row) if row is not None else show_tag(item)


def _shared(here: _Here) -> int:
    """How many other devices are this bench too."""
    every = devices.devices(g.clinic.store)
    return len(benches.others_at(every, here.bench, device.device_id()))
