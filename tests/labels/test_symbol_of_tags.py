"""The symbol of a tag, read back by a reader that shares no code with the writer (zxing-cpp)."""

import io
import re
import xml.etree.ElementTree as ElementTree
from collections.abc import Mapping
from typing import cast

import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from labels.symbol import modules, png, runs, spelled, svg

TAGS = st.from_regex(r"[BCDELPRST][0-9]{8}[0-9A-Z]", fullmatch=True)
TEN_CAPITALS = st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", min_size=10, max_size=10)


def read(image: Image.Image) -> zxingcpp.Barcode:
    found = zxingcpp.read_barcodes(image.convert("L"))
    assert len(found) == 1, f"{len(found)} symbols found"
    return found[0]


def version_of(found: zxingcpp.Barcode) -> object:
    """The QR version the reader saw, as it writes it: "1" for 21 modules."""
    return dict(cast("Mapping[str, object]", found.extra))["Version"]


def drawn(grid: tuple[tuple[bool, ...], ...], dots: int = 3, quiet: int = 4) -> Image.Image:
    """The modules painted by the test itself, one square at a time."""
    side = (len(grid) + 2 * quiet) * dots
    image = Image.new("L", (side, side), 255)
    for y, row in enumerate(grid):
        for x, black in enumerate(row):
            if black:
                left, top = (x + quiet) * dots, (y + quiet) * dots
                image.paste(0, (left, top, left + dots, top + dots))
    return image


@settings(max_examples=150, deadline=None)
@given(TAGS)
def test_the_modules_of_any_tag_read_back_as_the_tag(tag: str) -> None:
    found = read(drawn(modules(tag)))

    assert found.text == tag


@settings(max_examples=100, deadline=None)
@given(TEN_CAPITALS)
def test_ten_capitals_or_digits_are_always_version_1_at_level_h(text: str) -> None:
    grid = modules(text)

    found = read(drawn(grid))

    assert (len(grid), {len(row) for row in grid}) == (21, {21})
    assert (found.text, version_of(found), found.ec_level) == (text, "1", "H")


@pytest.mark.parametrize("text", ["E", "0123456789", "A B-C./+:$", "%*"])
def test_shorter_text_and_figures_alone_keep_the_same_size(text: str) -> None:
    found = read(drawn(modules(text)))

    assert (found.text, version_of(found)) == (text, "1")


def test_a_symbol_with_eight_wrong_modules_still_reads_as_its_tag() -> None:
    grid = [list(row) for row in modules("E000123458")]
    for step in range(8):
        grid[9 + step][9 + (5 * step) % 12] ^= True

    found = read(drawn(tuple(tuple(row) for row in grid)))

    assert found.text == "E000123458"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("e000123458", "The tag text 'e000123458' holds 'e'; "),
        ("E0001234É8", "holds 'É'"),
        ("E0001\n2345", r"holds '\\n'"),
        ("E0001234580", "has 11 characters; the symbol holds 10."),
        ("", "without text"),
    ],
)
def test_text_that_is_no_tag_is_refused_in_one_sentence(text: str, says: str) -> None:
    with pytest.raises(ValueError, match=says) as refusal:
        modules(text)

    assert re.fullmatch(r"[A-Z][^\n]*\.", str(refusal.value))


def test_the_symbol_of_a_tag_never_changes() -> None:
    assert modules("E000123458") == modules("E000123458")
    assert modules("E000123458") != modules("E000123409")


@settings(max_examples=20, deadline=None)
@given(TAGS)
def test_runs_cover_every_black_module_once_and_no_white_one(tag: str) -> None:
    grid = modules(tag)

    covered = [(row, column + n) for row, column, length in runs(grid) for n in range(length)]

    assert sorted(covered) == [(y, x) for y in range(21) for x in range(21) if grid[y][x]]


@pytest.mark.parametrize(("dots", "quiet", "side"), [(8, 4, 232), (1, 4, 29), (3, 0, 63)])
def test_a_picture_has_the_size_asked_for_and_reads(dots: int, quiet: int, side: int) -> None:
    image = Image.open(io.BytesIO(png("E000123458", dots_per_module=dots, quiet=quiet)))

    assert image.size == (side, side)
    assert read(image).text == "E000123458"


@pytest.mark.parametrize(("dots", "quiet"), [(0, 4), (-1, 4), (65, 4), (8, -1), (8, 22)])
def test_a_picture_of_senseless_size_is_refused(dots: int, quiet: int) -> None:
    with pytest.raises(ValueError, match="cannot be drawn; choose from"):
        png("E000123458", dots_per_module=dots, quiet=quiet)


def test_the_drawing_for_a_page_is_one_black_path_on_white_that_says_its_tag() -> None:
    root = ElementTree.fromstring(svg("E000123458"))

    name = "{http://www.w3.org/2000/svg}"
    assert root.get("role") == "img"
    assert [child.tag for child in root] == [f"{name}title", f"{name}rect", f"{name}path"]
    assert root[0].text == "Symbol of tag E 0001 2345 8"
    assert (root[1].get("fill"), root[2].get("fill")) == ("#fff", "#000")


def test_the_drawing_for_a_page_holds_the_same_modules() -> None:
    strokes = re.findall(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z", svg("E000123458"))
    image = Image.new("L", (29, 29), 255)
    for column, row, length, back in strokes:
        assert length == back
        image.paste(0, (int(column), int(row), int(column) + int(length), int(row) + 1))

    found = read(image.resize((87, 87), Image.Resampling.NEAREST))

    assert found.text == "E000123458"


def test_a_tag_is_spelled_in_groups_of_one_four_four_and_one() -> None:
    assert spelled("E000123458") == ("E", "0001", "2345", "8")
    assert spelled("SHORT") == ("SHORT",)
