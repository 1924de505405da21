"""The keyed index of the vault: which lookups a patient reference has, now and before.

A lookup is a keyed hash of the reference without any sign in it, and a number, for two people may
share that hash: whose row it is, the reference behind it says. A row of before there was one
canonical form has the hash of the reference as it was typed, and no number.
"""

import hmac
from dataclasses import dataclass
from hashlib import sha256

from equip.references import bare, joined, normal_reference

_DIGEST = 32


def encoded(text: str) -> bytes:
    """Half a character, as broken JSON may hold one, must not end in an error that shows it."""
    return text.encode(errors="surrogatepass")


@dataclass(frozen=True, slots=True)
class PatientIndex:
    """The lookups of references under one *key*."""

    key: bytes

    def digest(self, reference: str) -> bytes:
        """What all lookups of *reference*, and of whoever shares its hash, begin with."""
        return self._hashed(bare(reference))

    def lookup(self, reference: str, number: int = 0) -> bytes:
        """The lookup of *reference*; *number* counts those that share its hash, from nought."""
        return numbered(self.digest(reference), number)

    def span(self, reference: str) -> tuple[bytes, bytes]:
        """Between which two, the first left out, every lookup with the hash of *reference* lies."""
        digest = self.digest(reference)
        return digest, digest + b"\xff\xff"

    def as_before(self, reference: str) -> list[bytes]:
        """The lookups that *reference* may have had before: as typed, or with less in it."""
        spelt = (normal_reference(reference), joined(reference), bare(reference))
        return [self._hashed(one) for one in dict.fromkeys(spelt)]

    def fits(self, lookup: bytes, reference: str) -> bool:
        """Whether *lookup* is one of *reference*, of now or of before."""
        return lookup[:_DIGEST] in (self.digest(reference), self.as_before(reference)[0])

    def _hashed(self, spelt: str) -> bytes:
        return hmac.digest(self.key, b"patient\n" + encoded(spelt), sha256)


def numbered(digest: bytes, number: int) -> bytes:
    return digest + number.to_bytes(2, "big")


def parts(lookup: bytes) -> tuple[bytes, int]:
    """The hash of a lookup, and its number; below nought in one of before."""
    number = lookup[_DIGEST:]
    return lookup[:_DIGEST], int.from_bytes(number, "big") if number else -1
