"""Proof files: asked for about a look-back or a load, given as a zip, told with their digest."""

from flask import Blueprint, Response, abort, g, render_template, request
from flask.typing import ResponseReturnValue

from equip.desk.act.act import Refused
from equip.desk.lookback.proof import proof_file
from equip.desk.lookback.proof.proof_file import ProofQuestion
from equip.store.readings import load_rows
from equip.typed import maybe_tag
from equip.web.request.forms import needed, text
from equip.web.request.guard import anybody, manager

bp = Blueprint("proofs", __name__, url_prefix="/proofs")


@bp.get("")
def proof_page() -> ResponseReturnValue:
    """What can be asked for, and what was given before."""
    anybody()
    about = _about(request.args.get("about", ""))
    if about is None:
        abort(404)
    given = proof_file.given_before(g.clinic, about)
    return render_template("proof.html", about=about, is_case=_is_case(about), given=given)


@bp.post("")
def give() -> ResponseReturnValue:
    """The zip. An auditor may ask as well: that it was given is told, nothing else changes."""
    unmask = text("unmask") == "yes"
    person = manager() if unmask else anybody()
    reason = needed("reason") if unmask else ""
    about = _about(needed("about"))
    if about is None:
        raise Refused("There is no such look-back or load: open it from its page.")
    given = proof_file.give(g.clinic, _question(about), person.tag, unmask, reason)
    disposition = f'attachment; filename="{given.name}"'
    return Response(
        given.made.data,
        mimetype="application/zip",
        headers={"Content-Disposition": disposition, "X-Content-Type-Options": "nosniff"},
    )


def _question(about: str) -> ProofQuestion:
    if _is_case(about):
        return proof_file.of_case(g.clinic, about)
    return proof_file.of_loads(g.clinic, (about,))


def _is_case(about: str) -> bool:
    return about.startswith("case-")


def _about(given: str) -> str | None:
    """The look-back or load that is meant; None if there is none."""
    if _is_case(given):
        return given if proof_file.is_case(g.clinic, given) else None
    tag = maybe_tag(given)
    return tag if tag and load_rows.load_of(g.clinic.store, tag) is not None else None
