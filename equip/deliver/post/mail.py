"""One message to a mail server, and an honest word on what became of it.

Sent, refused for good, or put off: nothing else can happen. The caller keeps the message until
it is sent and names it, so that a repeat after a crash carries the same Message-ID and can be
recognised as one.
"""

import smtplib
import ssl
import unicodedata
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import timedelta
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from urllib.parse import quote

from equip.clock import Clock, utc_now
from equip.settings.values import HostPort, Tls, is_mail_address

# Seven-bit bodies pass through every server; anything else is encoded on our side.
_POLICY = SMTP.clone(cte_type="7bit")
# Control characters, the two separators of lines, and halves of characters.
_BREAKS = frozenset({"Cc", "Zl", "Zp", "Cs"})
_SENDER_NAME = "The Instrument Book"
_FIRST_WAIT = timedelta(minutes=1)
_LONGEST_WAIT = timedelta(hours=4)


class MailRefused(Exception):
    """This message will not be taken as it is, today or tomorrow; the text says why.

    *refused* has the server's words by address, where it refused single addresses.
    """

    def __init__(self, says: str, refused: Mapping[str, str] | None = None) -> None:
        super().__init__(says)
        self.refused = dict(refused or {})


class MailPartlyRefused(MailRefused):
    """It went out, but not to all: do not send it again, tell somebody who did not get it."""


class MailPutOff(Exception):
    """Nothing was taken now, and the same message may be taken later; the text says why."""


class MailNoServer(MailPutOff):
    """The server cannot be used at all now: no other message would fare better."""


class MailUnsure(MailNoServer):
    """The server broke off after it had asked for the message: it may have arrived, or not."""


def wait_before(tries: int) -> timedelta:
    """How long to wait after *tries* failed ones: a minute, doubled each time up to 4 hours."""
    if tries < 0:
        raise ValueError(f"Tries are counted from 0; {tries} was read.")
    if tries == 0:
        return timedelta(0)
    return min(_LONGEST_WAIT, _FIRST_WAIT * (1 << min(tries - 1, 16)))


@dataclass(frozen=True, slots=True)
class Mailer:
    """The way to one mail server; *timeout* in seconds holds for each answer it owes us.

    *trust* says which certificates are believed; None for those this machine trusts.
    """

    server: HostPort
    sender: str
    user: str = ""
    password: str = field(default="", repr=False)
    tls: Tls = "starttls"
    timeout: float = 20.0
    clock: Clock = utc_now
    trust: ssl.SSLContext | None = None

    def send(
        self,
        to: Sequence[str],
        subject: str,
        text: str,
        *,
        message_id: str,
        headers: Mapping[str, str] | None = None,
    ) -> None:
        """Hand the message to the server; returning means that it took it for everybody.

        *message_id* is any text that stays the same when the same message is sent again.
        `MailRefused`, `MailPartlyRefused` or `MailPutOff` otherwise.
        """
        message = self._composed(to, subject, text, message_id)
        for name, value in (headers or {}).items():
            message[name] = value
        try:
            refused = self._hand_over(message)
        except smtplib.SMTPRecipientsRefused as problem:
            raise _nobody_taken(problem.recipients) from problem
        except (smtplib.SMTPSenderRefused, smtplib.SMTPDataError) as problem:
            raise self._not_taken(problem) from problem
        except smtplib.SMTPResponseException as problem:
            # A wrong password or a server that is shutting down says nothing about the message:
            # it waits until the server or a person has mended that.
            raise MailNoServer(f"{self.server} let nothing in: {_said(problem)}.") from problem
        except smtplib.SMTPException as problem:
            raise MailNoServer(f"{self.server} cannot be used: {problem}") from problem
        except ssl.SSLError as problem:
            says = f"No safe connection to {self.server}: {problem.reason or problem}."
            raise MailNoServer(says) from problem
        except OSError as problem:
            raise MailNoServer(f"{self.server} cannot be reached: {problem}.") from problem
        if refused:
            words = _words(refused)
            raise MailPartlyRefused(f"It did not go to {_listed(words)}", words)

    def _not_taken(self, problem: smtplib.SMTPResponseException) -> Exception:
        says = f"{self.server} did not take it: {_said(problem)}."
        return MailPutOff(says) if _is_passing(problem.smtp_code) else MailRefused(says)

    def _composed(
        self, to: Sequence[str], subject: str, text: str, message_id: str
    ) -> EmailMessage:
        if not to:
            raise MailRefused("Nobody to send it to: name at least one address.")
        for address in (self.sender, *to):
            if not is_mail_address(address):
                raise MailRefused(f"{address!r} is no mail address; nothing was sent.")
        if any(unicodedata.category(mark) in _BREAKS for mark in subject + message_id):
            raise MailRefused(
                f"The subject {subject!r} or the id {message_id!r} holds a line break or another"
                " control character, which could smuggle in a header; nothing was sent."
            )
        message = EmailMessage(_POLICY)
        message["From"] = Address(_SENDER_NAME, addr_spec=self.sender)
        message["To"] = [Address(addr_spec=address) for address in to]
        message["Subject"] = subject
        message["Date"] = format_datetime(self.clock())
        message["Message-ID"] = _message_id(message_id, self.sender)
        # Machines that answer mail on their own leave this one alone (RFC 3834).
        message["Auto-Submitted"] = "auto-generated"
        message.set_content(text)
        return message

    def _hand_over(self, message: EmailMessage) -> dict[str, tuple[int, bytes]]:
        server = self._connected()
        try:
            if self.tls == "starttls":
                server.starttls(context=self._believed())
            if self.user:
                server.login(self.user, self.password)
            return server.send_message(message)
        except (smtplib.SMTPServerDisconnected, OSError) as problem:
            if not server.is_taking:
                raise
            raise MailUnsure(
                f"{self.server} broke off before it said that it had the letter ({problem}). It may"
                " have arrived; it goes again under the same Message-ID."
            ) from problem
        finally:
            # A server that is rude at the goodbye has taken the message all the same.
            with suppress(smtplib.SMTPException, OSError):
                server.quit()
            server.close()

    def _connected(self) -> "_Plain | _Safe":
        host, port = self.server
        if self.tls == "tls":
            return _Safe(host, port, timeout=self.timeout, context=self._believed())
        return _Plain(host, port, timeout=self.timeout)

    def _believed(self) -> ssl.SSLContext:
        return self.trust or ssl.create_default_context()


class _Plain(smtplib.SMTP):
    """A conversation that knows whether the message itself is on its way."""

    is_taking = False

    def getreply(self) -> tuple[int, bytes]:
        answer = super().getreply()
        self.is_taking = answer[0] == 354  # "start mail input" (RFC 5321)
        return answer


class _Safe(smtplib.SMTP_SSL):
    """The same over TLS from the first byte."""

    is_taking = False

    def getreply(self) -> tuple[int, bytes]:
        answer = super().getreply()
        self.is_taking = answer[0] == 354
        return answer


def _message_id(text: str, sender: str) -> str:
    """*text* as a Message-ID: the same text gives the same id, another text another one."""
    name, _, domain = text.strip("<>").partition("@")
    return f"<{quote(name, safe='')}@{quote(domain, safe='') or sender.rpartition('@')[2]}>"


def _is_passing(code: int) -> bool:
    """Whether a refusal may pass: 4xx by RFC 5321, and anything that is no answer at all."""
    return not 500 <= code <= 599


def _nobody_taken(recipients: Mapping[str, tuple[int, bytes]]) -> Exception:
    words = _words(recipients)
    if any(_is_passing(code) for code, _ in recipients.values()):
        return MailPutOff(f"Not taken for {_listed(words)}")
    return MailRefused(f"Not taken for {_listed(words)}", words)


def _words(refused: Mapping[str, tuple[int, bytes]]) -> dict[str, str]:
    return {to: f"{code} {_readable(text)}" for to, (code, text) in refused.items()}


def _listed(words: Mapping[str, str]) -> str:
    return "; ".join(f"{address} ({said})" for address, said in words.items()) + "."


def _said(problem: smtplib.SMTPResponseException) -> str:
    return f"{problem.smtp_code} {_readable(problem.smtp_error)}"


def _readable(text: bytes | str) -> str:
    """The server's words on one line."""
    plain = text.decode("utf-8", "replace") if isinstance(text, bytes) else text
    return " ".join(plain.split())
