"""Patient references, kept apart from everything: a random token stands for each.

One patient has one token, however the reference is written: `equip/references.py` says what only
decorates it. A row of before that is found as it was typed, until `index_again` has brought it
into the index of now. No reference ever stands in an exception, a log or a statement.
"""

import hmac
import re
import secrets
from base64 import b32encode
from collections.abc import Iterable, Sequence
from contextlib import suppress
from hashlib import sha256
from typing import NamedTuple

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from equip.references import bare, canonical, end_of, normal_reference
from equip.store.database import Store, in_chunks
from equip.store.kept.keys import BadKey, Keys
from equip.store.kept.patient_index import PatientIndex, encoded, numbered, parts

_NONCE = 12
_ROWS = "SELECT lookup, token, sealed FROM vault"
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
        self._hashing = keys.index
        self._index = PatientIndex(keys.index)
        self.patients: re.Pattern[str] | None = None
        """The clinic's pattern, which says what decorates a reference; None until it is known."""
        self._check_keys()

    def token(self, reference: str) -> str:
        """The token of *reference*, made if this patient is new here. Inside a transaction."""
        while True:
            rows = self._candidates(reference)
            if theirs := self._theirs(reference, rows):
                return theirs[0]
            token, sealed = self._sealed(reference)
            # One more than any row that was looked at: if on PostgreSQL another site's act made
            # one in between, this one is not kept, and the other is looked at.
            number = 1 + max((parts(row.lookup)[1] for row in rows), default=-1)
            if self._store.run(_KEEP, token, self._index.lookup(reference, number), sealed):
                return token

    def tokens(self, references: Sequence[str]) -> dict[str, str]:
        """The token of each of *references*, made in their order where a patient is new."""
        found = self._known(references)
        made: dict[bytes, tuple[str, bytes, bytes]] = {}
        for reference in references:
            lookup = self._index.lookup(reference)
            if reference not in found and lookup not in made:
                token, sealed = self._sealed(reference)
                made[lookup] = (token, lookup, sealed)
        self._store.many(_KEEP, made.values())
        if made:  # read again: others may share a lookup, or another site met one in between
            found.update(self._known([one for one in references if one not in found]))
        return {one: found.get(one) or self.token(one) for one in references}

    def _known(self, references: Sequence[str]) -> dict[str, str]:
        """The token of each that is known, as far as its first row or its old one tells."""
        keys = {one: (self._index.lookup(one), *self._index.as_before(one)) for one in references}
        rows: dict[bytes, _Row] = {}
        for some in in_chunks(list(dict.fromkeys(key for every in keys.values() for key in every))):
            marks = ", ".join("?" * len(some))
            found = self._rows(f"{_ROWS} WHERE lookup IN ({marks})", *some)
            rows.update((row.lookup, row) for row in found)
        known = {}
        for reference, every in keys.items():
            theirs = self._theirs(reference, (rows[key] for key in every if key in rows))
            if theirs:
                known[reference] = theirs[0]
        return known

    def _sealed(self, reference: str) -> tuple[str, bytes]:
        """A new token, and the reference encrypted for it, as it was first written."""
        token = _fresh_token()
        nonce = secrets.token_bytes(_NONCE)
        spelled = encoded(normal_reference(reference))
        return token, nonce + self._cipher.encrypt(nonce, spelled, token.encode())

    def find(self, reference: str) -> str | None:
        """The token of *reference*, None if this patient was never seen here."""
        return next(iter(self.all_of(reference)), None)

    def all_of(self, reference: str) -> list[str]:
        """Every token of *reference*, the one in use first.

        There is more than one only where both ways of writing it were scanned before they became
        one: the ledger keeps what it holds.
        """
        return self._theirs(reference, self._candidates(reference))

    def others_of(self, token: str) -> list[str]:
        """The other tokens under which the patient of *token* stands in this book."""
        try:
            reference = self.reveal(token)
        except UnknownToken:
            return []
        return [other for other in self.all_of(reference) if other != token]

    def _candidates(self, reference: str) -> list["_Row"]:
        """The rows of all who share the hash of *reference*, in order, then those of before.

        One statement: what another process moves or makes meanwhile is seen once or not at all.
        """
        old = self._index.as_before(reference)
        marks = ", ".join("?" * len(old))
        sql = f"{_ROWS} WHERE (lookup > ? AND lookup <= ?) OR lookup IN ({marks})"
        rows = self._rows(sql, *self._index.span(reference), *old)
        return sorted(rows, key=lambda row: (parts(row.lookup)[1] < 0, row.lookup))

    def _theirs(self, reference: str, rows: Iterable["_Row"]) -> list[str]:
        """Those of *rows* that are of *reference*.

        What cannot be read any more counts if nothing else does: better the patient it most
        likely is than a second token, under which nobody would be traced.
        """
        theirs, unreadable = [], []
        wanted = canonical(reference, self.patients)
        for row in rows:
            try:
                if canonical(self._opened(row.token, row.sealed), self.patients) == wanted:
                    theirs.append(row.token)
            except InvalidTag:
                unreadable.append(row.token)
        return list(dict.fromkeys(theirs or unreadable))

    def index_again(self) -> int:
        """Bring rows that were indexed as they were typed into the new form; how many there were.

        Where both ways of writing a reference have a token, the one without signs is used on.
        """
        if not self._readable_of_before():
            return 0
        with self._store.writing():
            sql = "SELECT lookup FROM vault WHERE length(lookup) > 32 ORDER BY lookup"
            taken = dict(parts(bytes(row[0])) for row in self._store.rows(sql))
            old = self._readable_of_before()
            moved = []
            for reference, token in sorted(old, key=lambda one: (one[0] != bare(one[0]), one)):
                digest = self._index.digest(reference)
                taken[digest] = taken.get(digest, -1) + 1
                moved.append((numbered(digest, taken[digest]), token))
            self._store.many("UPDATE vault SET lookup = ? WHERE token = ?", moved)
        return len(moved)

    def _readable_of_before(self) -> list[tuple[str, str]]:
        """Reference and token of each row that is not in the index of now and can be read."""
        readable = []
        for row in self._rows(f"{_ROWS} WHERE length(lookup) = 32"):
            with suppress(InvalidTag):
                readable.append((self._opened(row.token, row.sealed), row.token))
        return readable

    def _rows(self, sql: str, *values: bytes) -> list["_Row"]:
        rows = self._store.rows(sql, *values)
        return [_Row(bytes(row[0]), str(row[1]), bytes(row[2])) for row in rows]

    def reveal(self, token: str) -> str:
        """Who *token* stands for. Whoever calls this writes down that it was looked up."""
        row = self._store.one("SELECT sealed FROM vault WHERE token = ?", token)
        if row is None:
            raise UnknownToken("No patient goes by this token.")
        try:
            return self._opened(token, bytes(row[0]))
        except InvalidTag:
            raise UnknownToken("Who this token stands for cannot be read any more.") from None

    def hint(self, token: str, shown: int, *, whole: bool = False) -> str:
        """The last *shown* characters, by which the nurse checks the patient in hand."""
        return end_of(canonical(self.reveal(token), self.patients), shown, whole=whole)

    def payload_hash(self, text: str) -> bytes:
        """A keyed hash of a scan, so that a reference in it cannot be guessed from it."""
        return hmac.digest(self._hashing, b"payload\n" + encoded(text), sha256)

    def _opened(self, token: str, sealed: bytes) -> str:
        text = self._cipher.decrypt(sealed[:_NONCE], sealed[_NONCE:], token.encode())
        return text.decode(errors="surrogatepass")

    def _check_keys(self) -> None:
        """A few references are opened and looked up: one row that was damaged shuts nobody out."""
        rows = self._rows(f"{_ROWS} ORDER BY token LIMIT 8")
        if rows and not any(map(self._fits, rows)):
            raise BadKey(
                "The keys are not those that this database was written with: "
                "restore the folder “keys” that belongs to it."
            )

    def _fits(self, row: "_Row") -> bool:
        try:
            return self._index.fits(row.lookup, self._opened(row.token, row.sealed))
        except InvalidTag:
            return False


class _Row(NamedTuple):
    lookup: bytes
    token: str
    sealed: bytes
