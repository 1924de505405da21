"""A certificate as a file: what it may be, how large; kept by its hash, shown as what it is."""

from dataclasses import dataclass
from typing import Literal

from equip import photos
from equip.desk.act.act import Act, Refused
from equip.desk.clinic import Clinic
from equip.store.kept import files

Kind = Literal["pdf", "jpeg", "png"]
_PDF, _END = b"%PDF-", b"%%EOF"
_TAIL = 2048


@dataclass(frozen=True, slots=True)
class Paper:
    """A certificate that was looked at: its bytes as they came, and what it was called."""

    data: bytes
    name: str


def kind_of(data: bytes) -> Kind | None:
    """What the first bytes say it is; None is nothing that is shown here."""
    return "pdf" if data.startswith(_PDF) else photos.kind_of(data)


def kept(act: Act, paper: Paper | None, before: tuple[str, str] = ("", "")) -> tuple[str, str]:
    """Its hash and name as an entry keeps them; told again without a file, those of *before*."""
    if paper is None:
        return before
    return files.keep(act.store, paper.data, paper.name), paper.name[:200]


def looked_at(clinic: Clinic, data: bytes, name: str) -> Paper:
    """*data* as a certificate: a whole PDF, or a picture that can be read. Before an act begins."""
    rules = clinic.house.rules(clinic.clock())
    most = rules.whole("certificate.most-bytes")
    if not data:
        raise Refused("The certificate is empty: choose the file again.")
    if len(data) > most:
        raise Refused(
            f"The certificate has {len(data) / 1e6:.1f} MB; {most / 1e6:g} MB is the most. Scan it"
            " at a lower resolution."
        )
    kind = kind_of(data)
    if kind is None:
        raise Refused("The certificate is neither PDF nor JPEG nor PNG: save it as one of these.")
    if kind == "pdf":
        if _END not in data[-_TAIL:]:
            raise Refused("The certificate begins as a PDF and is cut off: hand it in again.")
        return Paper(data, name)
    try:
        pixels = rules.whole("photo.most-pixels")
        photos.checked(data, most_bytes=most, most_pixels=pixels, name=name)
    except photos.UnreadablePhoto as problem:
        raise Refused(str(problem).replace("The photo", "The certificate")) from None
    return Paper(data, name)
