"""A photo of a strip or a display: whether its bytes are one picture, and a small copy to show.

The bytes as they were handed in are the evidence and are kept as they are, with whatever the
camera wrote into them. A page shows a copy that holds the picture's points and nothing else.
"""

from dataclasses import dataclass
from io import BytesIO
from typing import Literal

from PIL import Image, ImageOps

Kind = Literal["jpeg", "png"]

_SIGNS: tuple[tuple[bytes, Kind], ...] = ((b"\xff\xd8\xff", "jpeg"), (b"\x89PNG\r\n\x1a\n", "png"))
_PHONE_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"avif")
_COARSER = 8
"""A JPEG may be decoded at an eighth of its size: every byte is read, a sixtieth is held."""


class UnreadablePhoto(ValueError):
    """What was handed in is no photo that can be kept; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo that was looked at: its bytes as they came, what they are, how large."""

    data: bytes
    kind: Kind
    width: int
    height: int
    name: str = ""


def kind_of(data: bytes) -> Kind | None:
    """What the first bytes say it is; None is no picture of ours, whatever its name was."""
    return next((kind for sign, kind in _SIGNS if data.startswith(sign)), None)


def checked(data: bytes, *, most_bytes: int, most_pixels: int, name: str = "") -> Photo:
    """*data* as a photo, once all of it was decoded. Raises UnreadablePhoto."""
    if not data:
        raise UnreadablePhoto("The photo is empty: take it again.")
    if len(data) > most_bytes:
        raise UnreadablePhoto(
            f"The photo has {len(data) / 1e6:.1f} MB; {most_bytes / 1e6:g} MB is the most. "
            "Take it at a lower resolution."
        )
    kind = kind_of(data)
    if kind is None:
        raise UnreadablePhoto(_no_picture(data))
    width, height = _measured(data, kind, most_pixels)
    try:
        _decoded(data, kind)
    except Exception:  # a decoder fails in many ways on bytes that somebody made up
        raise UnreadablePhoto(
            f"The photo begins as a {kind.upper()} and cannot be read to its end: "
            "it is cut off or damaged. Take it again."
        ) from None
    return Photo(data, kind, width, height, name)


def shown(data: bytes, longest: int) -> bytes:
    """A JPEG of the picture's points alone, upright, no side longer than *longest* points.

    For bytes that were checked when they were handed in.
    """
    kind = kind_of(data)
    if kind is None:
        raise UnreadablePhoto(_no_picture(data))
    with _opened(data, kind) as picture:
        picture.draft("RGB", (longest, longest))
        upright = ImageOps.exif_transpose(picture).convert("RGBA")
    upright.thumbnail((longest, longest))
    # A picture made anew: what the camera wrote beside the points does not come along.
    plain = Image.new("RGB", upright.size, "white")
    plain.paste(upright, mask=upright)
    out = BytesIO()
    plain.save(out, "JPEG", quality=82)
    return out.getvalue()


def _opened(data: bytes, kind: Kind) -> Image.Image:
    """Only the decoder that the first bytes name is ever asked."""
    return Image.open(BytesIO(data), formats=(kind.upper(),))


def _measured(data: bytes, kind: Kind, most_pixels: int) -> tuple[int, int]:
    """Width and height from the head alone: nothing is decoded that is too large to be."""
    try:
        with _opened(data, kind) as picture:
            width, height = picture.size
            frames = getattr(picture, "n_frames", 1) if kind == "png" else 1
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise UnreadablePhoto(_too_large(most_pixels)) from None
    except Exception:  # as above: the head may be anything
        raise UnreadablePhoto(
            f"The photo begins as a {kind.upper()} and is none: take it again."
        ) from None
    if width * height > most_pixels:
        raise UnreadablePhoto(_too_large(most_pixels))
    if frames > 1:
        raise UnreadablePhoto("The photo moves: take one still picture.")
    return width, height


def _decoded(data: bytes, kind: Kind) -> None:
    with _opened(data, kind) as picture:
        picture.verify()  # the check sums of a PNG; afterwards the picture is of no use
    with _opened(data, kind) as picture:
        if kind == "jpeg":
            picture.draft("RGB", (picture.width // _COARSER, picture.height // _COARSER))
        picture.load()


def _too_large(most_pixels: int) -> str:
    return (
        f"The photo has more than {most_pixels / 1e6:g} million points. "
        "Take it at a lower resolution."
    )


def _no_picture(data: bytes) -> str:
    if data[4:8] == b"ftyp" and data[8:12] in _PHONE_BRANDS:
        return (
            "The photo is in a format of phones (HEIC or AVIF) that cannot be kept here: "
            "set the camera to JPEG, or send a JPEG of it."
        )
    return "The photo is neither JPEG nor PNG: take one with a camera or a phone."
