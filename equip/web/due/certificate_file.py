"""A certificate as a file: taken out of a form, and given back exactly as it was handed in."""

from flask import Response, abort, g, request

from equip.desk.upkeep import certificates
from equip.desk.upkeep.certificates import Paper
from equip.store.kept import files


def uploaded() -> Paper | None:
    """The certificate of this form, looked at before an act begins; None if there is none."""
    upload = request.files.get("certificate")
    if upload is None or not upload.filename:
        return None
    return certificates.looked_at(g.clinic, upload.read(), upload.filename)


def given_back(digest: str, name: str) -> Response:
    """The file of that hash, as nothing but what its first bytes say; 404 if there is none."""
    data = files.fetch(g.clinic.store, digest) if digest else None
    kind = certificates.kind_of(data) if data is not None else None
    if data is None or kind is None:
        abort(404)
    mimetype = "application/pdf" if kind == "pdf" else f"image/{kind}"
    return Response(
        data,
        mimetype=mimetype,
        headers={
            "Content-Disposition": f'attachment; filename="{name}.{kind}"',
            "X-Content-Type-Options": "nosniff",
            "Content-Security-Policy": "default-src 'none'; sandbox",
        },
    )
