"""The parts put together: settings, store, keys, clinic, mail, metronome, server.

What only a server needs (pages, mail, the metronome) is imported where it begins to serve: a
command that reads the book is not to wait for it.
"""

import logging
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from equip.clock import Clock
from equip.desk.act.act import Refused, acting
from equip.desk.clinic import Clinic
from equip.desk.register import import_file, items, open_book
from equip.desk.register.import_file import Register
from equip.desk.register.open_book import Proof
from equip.settings.settings import Settings
from equip.store.database import LedgerUnguarded, Store, guard
from equip.store.fold.rebuild import migrated
from equip.store.kept import people
from equip.store.kept.keys import Keys, keys_in
from equip.store.kept.vault import Vault
from equip.store.ledger import ledger, verifying

if TYPE_CHECKING:
    from equip.deliver.post.mail import Mailer

_THREADS = 4


@dataclass(frozen=True, slots=True)
class Installation:
    """Everything that was put together, ready to be used."""

    settings: Settings
    clinic: Clinic
    keys: Keys
    clock: Clock

    @property
    def heads(self) -> Path:
        """The file in which the newest seals are kept apart from the ledger."""
        return Path(self.settings.data) / "heads.txt"

    def keep_heads(self, now: datetime) -> None:
        verifying.write_heads(self.heads, ledger.heads(self.clinic.store), now)


@contextmanager
def open_installation(
    settings: Settings, clock: Clock, *, guarded: bool = True, opened: bool = True
) -> Iterator[Installation]:
    """Open the book, making database, keys and starter types on the first run.

    Refuses with `LedgerUnguarded` if a trigger that guards the ledger is missing or altered,
    unless *guarded* is false (only `verify` looks at a ledger that stands open). With *opened*
    false the book of a new site is left for the caller to open.
    """
    data = Path(settings.data)
    data.mkdir(mode=0o700, parents=True, exist_ok=True)
    store = Store.open(settings.database_url)
    try:
        migrated(store)
        if guarded:
            guard(store)
        keys = keys_in(data)
        clinic = Clinic(store, Vault(store, keys), clock, settings)
        store.connect()
        if guarded:
            clinic.vault.index_again()
        if guarded and opened:
            open_book.open_book(clinic)
        installation = Installation(settings, clinic, keys, clock)
        yield installation
        if guarded:
            installation.keep_heads(clock())
    finally:
        store.dispose()


def proof_of(installation: Installation, *, chain_only: bool) -> Proof:
    """Whether the ledger is whole, guarded, and what the tables say follows from it."""
    kept = verifying.read_heads(installation.heads)
    proof = open_book.verify(
        installation.clinic, kept, chain_only=chain_only, scratch=Path(installation.settings.data)
    )
    try:
        guard(installation.clinic.store)
    except LedgerUnguarded as problem:
        return open_book.unguarded(proof, str(problem))
    return proof


def add_manager(installation: Installation, name: str, password: str) -> str:
    """A practice manager with every right; their badge."""
    if len(password) < 10:
        raise Refused("A password has at least ten characters: type it on standard input.")
    with acting(installation.clinic, by="") as act:
        tag = items.add_person(act, name, "manager", sorted(items.RIGHTS))
    people.keep_secrets(
        installation.clinic.store, tag, password=password, pin="", pepper=installation.keys.secret
    )
    return tag


def import_register(
    installation: Installation, data: bytes, *, partial: bool
) -> tuple[Register, list[str]]:
    """A register file taken in; what was wrong with it, and the tags of what was taken."""
    clinic = installation.clinic
    found = import_file.read_register(data, clinic.house, clinic.store)
    if found.problems and not partial:
        return found, []
    with acting(clinic, by="") as act:
        return found, import_file.take_in(act, found.rows)


def serve(installation: Installation) -> int:
    """Serve until stopped. One process, a few threads: SQLite has one writer anyway."""
    from waitress.server import create_server

    from equip.deliver.post.metronome import Metronome
    from equip.desk.act.links import Links
    from equip.desk.loads.watched_folder import Collector
    from equip.desk.post import tick
    from equip.web.application import Parts, create_app

    logging.basicConfig(level=logging.INFO, format="%(asctime)s %(name)s %(message)s")
    settings, clinic = installation.settings, installation.clinic
    mailer = mailer_of(settings)
    collector = Collector(clinic, settings.logs) if settings.logs else None

    links = Links(settings.base_url, installation.keys.secret)

    def beat() -> None:
        clinic.store.connect()
        clinic.store.settle()
        try:
            tick.beat(clinic, lambda: tick.tick(clinic, mailer, installation.keep_heads, links))
        finally:
            if collector is not None:
                collector.collect()

    metronome = Metronome(beat, every_s=30, clock=installation.clock)
    app = create_app(Parts(clinic, installation.keys.secret, metronome, installation.keys.secret))
    host, port = settings.address
    try:
        server = create_server(app, host=host, port=port, threads=_THREADS)
    except OSError as problem:
        raise Refused(
            f"Nothing can be served at {host}:{port} ({problem.strerror}): set EQUIP_ADDRESS."
        ) from None
    installation.keep_heads(installation.clock())
    metronome.start()
    print(f"The Instrument Book is open at http://{host}:{port}/", flush=True)
    try:
        server.run()
    finally:
        metronome.stop()
        server.close()
        installation.keep_heads(installation.clock())
        sys.stdout.flush()
    return 0


def mailer_of(settings: Settings) -> "Mailer | None":
    """The way to the mail server, None if none was set."""
    from equip.deliver.post.mail import Mailer

    if not settings.smtp:
        return None
    return Mailer(
        server=settings.smtp,
        user=settings.smtp_user,
        password=settings.smtp_password,
        tls=settings.smtp_tls,
        sender=settings.mail_from,
    )
