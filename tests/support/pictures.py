"""Pictures for tests: good ones, and bytes that only look like one."""

import struct
import zlib
from io import BytesIO
from typing import Any

from PIL import Image


def jpeg(size: tuple[int, int] = (640, 400), **more: Any) -> bytes:
    """Noise, so that it does not shrink to nothing."""
    return _saved(Image.effect_noise(size, 60).convert("RGB"), "JPEG", **more)


def png(size: tuple[int, int] = (300, 200), **more: Any) -> bytes:
    return _saved(Image.effect_noise(size, 60), "PNG", **more)


def other(kind: str) -> bytes:
    """A good picture of a kind that is not kept."""
    return _saved(Image.new("RGB", (8, 8)), kind)


def headed(width: int, height: int) -> bytes:
    """A PNG whose head claims that size and that holds next to nothing."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(b"\0")), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_part(name, data) for name, data in parts)


def swollen() -> bytes:
    """A PNG with a text in it that unpacks to very much more than it is."""
    good = png()
    text = b"Comment\0\0" + zlib.compress(b"x" * 80_000_000)
    return good[:33] + _part(b"zTXt", text) + good[33:]


def moving() -> bytes:
    frames = [Image.new("RGB", (8, 8), colour) for colour in ("red", "blue")]
    return _saved(frames[0], "PNG", save_all=True, append_images=frames[1:])


def _part(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def _saved(picture: Image.Image, kind: str, **more: Any) -> bytes:
    out = BytesIO()
    picture.save(out, kind, **more)
    return out.getvalue()
