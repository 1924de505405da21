"""Sheet designs: those that come with the tool can be printed; those that cannot are refused."""

import pytest

from labels.designs import design_named, designs, read_designs

GOOD = {
    "kind": '"label"',
    "page": "[210.0, 297.0]",
    "grid": "[3, 8]",
    "label": "[63.5, 33.9]",
    "pitch": "[66.0, 33.9]",
    "corner": "[7.25, 12.9]",
    "dots": "6",
    "tag_mm": "4.0",
    "line_mm": "3.0",
}


def a_design(**changed: str) -> str:
    figures = {**GOOD, **changed}
    return "[trial]\n" + "".join(f"{key} = {value}\n" for key, value in figures.items() if value)


def test_the_sheets_people_buy_are_there() -> None:
    assert set(designs()) == {
        "a4-5x13", "a4-4x12", "a4-3x8", "a4-7x27",
        "letter-3x10", "letter-4x20", "a4-cards", "letter-cards",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("name", "places"),
    [("a4-5x13", 65), ("a4-4x12", 48), ("a4-3x8", 24), ("a4-7x27", 189),
     ("letter-3x10", 30), ("letter-4x20", 80), ("a4-cards", 10), ("letter-cards", 10)],
)  # fmt: skip
def test_a_sheet_holds_as_many_labels_as_its_grid(name: str, places: int) -> None:
    assert design_named(name).places == places


@pytest.mark.parametrize("name", list(designs()))
def test_every_design_prints_whole_dots_inside_the_label_and_the_page(name: str) -> None:
    design = design_named(name)
    width, height = design.label
    columns, rows = design.grid

    assert design.dots >= 3
    assert design.module == pytest.approx(design.dots / 300 * 25.4)
    assert design.inset >= 1.5
    assert design.symbol + 2 * design.inset <= height
    assert design.inset - 4 * design.module >= 1.0 - 1e-9
    assert design.text_left >= design.inset + 25 * design.module - 1e-9
    assert design.corner[0] + (columns - 1) * design.pitch[0] + width <= design.page[0] - 4.0
    assert design.corner[1] + (rows - 1) * design.pitch[1] + height <= design.page[1] - 4.0


@pytest.mark.parametrize("name", list(designs()))
def test_every_grid_stands_in_the_middle_of_its_page(name: str) -> None:
    design = design_named(name)
    right = design.page[0] - design.corner[0] - design.label[0]
    right -= (design.grid[0] - 1) * design.pitch[0]

    assert right == pytest.approx(design.corner[0], abs=0.06)
    assert design.foot == pytest.approx(design.corner[1], abs=0.06)


def test_a_design_says_itself_in_words() -> None:
    says = design_named("a4-5x13").says

    assert says == "5 × 13 labels of 38.1 × 21.2 mm on a page of 210 × 297 mm"


def test_a_sound_design_is_read() -> None:
    design = read_designs(a_design())["trial"]

    assert (design.name, design.places) == ("trial", 24)
    assert design.module == pytest.approx(0.508)


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"pitch": "[63.0, 33.9]"}, "across, labels of 63.5 mm overlap at a pitch of 63 mm"),
        ({"pitch": "[66.0, 33.0]"}, "down, labels of 33.9 mm overlap at a pitch of 33 mm"),
        ({"grid": "[4, 8]"}, "across, the labels end at 268.75 mm on a page of 210 mm"),
        ({"grid": "[3, 9]"}, "down, the labels end at 318 mm on a page of 297 mm"),
        ({"corner": "[3.5, 12.9]"}, "a margin of 3.50 mm is under the 4 mm"),
        ({"corner": "[7.25, 24.0]"}, "a margin of 1.80 mm is under the 4 mm"),
        ({"grid": "[0, 8]"}, "a grid of 0 × 8 holds no label"),
        ({"dots": "2"}, "a module of 2 dots is too fine, 3 is the least"),
        ({"dots": "16"}, "the symbol with its edge needs 41.29 mm of a label 33.9 mm high"),
        ({"label": "[28.0, 33.9]"}, "are left for text, under 12 mm"),
        ({"line_mm": "24.0"}, "the lines of text need 33.6 mm of a label 33.9 mm high"),
        ({"kind": '"card"'}, "word_mm must be larger than its line_mm"),
        ({"kind": '"roll"'}, "cannot be read: "),
        ({"dots": "3.5"}, "cannot be read: "),
        ({"dots": ""}, "missing required field `dots`"),
        ({"colour": "1"}, "unknown field `colour`"),
        ({"line_mm": "nan"}, "every length must be a number above 0 mm"),
        ({"page": "[inf, 297.0]"}, "every length must be a number above 0 mm"),
        ({"tag_mm": "-1.0"}, "every length must be a number above 0 mm"),
    ],
)
def test_a_design_that_cannot_be_printed_is_refused(changed: dict[str, str], says: str) -> None:
    with pytest.raises(ValueError, match=says) as refusal:
        read_designs(a_design(**changed))

    assert "The sheet design 'trial' cannot be" in str(refusal.value)


def test_all_that_is_wrong_is_said_at_once() -> None:
    with pytest.raises(ValueError, match=r"across, .*; down, .*overlap"):
        read_designs(a_design(grid="[4, 8]", pitch="[66.0, 33.0]"))


@pytest.mark.parametrize("text", ["[trial", "trial = 3"])
def test_what_is_no_table_of_designs_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"The sheet design"):
        read_designs(text)


def test_an_unknown_name_is_answered_with_those_there_are() -> None:
    with pytest.raises(ValueError, match="no sheet design 'a5'; choose one of a4-5x13, "):
        design_named("a5")
