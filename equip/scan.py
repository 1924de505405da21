"""Any scanned or typed text to what it names. Pure; nothing here knows what exists."""

import re
import unicodedata
from dataclasses import dataclass
from typing import Literal

from equip import acts
from equip.references import is_reference, joined, normal_reference

NAMES = {
    "E": "instrument",
    "D": "machine",
    "P": "pack",
    "S": "set",
    "L": "load",
    "B": "badge",
    "R": "place",
    "C": "act card",
    "T": "lot",
}

_ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
_VALUE = {mark: value for value, mark in enumerate(_ALPHABET)}
# Letters that move between the keyboard layouts of ten countries, the two that are taken for
# digits by eye, and the star that the check system may give: a number that needs one is skipped.
_NEVER_A_CHECK = frozenset("*IOYZAQWM")
_SHAPE = re.compile(r"([A-Z])([0-9]{8})([0-9A-Z*])")
_SHAPED = re.compile(r"[EDPSLBRCT][0-9]{7,9}[0-9A-Z]?")
_WHOLE_SHAPE = re.compile(r"[EDPSLBRCT][0-9]{8}[0-9A-Z*]")
# What is typed for a digit by eye; tags use none of these letters after the first.
_LOOK_ALIKE = str.maketrans("OIL", "011")

# What a scanner set to a US keyboard types on a French or Belgian one, digits only: the letters
# that tags use stay where they are.
_FRENCH = dict(zip("à&é\"'(-è_ç", "0123456789", strict=True))
_BELGIAN = dict(zip("à&é\"'(§è!ç", "0123456789", strict=True))
_MOVED_DIGITS = str.maketrans(
    {
        upper: digit
        for row in (_FRENCH, _BELGIAN)
        for key, digit in row.items()
        for upper in (key, key.upper())
    }
)
# Scanners may announce the symbol they read (AIM identifiers: bracket, letter, modifier). Caps
# Lock flips the letter, and a French or Belgian layout turns "]Q1" into "$A&" and "]d1" into "$d&".
_ANNOUNCED = re.compile(r"^(?:\][A-Za-z][0-9A-Za-z]|\$[AaDd](?:[0-9&\"'(§_!-]|[àéèçÀÉÈÇ]))")


class UnreadableScan(ValueError):
    """A scan that names nothing; the message says what was read and what to do."""


class UnreadableTag(UnreadableScan):
    """A text that is no tag of ours; the message says what was read and what to do."""


@dataclass(frozen=True, slots=True)
class Tag:
    """Ten characters: a letter for what it names, eight digits, a check character.

    *remapped* is true when a keyboard layout had to be undone to read it.
    """

    text: str
    remapped: bool = False

    @property
    def letter(self) -> str:
        return self.text[0]

    @property
    def names(self) -> str:
        """The word for what it names."""
        return NAMES[self.text[0]]

    @property
    def number(self) -> int:
        return int(self.text[1:9])


def check_character(body: str) -> str:
    """ISO/IEC 7064 MOD 37-2 over *body*, which is digits and capital letters."""
    remainder = 0
    for mark in body:
        remainder = (2 * remainder + _VALUE[mark]) % 37
    return _ALPHABET[(1 - 2 * remainder) % 37]


def make_tag(letter: str, number: int) -> str | None:
    """The tag of *number*, or None where its check character would be one we never print."""
    if letter not in NAMES:
        raise ValueError(f"no tag begins with {letter!r}")
    if not 0 < number < 10**8:
        raise ValueError(f"a tag's number has eight digits, not {number}")
    body = f"{letter}{number:08d}"
    check = check_character(body)
    return None if check in _NEVER_A_CHECK else body + check


def next_tag(letter: str, after: int) -> str:
    """The first printable tag whose number is above *after*."""
    number = after + 1
    while (tag := make_tag(letter, number)) is None:
        number += 1
    return tag


def show_tag(text: str) -> str:
    """The tag as people read it, in groups: E 0001 2345 8."""
    return f"{text[0]} {text[1:5]} {text[5:9]} {text[9:]}"


def read_tag(text: str) -> Tag:
    """The tag that *text* spells, whatever case, spacing or a French keyboard did to it."""
    seen = _ANNOUNCED.sub("", _trimmed(text))
    if not seen:
        raise UnreadableTag("Nothing was read: scan the tag again, or type its ten characters.")
    plain = _squeezed(seen)
    for candidate, remapped in (
        (plain, False),
        (plain.replace("-", ""), False),
        (plain.translate(_MOVED_DIGITS), True),
    ):
        if _is_whole(candidate):
            return Tag(candidate, remapped)
    raise UnreadableTag(_why_no_tag(_shown(seen), plain.translate(_MOVED_DIGITS)))


def _trimmed(text: str) -> str:
    """*text* without what frames it: blanks, and signs nobody sees (STX, a byte order mark)."""
    seen = unicodedata.normalize("NFC", text)
    inked = [at for at, mark in enumerate(seen) if mark.isprintable() and not mark.isspace()]
    return seen[inked[0] : inked[-1] + 1] if inked else ""


def _squeezed(seen: str) -> str:
    return "".join(seen.split()).upper()


def _is_whole(candidate: str) -> bool:
    shape = _SHAPE.fullmatch(candidate)
    return (
        shape is not None
        and shape[1] in NAMES
        and shape[2] != "00000000"
        and shape[3] not in _NEVER_A_CHECK
        and check_character(candidate[:9]) == shape[3]
    )


def _is_damaged_tag(seen: str) -> bool:
    """Whether *seen* is a tag of ours but for one slip of the hand or the scanner.

    A wrong, lost or doubled character, two that changed places, a letter typed for the digit it
    looks like: whatever the clinic's pattern for patients says, none of these is a person.
    """
    plain = _squeezed(seen)
    if _SHAPED.fullmatch(plain):
        return True
    bare, moved = plain.replace("-", ""), plain.translate(_MOVED_DIGITS)
    return any(_WHOLE_SHAPE.fullmatch(spelt) or _slipped(spelt) for spelt in (bare, moved))


def _slipped(plain: str) -> bool:
    if len(plain) == 10:
        swapped = (plain[:at] + plain[at + 1] + plain[at] + plain[at + 2 :] for at in range(9))
        looked = plain[0] + plain[1:9].translate(_LOOK_ALIKE) + plain[9]
        return _is_whole(looked) or any(_is_whole(candidate) for candidate in swapped)
    if len(plain) == 11:
        return any(
            plain[at] == plain[at + 1] and _is_whole(plain[:at] + plain[at + 1 :])
            for at in range(10)
        )
    return False


def _why_no_tag(shown: str, candidate: str) -> str:
    shape = _SHAPE.fullmatch(candidate)
    if shape is None:
        return (
            f"“{shown}” is no tag: a tag is a letter, eight digits and a check character. "
            "Scan it again, or type what is printed."
        )
    if shape[1] not in NAMES:
        return (
            f"“{shown}” begins with {shape[1]}, and no tag of this clinic does. "
            "Check that this is one of our tags."
        )
    if check_character(candidate[:9]) == shape[3]:
        return f"“{shown}” is a number that is never printed as a tag. Type what is printed."
    return (
        f"“{shown}” was misread: its check character does not agree. "
        "Scan it again; if the tag is damaged, type what is printed."
    )


def _shown(text: str, most: int = 40) -> str:
    """*text* fit to be printed back: no control characters, not endless."""
    clean = "".join(mark if mark.isprintable() else "·" for mark in text)
    return clean if len(clean) <= most else clean[: most - 1] + "…"


# --- act cards ------------------------------------------------------------------------------


FIRST_TYPE_CARD = 1000
"""Cards from this number on stand for types whose instruments carry no tag."""


def _tag_of(card: acts.Card) -> str:
    tag = make_tag("C", card.number) if 0 < card.number < FIRST_TYPE_CARD else None
    if tag is None:
        free = int(next_tag("C", max(other.number for other in acts.CARDS))[1:9])
        raise ValueError(
            f"No card is printed with number {card.number}: in equip/acts.py give “{card.word}” "
            f"another, such as {free}."
        )
    return tag


CARDS: dict[str, str] = {
    card.word: _tag_of(card) for card in sorted(acts.CARDS, key=lambda card: card.number)
}
"""Each act's word and the tag of its card, in the order in which cards are printed."""

_WORD_OF = {tag: word for word, tag in CARDS.items()}
_SPOKEN = acts.spoken()


# --- any scan at all -------------------------------------------------------------------------

ReadingKind = Literal["tag", "word", "patient", "text"]


@dataclass(frozen=True, slots=True)
class Reading:
    """What a scan names. *value* is the tag, the act's word, the patient reference or the text."""

    kind: ReadingKind
    value: str
    remapped: bool = False


def read(text: str, patients: re.Pattern[str], longest: int = 200) -> Reading:
    """What *text* names: an act, a tag, a patient reference by the clinic's pattern, or text.

    A text that is one of our tags but for a slip is never taken for a patient: its check
    character does not agree, so it is refused, and a damaged tag cannot become a person.
    """
    seen = " ".join(_trimmed(text).split())
    if not seen:
        raise UnreadableScan("Nothing was read: scan again.")
    if len(seen) > longest:
        raise UnreadableScan(
            f"{len(seen)} characters were read, too many for one scan: scan one thing at a time."
        )
    if not seen.isprintable():
        raise UnreadableScan(f"“{_shown(seen)}” holds signs that cannot be read: scan it again.")
    if (word := _SPOKEN.get(seen.lower())) is not None:
        return Reading("word", word)
    try:
        tag = read_tag(seen)
    except UnreadableTag:
        if _is_damaged_tag(_ANNOUNCED.sub("", seen)):
            raise
    else:
        return _tag_reading(tag)
    reference = normal_reference(_ANNOUNCED.sub("", seen))
    if _is_patient(reference, patients):
        return Reading("patient", reference)
    return Reading("text", seen)


def _is_patient(reference: str, patients: re.Pattern[str]) -> bool:
    """Whether the clinic's pattern takes *reference*; with its signs dropped it may be a tag."""
    if patients.fullmatch(reference):
        return True
    return is_reference(reference, patients) and not _is_damaged_tag(joined(reference))


def _tag_reading(tag: Tag) -> Reading:
    if tag.letter == "C" and tag.number < FIRST_TYPE_CARD:
        word = _WORD_OF.get(tag.text)
        if word is None:
            raise UnreadableScan(f"{show_tag(tag.text)} is a card for nothing this book knows.")
        return Reading("word", word, tag.remapped)
    return Reading("tag", tag.text, tag.remapped)
