"""Exposed now and look-backs as JSON, page by page; with a bench key or a session."""

import msgspec
from flask import Blueprint, Response, g, request

from equip import typed
from equip.desk.act.act import Refused
from equip.desk.lookback import exposed_now as exposed
from equip.desk.lookback import exposure_question
from equip.typed import Mistyped
from equip.web.request.guard import anybody

bp = Blueprint("trace_api", __name__, url_prefix="/api")

_LIMIT, _MOST = 100, 500
_PAGING = ("after", "limit")
_ASKED = (*exposure_question.BY, "from", "to", "hazard", "generations")


@bp.get("/exposed")
def exposed_now() -> Response:
    """As `exposed-now --json`, the open exposures oldest first; `next` is null at the end."""
    anybody()
    _known(_PAGING)
    return _json(exposed.now_as_json(g.clinic, request.args.get("after", ""), _limit()))


@bp.get("/look-back")
def look_back() -> Response:
    """As `lookback --json`, its exposures paged; patients are tokens in question and answer."""
    anybody()
    _known((*_PAGING, *_ASKED))
    given = {name: [v for v in request.args.getlist(name) if v] for name in _ASKED}
    asked = exposure_question.read_question(given)
    after = request.args.get("after", "")
    return _json(exposure_question.paged_answer(g.clinic, asked, after, _limit()))


def _known(names: tuple[str, ...]) -> None:
    """A word that is not known is refused: a misspelt limit of the question widens the answer."""
    if unknown := sorted(set(request.args) - set(names)):
        raise Refused(f"{len(unknown)} unknown in the address: it takes {', '.join(names)}.")


def _limit() -> int:
    try:
        return typed.whole(request.args.get("limit", str(_LIMIT)), least=1, most=_MOST)
    except Mistyped:
        raise Refused(f"“limit” is a whole number from 1 to {_MOST}.") from None


def _json(content: dict[str, object]) -> Response:
    return Response(msgspec.json.encode(content), mimetype="application/json")
