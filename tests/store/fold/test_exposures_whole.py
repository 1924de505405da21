"""An exposure kept as one text: the same again when it is read, and there for an older book too."""

from fractions import Fraction

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.lookback.sweep import Certainty, Exposure, Path, Source
from equip.store.fold.exposure_text import from_whole, whole

words = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=12)
shares = st.fractions(Fraction(0), Fraction(1), max_denominator=999)


def path_of(entries: list[str]) -> Path:
    path = Path(entries[0])
    for entry in entries[1:]:
        path = Path(entry, path)
    return path


sources = st.builds(
    Source,
    use=words,
    patient=st.none() | words,
    at=st.integers(-(2**62), 2**62),
    certainty=st.sampled_from(Certainty),
    share=shares,
    path=st.lists(words, min_size=1, max_size=6).map(path_of),
)
exposed = st.builds(
    Exposure,
    item=words,
    use=words,
    patient=words,
    at=st.integers(-(2**62), 2**62),
    entry=words,
    certainty=st.sampled_from(Certainty),
    share=shares,
    sources=st.lists(sources, min_size=1, max_size=4).map(tuple),
)


@given(exposed)
def test_what_is_kept_is_read_back_the_same(one: Exposure) -> None:
    kept = whole(one)

    again = from_whole(one.item, one.use, one.patient, one.at, int(one.certainty), kept)

    assert again == one
    assert isinstance(again.certainty, Certainty)
    assert [s.path.entries() for s in again.sources] == [s.path.entries() for s in one.sources]


def test_a_row_that_was_tampered_with_is_an_error_and_not_an_exposure() -> None:
    with pytest.raises(msgspec.ValidationError):
        from_whole("E1", "u", "t", 0, 2, '["HARB/1","1",[["u",null,0,2,"1"]]]')
