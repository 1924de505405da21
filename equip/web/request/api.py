"""The JSON API: scans from benches and scripts. Errors are application/problem+json."""

from datetime import datetime
from typing import Annotated

import msgspec
from flask import Blueprint, Response, g, request
from flask_wtf.csrf import validate_csrf
from wtforms import ValidationError

from equip.desk.bench import scanning as bench
from equip.desk.bench.behind import BehindError
from equip.desk.bench.in_hand import as_json
from equip.web.request.guard import writer
from equip.web.request.problem import problem

bp = Blueprint("api", __name__, url_prefix="/api")

_ID = Annotated[str, msgspec.Meta(pattern=r"^[0-9A-Za-z-]{8,64}\Z")]
_BENCH = Annotated[str, msgspec.Meta(pattern=r"^[0-9A-Za-z -]{1,40}\Z")]


class ScanIn(msgspec.Struct, forbid_unknown_fields=True):
    """What a bench posts: an id it made, itself, the text, and if it can its place and time.

    *after* is the id of the act whose answer its screen shows, "" before the first: a scan of a
    screen that is behind its bench is refused with 409 and what changed. *repeats* is the id of the
    scan that the scanner fired twice, "" for none: whoever does not tell is judged by the clock.
    """

    id: _ID
    bench: _BENCH
    text: Annotated[str, msgspec.Meta(max_length=2000)]
    seq: Annotated[int, msgspec.Meta(ge=1, le=2**53)] | None = None
    at: Annotated[datetime, msgspec.Meta(tz=True)] | None = None
    after: Annotated[str, msgspec.Meta(max_length=200)] | None = None
    repeats: Annotated[str, msgspec.Meta(max_length=200)] | None = None


_decoder = msgspec.json.Decoder(ScanIn)


@bp.post("/scans")
def scans() -> Response | tuple[Response, int]:
    """One scan; the same id again gives the same answer (and `Idempotency-Key` may repeat it)."""
    person = writer()
    if not request.headers.get("Authorization"):
        try:
            validate_csrf(request.headers.get("X-CSRFToken"))
        except ValidationError:
            says = "Send the page's token as X-CSRFToken, or use a bench key."
            return problem(400, "No valid token", says), 400
    try:
        order = _decoder.decode(request.get_data(cache=False))
    except msgspec.DecodeError as fault:
        return problem(400, "Unreadable scan", _says(fault)), 400
    key = request.headers.get("Idempotency-Key", "").strip('"')
    if key and key != order.id:
        says = "Idempotency-Key and the scan's id differ: send the same."
        return problem(400, "Two ids", says), 400
    sent = bench.Scan(**msgspec.structs.asdict(order))
    try:
        reply = bench.scan(g.clinic, sent, person.tag)
    except BehindError as fault:
        return problem(409, "The screen is behind", _changed(fault)), 409
    content = msgspec.json.encode(as_json(g.clinic, reply, person.tag))
    return Response(content, mimetype="application/json")


def _changed(fault: BehindError) -> str:
    says = [fault.answer.what, *(reason.says for reason in fault.answer.reasons)]
    return " ".join([*says, fault.answer.next])


def _says(fault: msgspec.DecodeError) -> str:
    """The decoder's words without what was in the body: a patient may stand in it."""
    where = str(fault)
    return f"The body is no scan: {where}. Send id, bench and text as JSON."
