"""A mail server for tests that keeps what it takes and answers as it was told to."""

from dataclasses import dataclass, field
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from typing import Any


@dataclass
class PostOffice:
    """Keeps what it takes; answers DATA as it was told to."""

    answer: str = "250 OK"
    refused: dict[str, str] = field(default_factory=dict)
    breaks_off: bool = False
    taken: list[EmailMessage] = field(default_factory=list)

    async def handle_RCPT(
        self, server: Any, session: Any, envelope: Any, address: str, options: Any
    ) -> str:
        if address in self.refused:
            return self.refused[address]
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        if self.answer.startswith("250"):
            message = message_from_bytes(envelope.content, policy=default)
            assert isinstance(message, EmailMessage)
            self.taken.append(message)
        if self.breaks_off:
            server.transport.abort()
        return self.answer
