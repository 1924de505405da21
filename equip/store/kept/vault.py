"""Patient references, kept apart from everything: a random token stands for each.

A reference is normalised first (trimmed, single spaces, capitals), so that one patient has one
token. No reference ever stands in an exception, a log or a statement.
"""

import hmac
import secrets
from base64 import b32encode
from collections.abc import Sequence
from hashlib import sha256

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from equip.scan import normal_reference
from equip.store.database import Store, in_chunks
from equip.store.kept.keys import BadKey, Keys

_NONCE = 12
_KEEP = "INSERT INTO vault (token, lookup, sealed) VALUES (?, ?, ?) ON CONFLICT (lookup) DO NOTHING"


def _fresh_token() -> str:
    """A t and twelve characters of base 32, a digit among them so that no word looks like one."""
    while True:
        token = "t" + b32encode(secrets.token_bytes(10)).decode("ascii").lower()[:12]
        if any(mark.isdigit() for mark in token):
            return token


class UnknownToken(LookupError):
    """No patient goes by this token, or what stands behind it cannot be read."""


class Vault:
    """Token to encrypted reference, with a keyed index to find a reference again.

    `BadKey` if the keys are not those of this database: with others every known patient would
    be taken for a new one, and nobody could be traced.
    """

    def __init__(self, store: Store, keys: Keys) -> None:
        self._store = store
        self._cipher = AESGCM(keys.vault)
        self._index = keys.index
        self._check_keys()

    def token(self, reference: str) -> str:
        """The token of *reference*, made if this patient is new here. Inside a transaction."""
        found = self.find(reference)
        if found is not None:
            return found
        token, sealed = self._sealed(reference)
        made = self._store.run(_KEEP, token, self._lookup(reference), sealed)
        # On PostgreSQL another site's act may have met the same patient in between.
        return token if made else str(self.find(reference))

    def tokens(self, references: Sequence[str]) -> dict[str, str]:
        """The token of each of *references*, made in their order where a patient is new."""
        lookups = {reference: self._lookup(reference) for reference in references}
        known = self._known(list(dict.fromkeys(lookups.values())))
        made = []
        for reference, lookup in lookups.items():
            if lookup not in known:
                known[lookup], sealed = self._sealed(reference)
                made.append((known[lookup], lookup, sealed))
        self._store.many(_KEEP, made)
        if made and self._store.is_postgres:  # another site may have met one in between
            known = self._known(list(known))
        return {reference: known[lookup] for reference, lookup in lookups.items()}

    def _known(self, lookups: Sequence[bytes]) -> dict[bytes, str]:
        found: dict[bytes, str] = {}
        for some in in_chunks(lookups):
            marks = ", ".join("?" * len(some))
            sql = f"SELECT lookup, token FROM vault WHERE lookup IN ({marks})"
            found.update((bytes(row[0]), str(row[1])) for row in self._store.rows(sql, *some))
        return found

    def _sealed(self, reference: str) -> tuple[str, bytes]:
        """A new token, and the reference encrypted for it."""
        token = _fresh_token()
        nonce = secrets.token_bytes(_NONCE)
        return token, nonce + self._cipher.encrypt(nonce, _spelled(reference), token.encode())

    def find(self, reference: str) -> str | None:
        """The token of *reference*, None if this patient was never seen here."""
        row = self._store.one("SELECT token FROM vault WHERE lookup = ?", self._lookup(reference))
        return None if row is None else str(row[0])

    def reveal(self, token: str) -> str:
        """Who *token* stands for. Whoever calls this writes down that it was looked up."""
        row = self._store.one("SELECT sealed FROM vault WHERE token = ?", token)
        if row is None:
            raise UnknownToken("No patient goes by this token.")
        try:
            return self._opened(token, bytes(row[0]))
        except InvalidTag:
            raise UnknownToken("Who this token stands for cannot be read any more.") from None

    def hint(self, token: str) -> str:
        """The last two characters, by which the nurse knows the patient in hand."""
        return self.reveal(token)[-2:]

    def payload_hash(self, text: str) -> bytes:
        """A keyed hash of a scan, so that a reference in it cannot be guessed from it."""
        return hmac.digest(self._index, b"payload\n" + _encoded(text), sha256)

    def _lookup(self, reference: str) -> bytes:
        return hmac.digest(self._index, b"patient\n" + _spelled(reference), sha256)

    def _opened(self, token: str, sealed: bytes) -> str:
        text = self._cipher.decrypt(sealed[:_NONCE], sealed[_NONCE:], token.encode())
        return text.decode(errors="surrogatepass")

    def _check_keys(self) -> None:
        """A few references are opened and looked up: one row that was damaged shuts nobody out."""
        rows = self._store.rows("SELECT token, lookup, sealed FROM vault ORDER BY token LIMIT 8")
        if rows and not any(self._fits(token, bytes(a), bytes(b)) for token, a, b in rows):
            raise BadKey(
                "The keys are not those that this database was written with: "
                "restore the folder “keys” that belongs to it."
            )

    def _fits(self, token: str, lookup: bytes, sealed: bytes) -> bool:
        try:
            return self._lookup(self._opened(token, sealed)) == lookup
        except InvalidTag:
            return False


def _spelled(reference: str) -> bytes:
    return _encoded(normal_reference(reference))


def _encoded(text: str) -> bytes:
    # Half a character, as broken JSON may hold one, must not end in an error that shows the text.
    return text.encode(errors="surrogatepass")
