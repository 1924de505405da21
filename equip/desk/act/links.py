"""Links that are their own proof: who holds one may stop a person's letters or read a calendar.

They are signed with the house's secret, so nothing of them is kept but what makes them invalid.
"""

import hmac
from base64 import urlsafe_b64encode
from dataclasses import dataclass, field
from hashlib import sha256


@dataclass(frozen=True, slots=True)
class Links:
    """*url* is where people reach the book."""

    url: str
    secret: bytes = field(repr=False)

    def stop(self, person: str, address: str) -> str:
        """Where *person* stops the letters to *address*; another address makes it invalid."""
        return f"{self.url}/letters/{person}/{self._sign('stop', person, address)}"

    def may_stop(self, person: str, address: str, signature: str) -> bool:
        return self._agrees(signature, "stop", person, address)

    def calendar(self, subject: str, number: int) -> str:
        """Where a calendar is read; the next *number* makes it invalid."""
        return f"{self.url}/calendar/{subject}/{self._sign('calendar', subject, str(number))}.ics"

    def may_read(self, subject: str, number: int, signature: str) -> bool:
        return self._agrees(signature, "calendar", subject, str(number))

    def _agrees(self, signature: str, *words: str) -> bool:
        return hmac.compare_digest(signature.encode(), self._sign(*words).encode())

    def _sign(self, *words: str) -> str:
        digest = hmac.digest(self.secret, "\n".join(words).encode(), sha256)
        return urlsafe_b64encode(digest[:18]).decode("ascii")
