"""What can be configured, and every way it can be wrong.

No setting is required. Each field carries its name in the environment and a sentence of help,
so that the read-me, the error and the code cannot tell different stories.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import Field, dataclass, field, fields, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from equip.settings import values
from equip.settings.values import HostPort, Tls


class BadSettings(ValueError):
    """Settings that cannot be used; *wrong* has a sentence for each, all of them at once."""

    def __init__(self, wrong: Sequence[str]) -> None:
        super().__init__("\n".join(wrong))
        self.wrong = tuple(wrong)


def _about(
    name: str, read: Callable[[str], Any], says: str, *, secret: bool = False
) -> dict[str, Any]:
    """What a field is called in the environment, how it is read, and what it is for."""
    return {"name": name, "read": read, "says": says, "secret": secret}


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """One installation. Build it with `settings_from`, or directly with values of these types."""

    data: Path = field(
        default=Path("data"),
        metadata=_about(
            "EQUIP_DATA",
            Path,
            "Folder of the database, the keys and the backups; made on first use.",
        ),
    )
    database: str = field(
        default="",
        repr=False,
        metadata=_about(
            "EQUIP_DATABASE",
            values.database,
            "URL of the database; if not set, the SQLite file book.sqlite3 in EQUIP_DATA.",
            secret=True,
        ),
    )
    book: str = field(
        default="england",
        metadata=_about(
            "EQUIP_BOOK",
            values.book,
            "Rule book to start with: england, australia or united-states.",
        ),
    )
    zone: str = field(
        default="Europe/London",
        metadata=_about("EQUIP_ZONE", values.zone, "Time zone of the clinic, by its IANA name."),
    )
    site: str = field(
        default="HOME",
        metadata=_about(
            "EQUIP_SITE", values.site, "Code of the site that is opened on the first run."
        ),
    )
    address: HostPort = field(
        default=HostPort("127.0.0.1", 8085),
        metadata=_about(
            "EQUIP_ADDRESS",
            values.host_port,
            "Host and port to listen on. 127.0.0.1 is reached from this machine alone.",
        ),
    )
    logs: Path | None = field(
        default=None,
        metadata=_about(
            "EQUIP_LOGS",
            values.folder,
            "Folder into which machines write their logs, each into a sub-folder named by its"
            " tag; if not set, logs are handed in on the load's page.",
        ),
    )
    secure_cookies: bool = field(
        default=False,
        metadata=_about(
            "EQUIP_SECURE_COOKIES",
            values.yes_no,
            "yes if people reach the book by https, so that the sign-in never travels in the"
            " clear. Not the default, because the first run is plain http on this machine, where"
            " a browser may drop such a cookie and nobody could sign in.",
        ),
    )
    smtp: HostPort | None = field(
        default=None,
        metadata=_about(
            "EQUIP_SMTP",
            values.host_port,
            "Host and port of the mail server; without it no mail is sent.",
        ),
    )
    smtp_user: str = field(
        default="",
        metadata=_about("EQUIP_SMTP_USER", str, "Name to sign in to the mail server with."),
    )
    smtp_password: str = field(
        default="",
        repr=False,
        metadata=_about(
            "EQUIP_SMTP_PASSWORD", str, "Password that goes with EQUIP_SMTP_USER.", secret=True
        ),
    )
    smtp_tls: Tls = field(
        default="starttls",
        metadata=_about(
            "EQUIP_SMTP_TLS",
            values.tls,
            "none, starttls or tls; if not set, none for a mail server on this machine and"
            " starttls for any other.",
        ),
    )
    mail_from: str = field(
        default="",
        metadata=_about("EQUIP_MAIL_FROM", values.mail, "Address the book writes from."),
    )
    mail_to: tuple[str, ...] = field(
        default=(),
        metadata=_about(
            "EQUIP_MAIL_TO",
            values.mails,
            "Who gets the daily digest: addresses with commas between them.",
        ),
    )
    digest_at: str = field(
        default="07:30",
        metadata=_about(
            "EQUIP_DIGEST_AT", values.hour, "Time of day of the digest, in the clinic's zone."
        ),
    )
    country: str = field(
        default="",
        metadata=_about(
            "EQUIP_COUNTRY",
            values.country,
            "Country whose public holidays are no working days, such as GB-ENG, AU-NSW or US; if"
            " not set, that of the rule book. Letters wait for a working day, and a due day moves"
            " off a holiday where the rule book says so.",
        ),
    )
    url: str = field(
        default="",
        metadata=_about(
            "EQUIP_URL",
            values.url,
            "Address at which people reach the book, for links in letters and calendars; if not"
            " set, EQUIP_ADDRESS.",
        ),
    )
    patient_pattern: str = field(
        default="[0-9]{5,12}|[A-Z]{2,6}-?[0-9]{4,10}",
        metadata=_about(
            "EQUIP_PATIENT_PATTERN",
            values.pattern,
            "Regular expression that the whole of a patient reference must match.",
        ),
    )

    @property
    def base_url(self) -> str:
        """The address that links begin with."""
        return self.url or f"http://{self.address}"

    @property
    def database_url(self) -> str:
        """The database as a URL, whether it was named or not."""
        return self.database or f"sqlite:///{self.data / 'book.sqlite3'}"


def described() -> dict[str, str]:
    """Every setting by its name in the environment, and what it is for."""
    return {one.metadata["name"]: one.metadata["says"] for one in fields(Settings)}


def _text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def settings_from(
    environ: Mapping[str, str], read_file: Callable[[Path], str] = _text_of
) -> Settings:
    """The settings that *environ* holds; a value left empty counts as not set.

    A secret may stand in a file that ``NAME_FILE`` names instead; *read_file* opens it.
    `BadSettings` with a sentence for each value that is wrong.
    """
    wrong = _misspelt(environ)
    given: set[str] = set()
    found: dict[str, Any] = {}
    for one in fields(Settings):
        try:
            if text := _text(one, environ, read_file):
                given.add(one.metadata["name"])
                found[one.name] = _value(one, text)
        except ValueError as problem:
            wrong.append(f"{one.metadata['name']}: {problem}.")
    settings = Settings(**found)
    if "EQUIP_SMTP_TLS" not in given and settings.smtp and settings.smtp.is_here:
        settings = replace(settings, smtp_tls="none")
    wrong += _at_odds(settings, given)
    if wrong:
        raise BadSettings(wrong)
    return settings


def _text(one: Field[Any], environ: Mapping[str, str], read_file: Callable[[Path], str]) -> str:
    """What was given for one setting, of itself or in a file; empty if nothing was."""
    name = one.metadata["name"]
    text = environ.get(name, "").strip()
    kept_in = environ.get(f"{name}_FILE", "").strip() if one.metadata["secret"] else ""
    if not kept_in:
        return text
    if text:
        raise ValueError(f"given twice; keep either it or {name}_FILE")
    try:
        text = read_file(Path(kept_in)).strip()
    except (OSError, ValueError):
        raise ValueError(
            f"the file {kept_in} cannot be read; check {name}_FILE and who may read it"
        ) from None
    if not text:
        raise ValueError(f"the file {kept_in} is empty; write the secret into it")
    return text


def _value(one: Field[Any], text: str) -> Any:
    """What *text* means; a secret is never repeated in an error."""
    try:
        return one.metadata["read"](text)
    except ValueError as problem:
        read = "what was read is no such thing" if one.metadata["secret"] else f"{text!r} was read"
        raise ValueError(f"{read}; {problem}") from None


def _misspelt(environ: Mapping[str, str]) -> list[str]:
    """A name of ours spelt nearly right would be passed over in silence; it is refused."""
    known = {one.metadata["name"]: one.metadata["secret"] for one in fields(Settings)}
    names = {*known, *(f"{name}_FILE" for name, secret in known.items() if secret)}
    tails = [name.removeprefix("EQUIP_") for name in names]
    said = []
    for name in sorted(name for name in environ if name.startswith("EQUIP_")):
        if name in names:
            continue
        if near := get_close_matches(name.removeprefix("EQUIP_"), tails, n=1, cutoff=0.75):
            said.append(f"{name}: there is no such setting; did you mean EQUIP_{near[0]}?")
    return said


def _at_odds(settings: Settings, given: set[str]) -> list[str]:
    """Settings that are right one by one and wrong together."""
    said = []
    data = settings.data.absolute()
    if settings.logs and (settings.logs.is_relative_to(data) or data.is_relative_to(settings.logs)):
        said.append(
            "EQUIP_LOGS: machines must not write where the database and the keys lie; name a"
            " folder apart from EQUIP_DATA."
        )
    if "EQUIP_MAIL_TO" in given and "EQUIP_SMTP" not in given:
        said.append("EQUIP_MAIL_TO: no mail can go out; name the mail server in EQUIP_SMTP.")
    if "EQUIP_SMTP" in given and "EQUIP_MAIL_FROM" not in given:
        said.append("EQUIP_SMTP: name the address the book writes from in EQUIP_MAIL_FROM.")
    signing_in = ("EQUIP_SMTP_USER", "EQUIP_SMTP_PASSWORD")
    for one, other in (signing_in, signing_in[::-1]):
        if one in given and other not in given:
            said.append(f"{one}: {other} goes with it; give both or neither.")
    in_the_clear = settings.smtp_tls == "none" and settings.smtp and not settings.smtp.is_here
    if in_the_clear and "EQUIP_SMTP_PASSWORD" in given:
        said.append(
            "EQUIP_SMTP_TLS: with none the password would cross the network for all to read;"
            " write starttls or tls."
        )
    return said
