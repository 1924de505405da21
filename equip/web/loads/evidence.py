"""What was read off a machine: the photo of it, shown and added; the second person's reading."""

from collections.abc import Callable

from flask import Blueprint, Response, abort, g, redirect, request, url_for
from flask.typing import ResponseReturnValue

from equip import photos
from equip.desk.act.act import Act, Refused, acting
from equip.desk.loads import second_look, second_reader
from equip.photos import Photo
from equip.rules.cycles.typed.fields import FIELDS
from equip.rules.loads.load import Load
from equip.store.kept import files
from equip.web.loads.address import load_at
from equip.web.request.forms import text
from equip.web.request.guard import NotAllowed, anybody, writer

bp = Blueprint("evidence", __name__, url_prefix="/loads")

_LONGEST = 1200
"""Points of the longer side of the copy that a page shows."""


@bp.get("/<tag>/photo")
def photo(tag: str) -> ResponseReturnValue:
    """The photo exactly as it was handed in, as nothing but the picture that it is."""
    anybody()
    data = _kept(tag)
    kind = photos.kind_of(data)
    if kind is None:
        abort(404)
    name = f"load-{tag}.{'jpg' if kind == 'jpeg' else 'png'}"
    return _picture(data, f"image/{kind}", f'inline; filename="{name}"')


@bp.get("/<tag>/photo/small")
def small(tag: str) -> ResponseReturnValue:
    """A copy of bounded size, without what the camera wrote beside the picture."""
    anybody()
    return _picture(photos.shown(_kept(tag), _LONGEST), "image/jpeg", "inline")


@bp.post("/<tag>/photo")
def add_photo(tag: str) -> ResponseReturnValue:
    person = writer()
    load_at(tag)
    handed_in = photo_handed_in()
    if handed_in is None:
        raise Refused("Choose a photo first.")
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        second_reader.add_photo(act, load_at(tag), handed_in)
    return redirect(url_for("load.load_page", tag=tag), code=303)


@bp.post("/<tag>/read-again")
def read_again(tag: str) -> ResponseReturnValue:
    """A second person's reading."""
    return _by_somebody_else(tag, second_reader.read_again)


@bp.post("/<tag>/look")
def look(tag: str) -> ResponseReturnValue:
    """A second look at what one person released alone, by somebody else."""
    return _by_somebody_else(tag, second_look.look)


def _by_somebody_else(
    tag: str, read: Callable[[Act, Load, dict[str, str]], bool]
) -> ResponseReturnValue:
    """What another person reads. A bench's key stands for a device, so it is not enough."""
    person = writer()
    if g.session_how == "key":
        raise NotAllowed("Whoever reads it as well signs in with their own password or PIN.")
    load_at(tag)
    with acting(g.clinic, person.tag, signed=person.tag) as act:
        read(act, load_at(tag), typed_values())
    return redirect(url_for("load.load_page", tag=tag), code=303)


def typed_values() -> dict[str, str]:
    """What was typed into the fields of any machine; which of them fit is decided elsewhere."""
    names = {field.name for fields in FIELDS.values() for field in fields}
    return {name: text(name) for name in sorted(names) if text(name)}


def photo_handed_in() -> Photo | None:
    """The photo of this form, looked at; None if there is none. Before an act begins."""
    upload = request.files.get("photo")
    if upload is None or not upload.filename:
        return None
    return second_reader.looked_at(g.clinic, upload.read(), upload.filename)


def _picture(data: bytes, mimetype: str, disposition: str) -> Response:
    return Response(
        data,
        mimetype=mimetype,
        headers={
            "Content-Disposition": disposition,
            "X-Content-Type-Options": "nosniff",
            "Content-Security-Policy": "default-src 'none'; sandbox",
        },
    )


def _kept(tag: str) -> bytes:
    load = load_at(tag)
    data = files.fetch(g.clinic.store, load.photo) if load.photo else None
    if data is None:
        abort(404)
    return data
