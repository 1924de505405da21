"""Keys, made on the first run beside the database, readable by nobody else."""

import os
import secrets
import stat
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from tempfile import NamedTemporaryFile

from equip.store.database import CannotOpen

_LENGTH = 32


class BadKey(CannotOpen):
    """A key cannot be used; the message says which and what to do."""


@dataclass(frozen=True, slots=True, repr=False)
class Keys:
    """*vault* encrypts references, *index* finds them again, *secret* signs cookies and PINs."""

    vault: bytes
    index: bytes
    secret: bytes


def keys_in(data: Path) -> Keys:
    """The keys of the installation in *data*, made if there are none yet."""
    folder = data / "keys"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    return Keys(*(_key(folder / name) for name in ("vault", "index", "secret")))


def _key(path: Path) -> bytes:
    if not path.exists():
        _make(path)
    return _read(path)


def _make(path: Path) -> None:
    """A new key under its name whole or not at all, also if two processes begin at once."""
    with NamedTemporaryFile(dir=path.parent, prefix=".new-") as file:  # made with mode 0600
        file.write(secrets.token_bytes(_LENGTH))
        file.flush()
        os.fsync(file.fileno())
        with suppress(FileExistsError):
            os.link(file.name, path)


def _read(path: Path) -> bytes:
    if os.name == "posix" and path.stat().st_mode & (stat.S_IRWXG | stat.S_IRWXO):
        raise BadKey(f"The key {path} can be read by others: set its mode to 0600.")
    key = path.read_bytes()
    if len(key) != _LENGTH:
        raise BadKey(f"The key {path} has {len(key)} bytes, not {_LENGTH}: restore it.")
    return key
