"""A patient reference however it is written: its spelling, its canonical form, its end.

What only decorates is dropped: “DEMO-77001” and “DEMO77001” are one patient. Signs between a letter
and a digit always decorate. Others do where the clinic's pattern takes the reference with them and
without, and has one place for each; else they stay: “12-345” and “123-45” may be two people. Pure.
"""

import re
import unicodedata

_SIGNS = r" ./\-\u2010-\u2015\u2212"
_LETTER = r"[^\W\d_]"
_SIGN = re.compile(f"[{_SIGNS}]")
_RUN = re.compile(rf"(?<=\d)[{_SIGNS}]+(?=\d)|(?<={_LETTER})[{_SIGNS}]+(?={_LETTER})")
_BETWEEN = re.compile(rf"(?<={_LETTER})[{_SIGNS}]+(?=\d)|(?<=\d)[{_SIGNS}]+(?={_LETTER})")
_SEAM = re.compile(rf"(?<={_LETTER})(?=\d)|(?<=\d)(?={_LETTER})")


def normal_reference(reference: str) -> str:
    """A patient reference in its one spelling: trimmed, single spaces, capitals."""
    return " ".join(unicodedata.normalize("NFC", reference).split()).upper()


def bare(reference: str) -> str:
    """*reference* without any sign that may decorate. Two people may share it: never a name."""
    normal = normal_reference(reference)
    return _SIGN.sub("", normal) or normal


def joined(reference: str) -> str:
    """*reference* without the signs that stand between a letter and a digit."""
    return _BETWEEN.sub("", normal_reference(reference))


def canonical(reference: str, patients: re.Pattern[str] | None = None) -> str:
    """The one form of all ways to write *reference*; *patients* is the clinic's pattern."""
    seamless, plain = joined(reference), bare(reference)
    if patients is None or plain == seamless or not patients.fullmatch(plain):
        return seamless
    return plain if any(_decorated(form, patients) for form in _forms(seamless)) else seamless


def _forms(seamless: str) -> tuple[str, str]:
    """As a pattern may want it: with nothing between letters and digits, or with a hyphen."""
    return seamless, _SEAM.sub("-", seamless)


def _decorated(form: str, patients: re.Pattern[str]) -> bool:
    """Whether the pattern takes *form*, and takes none of its signs one place to the side."""
    return patients.fullmatch(form) is not None and not any(
        patients.fullmatch(moved) for run in _RUN.finditer(form) for moved in _moved(form, run)
    )


def _moved(form: str, run: re.Match[str]) -> list[str]:
    before, after = form[: run.start()], form[run.end() :]
    between = [(before[:-1], before[-1:] + after), (before + after[:1], after[1:])]
    return [one + run[0] + other for one, other in between if one and other]


def is_reference(reference: str, patients: re.Pattern[str]) -> bool:
    """Whether the clinic's pattern takes *reference*, with or without what decorates it.

    A space is taken only where the pattern itself has one: “BOX 2024” is an answer, no patient.
    """
    normal = normal_reference(reference)
    if patients.fullmatch(normal):
        return True
    return " " not in normal and any(patients.fullmatch(form) for form in _forms(joined(normal)))


def end_of(reference: str, shown: int, *, whole: bool = False) -> str:
    """The last *shown* characters, by which a patient is checked; all of them only if *whole*."""
    return reference[-shown:] if whole else reference[1:][-shown:] or reference
