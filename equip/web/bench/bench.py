"""The Bench: one field that always has the focus, one answer that fills the screen."""

from uuid import uuid4

import msgspec
from flask import Blueprint, g, redirect, render_template, request, session, url_for
from flask.typing import ResponseReturnValue

from equip import acts
from equip.desk.act.answer import Answer
from equip.desk.bench import scanning
from equip.desk.bench.behind import BehindError
from equip.desk.bench.in_hand import strip
from equip.desk.loads import soak_acts
from equip.desk.machines.contact_times import running
from equip.desk.register import searches
from equip.rules.bench.transitions import Context
from equip.store.readings import act_rows
from equip.web.request.guard import anybody, writer

bp = Blueprint("bench", __name__)

_answer_from = msgspec.json.Decoder(Answer).decode
_RECENT = 12


@bp.get("/bench")
def bench_page() -> ResponseReturnValue:
    person = anybody()
    seen = scanning.sight(g.clinic, _bench(), g.now)
    wanted = act_rows.act_of(g.clinic.store, request.args.get("act", ""))
    is_its_own = wanted is not None and bool(wanted.answer) and wanted.bench == _bench()
    answer = _answer_from(wanted.answer) if wanted is not None and is_its_own else seen.ended
    return _shown(seen.context, answer, person.tag, after=seen.after)


@bp.post("/bench")
def scan() -> ResponseReturnValue:
    """A scan from the page. With the script only the middle of the page comes back."""
    person = writer()
    act = request.form.get("id") or str(uuid4())
    after = request.form.get("after")
    sent = scanning.Scan(
        act,
        _bench(),
        request.form.get("text", ""),
        after=after,
        repeats=request.form.get("repeats", ""),
    )
    try:
        reply = scanning.scan(g.clinic, sent, person.tag)
    except BehindError as fault:
        shown = after or ""
        page = _shown(fault.context, fault.answer, person.tag, after=shown, is_behind=True)
        return page, 200 if request.headers.get("X-Fragment") else 409
    if request.headers.get("X-Fragment"):
        return _shown(reply.context, reply.answer, person.tag, after=reply.act)
    return redirect(url_for("bench.bench_page", act=reply.act), code=303)


@bp.post("/bench/name")
def name() -> ResponseReturnValue:
    """Which bench this device is; kept on the device."""
    writer()
    session["bench"] = "".join(c for c in request.form.get("name", "") if c.isalnum() or c in " -")[
        :40
    ]
    return redirect(url_for("bench.bench_page"), code=303)


def _bench() -> str:
    return str(session.get("bench") or "bench 1")


def _shown(
    context: Context, answer: Answer | None, signed: str, *, after: str, is_behind: bool = False
) -> str:
    """The page, or its middle; *after* is the act that the scans of this screen follow."""
    recent = act_rows.recent_acts(g.clinic.store, _bench(), _RECENT)
    lines = [(act.at, _answer_from(act.answer)) for act in recent if act.answer]
    use_s, badge_s = scanning.runs_out(g.clinic, context, g.now)
    fragment = bool(request.headers.get("X-Fragment"))
    return render_template(
        "_bench.html" if fragment else "bench.html",
        bench_name=_bench(),
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
        hint=g.clinic.vault.hint(answer.patient) if answer is not None and answer.patient else "",
    )
