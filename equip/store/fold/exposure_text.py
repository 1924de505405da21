"""An exposure as one text and back: its sources, how sure and what share each is, every path.

One with very many sources is not kept as a text but swept again when it is read: where an item
is used on one patient after the other and nothing between is recorded, as in a past that came in
without its loads, each use has all before it as sources, and texts would grow with their square.
"""

from fractions import Fraction

import msgspec

from equip.rules.lookback.sweep import Certainty, Exposure, Path, Source

_Kept = tuple[str, str, list[tuple[str, str | None, int, int, str, list[str]]]]
"""The entry, the share, and of each source: use, patient, moment, certainty, share, path."""

_encode = msgspec.json.encode
_decode = msgspec.json.Decoder(_Kept).decode
_WHOLE = Fraction(1)


MOST_KEPT = 20
"""As many sources are kept with an exposure, or none."""


def whole(exposure: Exposure) -> str:
    """All that the columns of its row do not say; "" if that would be too much."""
    if len(exposure.sources) > MOST_KEPT:
        return ""
    sources = [
        (
            source.use,
            source.patient,
            source.at,
            int(source.certainty),
            str(source.share),
            source.path.entries(),
        )
        for source in exposure.sources
    ]
    return _encode((exposure.entry, str(exposure.share), sources)).decode()


def from_whole(
    item: str, use: str, patient: str, at: int, certainty: int, kept: str | bytes
) -> Exposure:
    """The exposure that a row keeps."""
    entry, share, sources = _decode(kept)
    return Exposure(
        item=item,
        use=use,
        patient=patient,
        at=at,
        entry=entry,
        certainty=Certainty(certainty),
        share=_share(share),
        sources=tuple(
            Source(name, whom, when, Certainty(sure), _share(part), _path(entries))
            for name, whom, when, sure, part, entries in sources
        ),
    )


def _share(text: str) -> Fraction:
    return _WHOLE if text == "1" else Fraction(text)


def _path(entries: list[str]) -> Path:
    """Oldest first, to a path that begins with the newest."""
    path = Path(entries[0])
    for entry in entries[1:]:
        path = Path(entry, path)
    return path
