"""What stands where on one label: nothing overlaps, nothing leaves its place, nothing is lost
without an ellipsis."""

import io

import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops, ImageFont

from labels.designs import design_named, designs
from labels.faces import BOLD, PLAIN, Face, fitted, paragraph, printable, shortened, width
from labels.layout import Drawing, Label, arrange, text_column
from labels.sheet import label_png

ALL = list(designs())
ANY_LINES = st.lists(st.text(max_size=60), max_size=6).map(tuple)


def said(drawing: Drawing) -> list[str]:
    return [text.words for text in drawing.texts]


@pytest.mark.parametrize("face", [PLAIN, BOLD])
def test_words_are_as_wide_as_the_font_draws_them(face: Face) -> None:
    font = ImageFont.truetype(str(face.path), 1000, layout_engine=ImageFont.Layout.BASIC)

    measured = width("Rigid endoscope 0123456789 …E", face, 1.0)

    drawn = font.getlength("Rigid endoscope 0123456789 …E") / 1000
    assert measured == pytest.approx(drawn, rel=0.002)


def test_all_figures_are_of_one_width_so_that_tags_stand_in_columns() -> None:
    assert len({width(figure, PLAIN, 1.0) for figure in "0123456789"}) == 1


@pytest.mark.parametrize("name", ALL)
def test_the_tag_is_shown_whole_in_groups_within_its_column(name: str) -> None:
    design = design_named(name)
    column = text_column(design)

    drawing = arrange(Label("E000123458"), design)

    assert said(drawing) == ["E", "0001", "2345", "8"]
    assert drawing.texts[-1].box.x + drawing.texts[-1].box.width <= column.x + column.width + 1e-6
    assert {text.size for text in drawing.texts} == {drawing.texts[0].size}
    assert drawing.texts[0].size >= 1.9


def test_every_nought_and_nothing_else_gets_a_dot_in_its_middle() -> None:
    drawing = arrange(Label("E000123450", ("0 O 0",)), design_named("a4-5x13"))

    noughts = [0, 1, 2]
    group, last = drawing.texts[1], drawing.texts[3]
    each = width("0", PLAIN, group.size)
    middles = [group.x + (n + 0.5) * each for n in noughts] + [last.x + each / 2]
    assert [dot.x + dot.width / 2 for dot in drawing.fills] == pytest.approx(middles)
    assert {round(group.baseline - (dot.y + dot.height / 2), 6) for dot in drawing.fills} == {
        round(0.365 * group.size, 6)
    }


def test_a_long_name_goes_on_in_the_next_row_where_there_is_one() -> None:
    label = Label("E000123458", ("Rigid endoscope 2.7 mm 30°", "Room 2"))

    drawing = arrange(label, design_named("a4-5x13"))

    assert said(drawing)[4:] == ["Rigid endoscope", "2.7 mm 30°", "Room 2"]


def test_where_there_is_no_row_left_a_long_name_ends_in_an_ellipsis() -> None:
    label = Label("E000123458", ("Rigid endoscope 2.7 mm 30°", "Room 2", "Set 4"))

    drawing = arrange(label, design_named("a4-7x27"))

    assert said(drawing)[4:] == ["Rigid endosco…", "Room 2 …"]


def test_an_act_card_says_its_word_large_and_its_tag_small() -> None:
    drawing = arrange(Label("C000000019", ("finish",)), design_named("a4-cards"))

    assert said(drawing) == ["finish", "C", "0000", "0001", "9"]
    assert (drawing.texts[0].size, drawing.texts[1].size) == (14.0, 4.0)


def test_a_long_word_on_a_card_is_set_smaller_and_in_two_rows_before_it_is_cut() -> None:
    drawing = arrange(Label("B000000019", ("Marjorie Featherstone-Haugh", "Nurse")),
                      design_named("a4-cards"))  # fmt: skip

    assert said(drawing)[:3] == ["Marjorie", "Featherstone-Haugh", "Nurse"]
    assert drawing.texts[0].size == drawing.texts[1].size > drawing.texts[2].size


def test_a_word_no_card_could_hold_is_cut_with_an_ellipsis() -> None:
    drawing = arrange(Label("B000000019", ("W" * 200,)), design_named("a4-cards"))

    assert said(drawing)[0].startswith("WWWW")
    assert said(drawing)[0].endswith("…")


@pytest.mark.parametrize(
    ("given_words", "printed"),
    [
        ("Zoë Müller, François", "Zoë Müller, François"),
        ("Zoe\u0308", "Zoë"),
        ("Łasica, Đuro, Åse, Čapek", "Łasica, Đuro, Åse, Čapek"),
        ("Kőhegyi Ștefan", "Kohegyi Stefan"),
        ("Жук", "???"),
        ("😀 tip", "? tip"),
        ("\ud800x", "?x"),
        ("endo\u00adscope\u200b", "endoscope"),
        ("two\nlines\tand  blanks ", "two lines and blanks"),
        ("\x00", ""),
        ("2.7 mm ≥ 30°", "2.7 mm ≥ 30°"),
    ],
)
def test_letters_the_face_lacks_are_printed_plain_or_as_a_question_mark(
    given_words: str, printed: str
) -> None:
    assert printable(given_words, PLAIN) == printed


@settings(deadline=None)
@given(st.text(max_size=80), st.floats(1.0, 10.0), st.floats(12.0, 60.0))
def test_a_shortened_line_always_fits_and_is_whole_or_ends_in_an_ellipsis(
    words: str, size: float, room: float
) -> None:
    line = printable(words, PLAIN)

    short = shortened(line, PLAIN, size, room)

    assert width(short, PLAIN, size) <= room + 1e-9
    assert short == line or (short.endswith("…") and line.startswith(short[:-1]))


@given(st.text("abc de", max_size=80), st.integers(1, 4))
def test_a_line_in_rows_keeps_every_word_unless_an_ellipsis_says_otherwise(
    words: str, most: int
) -> None:
    line = printable(words, PLAIN)

    rows = fitted(line, PLAIN, 2.0, 15.0, most)

    assert len(rows) <= most
    assert " ".join(rows) == line or any(row.endswith("…") for row in rows)


@given(ANY_LINES, st.integers(0, 5))
def test_lines_that_find_no_row_are_announced_by_an_ellipsis(
    lines: tuple[str, ...], most: int
) -> None:
    asked = [line for line in (printable(line, PLAIN) for line in lines) if line]

    rows = paragraph(lines, PLAIN, 2.0, 20.0, most)

    assert len(rows) <= most
    assert all(width(row, PLAIN, 2.0) <= 20.0 + 1e-9 for row in rows)
    assert len(asked) <= most or not rows or rows[-1].endswith("…")


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(ALL), ANY_LINES)
def test_no_text_leaves_its_column_or_touches_other_text(name: str, lines: tuple[str, ...]) -> None:
    design = design_named(name)
    column = text_column(design)

    boxes = [text.box for text in arrange(Label("E000123458", lines), design).texts]

    for box in boxes:
        assert box.x >= column.x - 1e-6
        assert box.x + box.width <= column.x + column.width + 1e-6
        assert box.y >= column.y - 1e-6
        assert box.y + box.height <= column.y + column.height + 1e-6
    for number, one in enumerate(boxes):
        for other in boxes[number + 1 :]:
            beside = one.x + one.width <= other.x + 1e-6
            assert beside or one.y + one.height <= other.y + 1e-6


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(ALL), st.lists(st.text("ÅÉfgjJQTWy/|_ ", max_size=60), max_size=6).map(tuple)
)
def test_no_ink_reaches_the_edge_of_the_label_or_the_quiet_zone(
    name: str, lines: tuple[str, ...]
) -> None:
    design = design_named(name)
    dot = 25.4 / 300
    column = text_column(design)
    top = (design.label[1] - design.symbol) / 2

    image = Image.open(io.BytesIO(label_png(Label("E000123458", lines), design.name)))

    ink = ImageChops.invert(image.convert("L"))
    for x, y, w, h in (
        (design.inset, top, design.symbol, design.symbol),
        (column.x, column.y, column.width, column.height),
    ):
        ink.paste(0, (int(x / dot) - 1, int(y / dot) - 1, int((x + w) / dot) + 2,
                      int((y + h) / dot) + 2))  # fmt: skip
    assert ink.getbbox() is None


@pytest.mark.parametrize("name", ALL)
def test_a_symbol_whose_ink_grew_by_one_dot_still_reads(name: str) -> None:
    image = Image.open(io.BytesIO(label_png(Label("E000123458"), name))).convert("L")
    right, down = ImageChops.offset(image, 1, 0), ImageChops.offset(image, 0, 1)
    grown = ImageChops.darker(image, ImageChops.darker(right, down))

    found = zxingcpp.read_barcodes(grown)

    assert [each.text for each in found] == ["E000123458"]
