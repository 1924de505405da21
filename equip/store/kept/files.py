"""Files as they were handed in, kept by the hash of their bytes: the same bytes once."""

from hashlib import sha256

from equip.store.database import Store


def keep(store: Store, data: bytes, name: str) -> str:
    """Keep *data*; its SHA-256 in hex. Inside a transaction."""
    digest = sha256(data).hexdigest()
    store.run(
        "INSERT INTO file (sha256, name, bytes) VALUES (?, ?, ?) ON CONFLICT DO NOTHING",
        digest,
        name[:200],
        data,
    )
    return digest


def fetch(store: Store, digest: str) -> bytes | None:
    """The bytes of that hash; None if there are none, or if they are no longer those."""
    row = store.one("SELECT bytes FROM file WHERE sha256 = ?", digest)
    if row is None:
        return None
    data = bytes(row[0])
    return data if sha256(data).hexdigest() == digest else None
