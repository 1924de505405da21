"""Errors of the JSON API: application/problem+json, as RFC 9457 has it."""

from flask import Response, json


def problem(status: int, title: str, detail: str) -> Response:
    body = json.dumps({"type": "about:blank", "title": title, "status": status, "detail": detail})
    return Response(body, status=status, mimetype="application/problem+json")
