"""The least a server can do with a scan: take it in, one bare insert, commit, answer.

The same framework, server, threads, driver and settings of the database as the book's own, a
connection kept by each thread and one lock about the writing. Run in a process of its own:
`python -m tests.measure.floor FILE PORT`.
"""

import sys
import threading
from typing import Any

from flask import Flask, Response, request
from peewee import sqlite3  # type: ignore[attr-defined]  # whichever driver the book uses
from waitress.server import create_server

from equip.store.database import PRAGMAS

THREADS = 4  # as many as `equip.installation` serves with


def create_app(path: str) -> Flask:
    """An application that keeps each body it is sent."""
    app = Flask("floor")
    here, one_writer = threading.local(), threading.Lock()

    def connection() -> Any:
        if not hasattr(here, "connection"):
            here.connection = sqlite3.connect(path, isolation_level=None)
            for name, value in PRAGMAS.items():
                here.connection.execute(f"PRAGMA {name} = {value}")
        return here.connection

    connection().execute("CREATE TABLE IF NOT EXISTS scan (id INTEGER PRIMARY KEY, body BLOB)")

    @app.post("/api/scans")
    def scans() -> Response:
        body = request.get_data(cache=False)
        with one_writer:
            connection().execute("INSERT INTO scan (body) VALUES (?)", (body,))
        return Response("{}", mimetype="application/json")

    return app


def main(path: str, port: str) -> None:
    """Serve until stopped."""
    create_server(create_app(path), host="127.0.0.1", port=int(port), threads=THREADS).run()


if __name__ == "__main__":
    main(*sys.argv[1:])
