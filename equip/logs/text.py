"""The bytes of a log to its lines, however it is stored; what is no text is refused by what it is.

Block by block, so that a day of readings is as light as a minute of them.
"""

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO, NoReturn

LIMIT_BYTES = 64 * 1024 * 1024
"""A day of four probes at ten readings a second fits in half of this."""
LONGEST_LINE = 10_000
_BLOCK_BYTES = 64 * 1024
_BOM = b"\xef\xbb\xbf"
_NO_TEXT = (b"PK\x03\x04", b"%PDF", b"\xd0\xcf\x11\xe0", b"\x1f\x8b")


class UnreadableLog(ValueError):
    """A file that is no plain log; the message says what was read and what to do."""


@dataclass(frozen=True, slots=True)
class Block:
    """Whole lines that follow each other, and the number of the first, counted from 1."""

    number: int
    raw: bytes

    def lines(self) -> Iterator[tuple[int, bytes]]:
        """Number and bytes of each line that is not blank. Raises UnreadableLog."""
        for number, raw in enumerate(io.BytesIO(self.raw), start=self.number):
            if len(raw) > LONGEST_LINE:
                _too_long(number)
            if b"\0" in raw:
                raise UnreadableLog(
                    f"Line {number} holds bytes that are no text: "
                    "save the log as CSV text in UTF-8."
                )
            if raw.strip():
                yield number, raw


def blocks(source: bytes | BinaryIO, limit: int = LIMIT_BYTES) -> Iterator[Block]:
    """The log in *source*, a byte-order mark at its start dropped. Raises UnreadableLog.

    What has no line breaks, or is longer than *limit* bytes, is refused before it can fill the
    memory.
    """
    if isinstance(source, bytes):
        if len(source) > limit:
            too_big(len(source), limit)
        source = io.BytesIO(source)
    number, size, rest = 1, 0, b""
    while chunk := source.read(_BLOCK_BYTES):
        if size == 0:
            _check_first_bytes(chunk)
            chunk = chunk.removeprefix(_BOM)
        size += len(chunk)
        if size > limit:
            too_big(size, limit)
        rest += chunk
        end = rest.rfind(b"\n") + 1
        if end:
            yield Block(number, rest[:end])
            number += rest.count(b"\n", 0, end)
            rest = rest[end:]
        if len(rest) > LONGEST_LINE:
            _too_long(number)
    if rest:
        yield Block(number, rest)


def text_lines(source: bytes | BinaryIO, limit: int = LIMIT_BYTES) -> Iterator[tuple[int, bytes]]:
    """Number and bytes of each line that is not blank. Raises UnreadableLog."""
    for block in blocks(source, limit):
        yield from block.lines()


def decoded(number: int, raw: bytes) -> str:
    """Line *number* as text, without its line end. Raises UnreadableLog."""
    try:
        return raw.decode("utf-8").strip()
    except UnicodeDecodeError as fault:
        raise UnreadableLog(
            f"Line {number} is not in UTF-8 (it reads {shown(repr(raw.strip())[1:])}): "
            "save the log as CSV text in UTF-8."
        ) from fault


def shown(text: str, most: int = 60) -> str:
    """*text* fit to be printed back: no control characters, not endless."""
    clean = "".join(mark if mark.isprintable() else "·" for mark in text)
    return clean if len(clean) <= most else clean[: most - 1] + "…"


def too_big(size: int, limit: int) -> NoReturn:
    raise UnreadableLog(
        f"The log has {size:,} bytes, more than the {limit:,} that are read: "
        "cut it to one cycle, or have the machine record less often."
    )


def _too_long(number: int) -> NoReturn:
    raise UnreadableLog(
        f"Line {number} has {LONGEST_LINE:,} characters or more and no log line does: "
        "save the log as CSV text and hand that in."
    )


def _check_first_bytes(chunk: bytes) -> None:
    raw = chunk[:LONGEST_LINE].partition(b"\n")[0]
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise UnreadableLog("Line 1 is in UTF-16: save the log as CSV text in UTF-8.")
    if b"\0" in raw or raw.startswith(_NO_TEXT):
        raise UnreadableLog(
            "The file is no text (a spreadsheet, a PDF or packed): save the log as CSV text."
        )
    if b"\r" in raw.rstrip(b"\r"):
        raise UnreadableLog(
            "Line 1 ends with a lone carriage return: save the log with ordinary line ends."
        )
