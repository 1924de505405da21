"""Mail to a real server on this machine: what is taken, refused and put off."""

import socket
import ssl
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from ipaddress import ip_address
from pathlib import Path
from threading import Event, Thread
from typing import Any

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from equip.deliver.post.mail import (
    Mailer,
    MailNoServer,
    MailPartlyRefused,
    MailPutOff,
    MailRefused,
    MailUnsure,
    wait_before,
)
from equip.settings.values import HostPort

NOW = datetime(2026, 2, 9, 7, 30, tzinfo=UTC)
HERE = "127.0.0.1"
MANAGER, NURSE = "manager@clinic.example", "nurse@clinic.example"


@dataclass
class PostOffice:
    """A mail server's mind: keeps what it takes, and answers as it was told to.

    *answers* are its words to each address, to the whole message (DATA) and to the goodbye.
    """

    answers: dict[str, str] = field(default_factory=dict)
    taken: list[EmailMessage] = field(default_factory=list)
    envelopes: list[list[str]] = field(default_factory=list)
    in_the_clear: list[bool] = field(default_factory=list)

    async def handle_RCPT(
        self, server: Any, session: Any, envelope: Any, address: str, options: Any
    ) -> str:
        answer = self.answers.get(address, "250 OK")
        if answer.startswith("250"):
            envelope.rcpt_tos.append(address)
        return answer

    async def handle_MAIL(
        self, server: Any, session: Any, envelope: Any, address: str, options: Any
    ) -> str:
        envelope.mail_from = address
        return self.answers.get("MAIL", "250 OK")

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        answer = self.answers.get("DATA", "250 OK")
        if answer.startswith("250"):
            message = message_from_bytes(envelope.original_content, policy=default)
            assert isinstance(message, EmailMessage)
            self.taken.append(message)
            self.envelopes.append(envelope.rcpt_tos)
            self.in_the_clear.append(session.ssl is None)
        return answer

    async def handle_QUIT(self, server: Any, session: Any, envelope: Any) -> str:
        return self.answers.get("QUIT", "221 Bye")


@contextmanager
def opened(office: PostOffice, **how: Any) -> Iterator[Mailer]:
    """A mailer that speaks to *office*, which listens on a free port while this is open."""
    controller = Controller(office, hostname=HERE, port=free_port(), **how)
    controller.start()
    try:
        yield mailer(controller.port)
    finally:
        controller.stop()


def free_port() -> int:
    with closing(socket.socket()) as one:
        one.bind((HERE, 0))
        return int(one.getsockname()[1])


def mailer(port: int) -> Mailer:
    return Mailer(
        HostPort(HERE, port),
        sender="book@clinic.example",
        tls="none",
        timeout=5,
        clock=lambda: NOW,
    )


def send(mail: Mailer, to: tuple[str, ...] = (MANAGER,), **other: str) -> None:
    told = {"subject": "Due today", "text": "One thing.\n", "message_id": "digest:HOME:2026-02-09"}
    told |= other
    mail.send(to, told["subject"], told["text"], message_id=told["message_id"])


def body(message: EmailMessage) -> str:
    """The text as it was before the lines were ended as mail ends them."""
    return str(message.get_content()).replace("\r\n", "\n")


@pytest.fixture
def office() -> PostOffice:
    return PostOffice()


def test_a_message_arrives_whole(office: PostOffice) -> None:
    with opened(office) as mail:
        send(mail, (MANAGER, NURSE))

    (message,) = office.taken
    assert office.envelopes == [[MANAGER, NURSE]]
    assert message["From"] == "The Instrument Book <book@clinic.example>"
    assert message["To"] == f"{MANAGER}, {NURSE}"
    assert message["Subject"] == "Due today"
    assert message["Date"].datetime == NOW
    assert message["Auto-Submitted"] == "auto-generated"
    assert body(message) == "One thing.\n"


def test_the_same_message_carries_the_same_id_each_time_and_another_one_another(
    office: PostOffice,
) -> None:
    with opened(office) as mail:
        for name in ("digest:HOME:2026-02-09", "digest:HOME:2026-02-09", "digest HOME 2026-02-09"):
            send(mail, message_id=name)

    ids = [message["Message-ID"] for message in office.taken]
    assert ids == [
        "<digest%3AHOME%3A2026-02-09@clinic.example>",
        "<digest%3AHOME%3A2026-02-09@clinic.example>",
        "<digest%20HOME%202026-02-09@clinic.example>",
    ]


def test_an_id_that_names_its_own_domain_keeps_it(office: PostOffice) -> None:
    with opened(office) as mail:
        send(mail, message_id="<digest-1@instrument-book>")

    assert office.taken[0]["Message-ID"] == "<digest-1@instrument-book>"


def test_letters_beyond_ascii_arrive_in_subject_and_text(office: PostOffice) -> None:
    subject = "Überfällig: Sauger Größe 18 – " + "sehr lang " * 12
    text = "Kürette 2 mm: überfällig seit 9. Februar.\n"

    with opened(office) as mail:
        send(mail, subject=subject.strip(), text=text)

    (message,) = office.taken
    assert message["Subject"] == subject.strip()
    assert body(message) == text


def test_a_seal_stands_unbroken_on_its_line_as_it_travels(office: PostOffice) -> None:
    seal = "0123456789abcdef" * 4

    with opened(office) as mail:
        send(mail, text=f"Seals:\n  HOME 12345 {seal}\n")

    assert f"\n  HOME 12345 {seal}\n" in office.taken[0].as_string().replace("\r\n", "\n")


@pytest.mark.parametrize("stage", [MANAGER, "MAIL", "DATA"])
def test_a_451_puts_the_message_off_with_the_servers_words(office: PostOffice, stage: str) -> None:
    office.answers[stage] = "451 Greylisted, come back later"

    with opened(office) as mail, pytest.raises(MailPutOff, match="451 Greylisted, come back later"):
        send(mail)

    assert office.taken == []


@pytest.mark.parametrize("stage", [MANAGER, "MAIL", "DATA"])
def test_a_550_refuses_the_message_for_good_with_the_servers_words(
    office: PostOffice, stage: str
) -> None:
    office.answers[stage] = "550 No such mailbox"

    with opened(office) as mail, pytest.raises(MailRefused, match="550 No such mailbox") as caught:
        send(mail)

    assert not isinstance(caught.value, MailPartlyRefused)
    assert office.taken == []


def test_a_single_refused_address_is_named_while_the_others_get_the_message(
    office: PostOffice,
) -> None:
    office.answers[NURSE] = "550 No such mailbox"

    with opened(office) as mail, pytest.raises(MailPartlyRefused) as caught:
        send(mail, (MANAGER, NURSE))

    assert office.envelopes == [[MANAGER]]
    assert caught.value.refused == {NURSE: "550 No such mailbox"}
    assert str(caught.value) == f"It did not go to {NURSE} (550 No such mailbox)."


def test_nobody_taken_is_put_off_as_long_as_one_may_be_taken_later(office: PostOffice) -> None:
    office.answers |= {NURSE: "550 No such mailbox", MANAGER: "450 Busy"}

    with opened(office) as mail, pytest.raises(MailPutOff, match=r"450 Busy.*550 No such mailbox"):
        send(mail, (MANAGER, NURSE))


def test_a_message_that_was_taken_counts_as_sent_even_if_the_goodbye_is_rude(
    office: PostOffice,
) -> None:
    office.answers["QUIT"] = "500 What?"

    with opened(office) as mail:
        send(mail)

    assert len(office.taken) == 1


def test_a_server_that_is_not_there_puts_the_message_off() -> None:
    port = free_port()

    with pytest.raises(MailPutOff, match=rf"127\.0\.0\.1:{port} cannot be reached: .*refused"):
        send(mailer(port))


def test_a_host_that_does_not_exist_puts_the_message_off() -> None:
    nowhere = replace(mailer(25), server=HostPort("mail.invalid", 25))

    with pytest.raises(MailPutOff, match=r"mail\.invalid:25 cannot be reached"):
        send(nowhere)


def test_a_server_that_hangs_puts_the_message_off_within_the_timeout() -> None:
    with closing(socket.create_server((HERE, 0))) as silent:
        mail = replace(mailer(silent.getsockname()[1]), timeout=0.2)

        with pytest.raises(MailPutOff, match="timed out"):
            send(mail)


@pytest.mark.parametrize("breaks", ["hangs", "hangs up"])
def test_a_server_that_took_the_letter_and_never_said_so_leaves_it_unsure(breaks: str) -> None:
    answers = ["220 hello", "250 hello", "250 ok", "250 ok", "354 go on"]
    says = "It may have arrived; it goes again under the same Message-ID"
    with scripted(answers, breaks) as mail, pytest.raises(MailUnsure, match=says):
        send(mail)


@pytest.mark.parametrize("breaks", ["hangs", "hangs up"])
@pytest.mark.parametrize("said", range(5))
def test_a_server_that_breaks_off_before_it_asked_for_the_letter_has_not_got_it(
    said: int, breaks: str
) -> None:
    answers = ["220 hello", "250 hello", "250 ok", "250 ok"][:said]
    with scripted(answers, breaks) as mail, pytest.raises(MailNoServer) as problem:
        send(mail)

    assert not isinstance(problem.value, MailUnsure)


@contextmanager
def scripted(answers: list[str], breaks: str) -> Iterator[Mailer]:
    """A server that gives these answers, one for each command, and then breaks off."""
    over = Event()
    with closing(socket.create_server((HERE, 0))) as door:

        def answer() -> None:
            guest, _ = door.accept()
            with closing(guest):
                for each in answers:
                    guest.sendall(each.encode() + b"\r\n")
                    guest.recv(65_536)
                if breaks == "hangs":
                    over.wait(10)

        with running(answer):
            try:
                yield replace(mailer(door.getsockname()[1]), timeout=0.3)
            finally:
                over.set()


def test_a_server_that_turns_everybody_away_puts_the_message_off() -> None:
    """554 in the greeting is about the server, not about the message."""
    with closing(socket.create_server((HERE, 0))) as door:

        def answer() -> None:
            guest, _ = door.accept()
            with closing(guest):
                guest.sendall(b"554 No service today\r\n")

        with running(answer), pytest.raises(MailPutOff, match="554 No service today"):
            send(mailer(door.getsockname()[1]))


@contextmanager
def running(work: Callable[[], None]) -> Iterator[None]:
    thread = Thread(target=work)
    thread.start()
    try:
        yield
    finally:
        thread.join(timeout=5)
        assert not thread.is_alive()


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("subject", "Due\r\nBcc: somebody@else.example"),
        ("subject", "Due\nBcc: somebody@else.example"),
        ("subject", "Due\u2028today"),
        ("subject", "Due\x00"),
        ("message_id", "digest\r\nBcc: somebody@else.example"),
    ],
)
def test_a_header_cannot_be_smuggled_in(office: PostOffice, name: str, text: str) -> None:
    told = {"subject": "Due today", "message_id": "digest"} | {name: text}

    with opened(office) as mail, pytest.raises(MailRefused, match="smuggle in a header"):
        send(mail, subject=told["subject"], message_id=told["message_id"])

    assert office.taken == []


@pytest.mark.parametrize(
    "address",
    [
        "manager@clinic.example\r\nBcc: somebody@else.example",
        "manager@clinic.example, somebody@else.example",
        "The Manager <manager@clinic.example>",
        "manager",
        "",
    ],
)
def test_an_address_that_is_more_or_less_than_one_is_refused(
    office: PostOffice, address: str
) -> None:
    with opened(office) as mail, pytest.raises(MailRefused, match="is no mail address"):
        send(mail, (NURSE, address))

    assert office.taken == []


def test_a_message_to_nobody_is_refused(office: PostOffice) -> None:
    with opened(office) as mail, pytest.raises(MailRefused, match="name at least one address"):
        send(mail, ())


# --- signing in and encryption --------------------------------------------------------------


@dataclass(frozen=True)
class Paper:
    """A certificate for this machine that nobody but its maker vouches for."""

    server: ssl.SSLContext
    believer: ssl.SSLContext


@pytest.fixture(scope="module")
def paper(tmp_path_factory: pytest.TempPathFactory) -> Paper:
    folder = tmp_path_factory.mktemp("paper")
    certificate, key = folder / "certificate.pem", folder / "key.pem"
    write_paper(certificate, key)
    server = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    server.load_cert_chain(certificate, key)
    return Paper(server, ssl.create_default_context(cafile=str(certificate)))


def write_paper(certificate: Path, key: Path) -> None:
    secret = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "an invented mail server")])
    today = datetime.now(UTC)  # noqa: TID251 -- the certificate must hold while this test runs
    signed = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(secret.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(today - timedelta(days=1))
        .not_valid_after(today + timedelta(days=1))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(
            x509.SubjectAlternativeName([x509.IPAddress(ip_address(HERE))]), critical=False
        )
        .sign(secret, hashes.SHA256())
    )
    certificate.write_bytes(signed.public_bytes(serialization.Encoding.PEM))
    key.write_bytes(
        secret.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )


def lets_in(server: Any, session: Any, envelope: Any, mechanism: str, data: Any) -> AuthResult:
    known = (data.login, data.password) == (b"book", b"an invented one")
    return AuthResult(success=known, handled=False)


def test_mail_goes_out_encrypted_and_signed_in(office: PostOffice, paper: Paper) -> None:
    how = {"tls_context": paper.server, "authenticator": lets_in, "auth_required": True}

    with opened(office, **how) as mail:
        send(
            replace(
                mail,
                tls="starttls",
                trust=paper.believer,
                user="book",
                password="an invented one",
            )
        )

    assert office.in_the_clear == [False]


def test_a_wrong_password_puts_the_message_off_until_somebody_mends_it(
    office: PostOffice, paper: Paper
) -> None:
    how = {"tls_context": paper.server, "authenticator": lets_in, "auth_required": True}

    with opened(office, **how) as mail, pytest.raises(MailPutOff, match="535") as caught:
        send(replace(mail, tls="starttls", trust=paper.believer, user="book", password="sesame"))

    assert "sesame" not in str(caught.value)


def test_mail_goes_out_over_tls_from_the_first_byte(office: PostOffice, paper: Paper) -> None:
    with opened(office, ssl_context=paper.server) as mail:
        send(replace(mail, tls="tls", trust=paper.believer))

    assert len(office.taken) == 1


@pytest.mark.parametrize("tls", ["tls", "starttls"])
def test_a_certificate_nobody_vouches_for_puts_the_message_off(
    office: PostOffice, paper: Paper, tls: Any
) -> None:
    how = {"ssl_context" if tls == "tls" else "tls_context": paper.server}

    with opened(office, **how) as mail, pytest.raises(MailPutOff, match="No safe connection"):
        send(replace(mail, tls=tls))

    assert office.taken == []


def test_a_server_that_cannot_encrypt_gets_nothing_when_encryption_was_asked_for(
    office: PostOffice,
) -> None:
    with opened(office) as mail, pytest.raises(MailPutOff, match="cannot be used: STARTTLS"):
        send(replace(mail, tls="starttls"))

    assert office.taken == []


def test_the_password_does_not_show_when_the_mailer_is_printed() -> None:
    assert "sesame" not in repr(replace(mailer(25), user="book", password="sesame"))


# --- how long to wait -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tries", "minutes"), [(0, 0), (1, 1), (2, 2), (3, 4), (8, 128), (9, 240), (10**9, 240)]
)
def test_each_wait_is_twice_the_last_up_to_four_hours(tries: int, minutes: int) -> None:
    assert wait_before(tries) == timedelta(minutes=minutes)


def test_tries_below_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="-1 was read"):
        wait_before(-1)
