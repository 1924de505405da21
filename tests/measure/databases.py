"""The databases that are measured: SQLite, and the server of EQUIP_TEST_POSTGRES if one runs."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlsplit
from uuid import uuid4

import psycopg


def servers() -> dict[str, str]:
    """The URL of a server by the name of what it runs; "" stands for SQLite's file."""
    found = {"SQLite": ""}
    if server := os.environ.get("EQUIP_TEST_POSTGRES", ""):
        found["PostgreSQL"] = server
    return found


@contextmanager
def empty(server: str) -> Iterator[str]:
    """An empty database of its own on *server*, gone afterwards; "" stands for SQLite's file."""
    if not server:
        yield ""
        return
    name = f"equip_measure_{uuid4().hex}"
    with psycopg.connect(server, autocommit=True) as at:
        at.execute(f'CREATE DATABASE "{name}"')  # type: ignore[call-overload]
        try:
            yield urlsplit(server)._replace(path=f"/{name}").geturl()
        finally:
            at.execute(f'DROP DATABASE "{name}" WITH (FORCE)')  # type: ignore[call-overload]
