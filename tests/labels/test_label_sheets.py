"""Sheets as a whole: which label comes to which place, what is refused, the same bytes twice."""

import hashlib
import io
import os
import re
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import msgspec
import pypdf
import pytest
from PIL import Image

from labels.designs import designs
from labels.layout import Drawing
from labels.sheet import (
    Label,
    add_ruler,
    label_pdf,
    label_png,
    page_count,
    sheet_pdf,
    sheet_png,
)

ONE = [Label("E000123458", ("Suction tip",))]


def many(number: int) -> list[Label]:
    return [Label(f"E{n:08d}9", ("Suction tip 2 mm", "Zoë Kőhegyi")) for n in range(number)]


@pytest.mark.parametrize(
    ("number", "first", "pages"), [(1, 1, 1), (65, 1, 1), (66, 1, 2), (65, 2, 2), (1, 65, 1)]
)
def test_labels_fill_as_many_pages_as_they_need(number: int, first: int, pages: int) -> None:
    pdf = pypdf.PdfReader(io.BytesIO(sheet_pdf(many(number), "a4-5x13", first=first)))

    assert len(pdf.pages) == pages
    assert page_count(many(number), "a4-5x13", first=first) == pages


@pytest.mark.parametrize("name", list(designs()))
def test_a_page_has_the_size_of_its_paper_and_asks_not_to_be_scaled(name: str) -> None:
    pdf = pypdf.PdfReader(io.BytesIO(sheet_pdf(ONE, name)))

    box, page = pdf.pages[0].mediabox, designs()[name].page
    assert (float(box.width), float(box.height)) == pytest.approx(
        tuple(mm * 72 / 25.4 for mm in page), abs=0.01
    )
    assert str(pdf.root_object["/ViewerPreferences"]) == "{'/PrintScaling': '/None'}"


def test_the_words_of_a_sheet_can_be_copied_and_its_type_is_embedded() -> None:
    labels = [Label("E000123458", ("Zoë", "Łódź")), Label("C000000019", ("finish",))]

    page = pypdf.PdfReader(io.BytesIO(sheet_pdf(labels, "a4-cards"))).pages[0]

    text = page.extract_text()
    assert {"Zoë", "Łódz", "finish", "0001", "2345"} <= set(text.split())
    embedded, named_only = page._get_fonts()
    assert len({name for name in embedded if "Vera" in name}) == 2
    assert named_only <= {"/Helvetica"}  # reportlab declares it on every page; nothing uses it


@pytest.mark.parametrize("name", list(designs()))
def test_every_page_has_a_ruler_of_100_mm_below_its_labels(name: str) -> None:
    design = designs()[name]
    image = Image.open(io.BytesIO(sheet_png(ONE, name))).convert("L")
    dot = 25.4 / 300
    y = round((design.page[1] - 6.0) / dot)

    dark = [x for x in range(image.width) if image.getpixel((x, y)) == 0]
    line = [x for n, x in enumerate(dark) if x == dark[0] + n]

    assert len(line) * dot == pytest.approx(100.0, abs=0.1)
    assert y * dot > design.page[1] - design.foot + 2.0
    assert (
        "actual size" in pypdf.PdfReader(io.BytesIO(sheet_pdf(ONE, name))).pages[0].extract_text()
    )


@pytest.mark.parametrize(
    ("page", "corner"), [((210.0, 297.0), (10.0, 200.0)), ((120.0, 297.0), (10.0, 10.0))]
)
def test_a_page_without_room_for_the_ruler_goes_without(
    page: tuple[float, float], corner: tuple[float, float]
) -> None:
    design = msgspec.structs.replace(
        designs()["a4-3x8"], page=page, corner=corner, grid=(1, 1), label=(63.5, 90.0)
    )
    drawing = Drawing(*page)

    add_ruler(drawing, design)

    assert (drawing.fills, drawing.texts) == ([], [])


def test_cards_get_cut_marks_in_the_margin_at_every_edge() -> None:
    image = Image.open(io.BytesIO(sheet_png(ONE, "a4-cards"))).convert("L")
    dot = 25.4 / 300

    across = [x * dot for x in range(image.width) if image.getpixel((x, round(20.0 / dot))) == 0]
    down = [y * dot for y in range(image.height) if image.getpixel((round(12.0 / dot), y)) == 0]

    assert sorted({round(x) for x in across}) == [15, 105, 195]
    assert sorted({round(y * 2) / 2 for y in down}) == [23.5, 73.5, 123.5, 173.5, 223.5, 273.5]


def test_a_single_label_is_a_page_of_its_own_size() -> None:
    box = pypdf.PdfReader(io.BytesIO(label_pdf(ONE[0], "a4-5x13"))).pages[0].mediabox
    image = Image.open(io.BytesIO(label_png(ONE[0], "a4-5x13")))

    assert (float(box.width), float(box.height)) == pytest.approx((108.0, 60.094), abs=0.01)
    assert image.size == (450, 250)
    assert image.mode == "1"
    assert image.info["dpi"] == pytest.approx((300, 300), abs=0.01)


def test_the_same_request_gives_the_same_bytes() -> None:
    before = sheet_pdf(many(70), "a4-5x13", first=4, dx_mm=0.3)
    sheet_pdf(ONE, "a4-cards")

    again = sheet_pdf(many(70), "a4-5x13", first=4, dx_mm=0.3)

    assert before == again
    assert label_png(ONE[0], "a4-3x8") == label_png(ONE[0], "a4-3x8")


def test_another_process_gives_the_same_bytes() -> None:
    program = (
        "import hashlib; from labels.sheet import *;"
        "labels = [Label('C000000019', ('finish', 'Zoë')), Label('E000123458')];"
        "print(hashlib.sha256(sheet_pdf(labels, 'a4-cards')).hexdigest())"
    )
    here = sheet_pdf([Label("C000000019", ("finish", "Zoë")), Label("E000123458")], "a4-cards")

    there = subprocess.run(
        [sys.executable, "-c", program],
        env={**os.environ, "PYTHONHASHSEED": "7"},
        capture_output=True,
        text=True,
        check=True,
    )

    assert there.stdout.strip() == hashlib.sha256(here).hexdigest()


def test_several_people_may_print_at_once() -> None:
    requests = [(name, [Label("E000123458", (name, "Zoë")), *many(9)]) for name in designs()]
    alone = [(sheet_pdf(labels, name), sheet_png(labels, name)) for name, labels in requests]

    with ThreadPoolExecutor(4) as people:
        together = list(
            people.map(
                lambda each: (sheet_pdf(each[1], each[0]), sheet_png(each[1], each[0])), requests
            )
        )

    assert together == alone


@pytest.mark.parametrize(
    ("request_it", "says"),
    [
        (lambda: sheet_pdf([], "a4-5x13"), "no labels to print"),
        (lambda: sheet_pdf(many(1001), "a4-5x13"), "1001 labels are too many at once"),
        (lambda: sheet_pdf(ONE, "a4-5x13", first=0), "no place 0 on a sheet of 65"),
        (lambda: sheet_pdf(ONE, "a4-5x13", first=66), "no place 66 on a sheet of 65"),
        (lambda: sheet_pdf(ONE, "herd"), "no sheet design 'herd'"),
        (lambda: sheet_pdf(ONE, "a4-5x13", dx_mm=5.1), "5.1 mm across and 0 mm down is too far"),
        (lambda: sheet_pdf(ONE, "a4-5x13", dy_mm=float("nan")), "nan mm down is too far"),
        (lambda: sheet_pdf([Label("e000123458")], "a4-5x13"), "written in capitals"),
        (lambda: sheet_png([*many(65), Label("")], "a4-5x13"), "without text"),
        (lambda: sheet_png(ONE, "a4-5x13", page=2), "no page 2; these labels fill 1"),
        (lambda: sheet_png(ONE, "a4-5x13", page=0), "no page 0"),
        (lambda: sheet_png(ONE, "a4-5x13", dpi=1200), "1200 dots per inch cannot be drawn"),
        (lambda: sheet_png(ONE, "a4-7x27", dpi=96), "gets 0 dots and needs 1"),
        (lambda: label_png(ONE[0], "herd"), "no sheet design"),
        (lambda: label_png(Label(""), "a4-5x13"), "without text"),
        (lambda: label_png(ONE[0], "a4-7x27", dpi=203), "gets 2 dots and needs 3"),
        (lambda: label_pdf(Label("E00012345678"), "a4-5x13"), "has 12 characters"),
    ],
)
def test_what_cannot_be_printed_is_refused_in_one_sentence(
    request_it: Callable[[], bytes], says: str
) -> None:
    with pytest.raises(ValueError, match=says) as refusal:
        request_it()

    assert re.fullmatch(r"[A-Z0-9][^\n]*\.", str(refusal.value))


def test_a_thousand_labels_go_on_one_request() -> None:
    pdf = pypdf.PdfReader(io.BytesIO(sheet_pdf(many(1000), "a4-7x27")))

    assert len(pdf.pages) == 6
