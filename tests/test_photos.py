"""Photos: whatever is no whole picture of bounded size is refused, and a copy shows points only."""

from io import BytesIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from equip.photos import Photo, UnreadablePhoto, checked, kind_of, shown
from tests.support import pictures

MOST_BYTES, MOST_PIXELS = 2_000_000, 1_000_000
JPEG, PNG = pictures.jpeg(), pictures.png()
HEIC = b"\x00\x00\x00\x24ftypheic\x00\x00\x00\x00mif1heic" + bytes(200)
SVG = (
    b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
)


def looked_at(data: bytes) -> Photo:
    return checked(data, most_bytes=MOST_BYTES, most_pixels=MOST_PIXELS, name="strip.jpg")


@pytest.mark.parametrize(
    ("data", "kind", "size"), [(JPEG, "jpeg", (640, 400)), (PNG, "png", (300, 200))]
)
def test_a_good_photo_is_kept_byte_for_byte(data: bytes, kind: str, size: tuple[int, int]) -> None:
    photo = looked_at(data)

    assert photo.data == data
    assert (photo.kind, (photo.width, photo.height)) == (kind, size)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is empty"),
        (SVG, "neither JPEG nor PNG"),
        (b"<html><script>alert(1)</script></html>", "neither JPEG nor PNG"),
        (b"%PDF-1.7", "neither JPEG nor PNG"),
        (pictures.other("GIF"), "neither JPEG nor PNG"),
        (pictures.other("WEBP"), "neither JPEG nor PNG"),
        (pictures.other("BMP"), "neither JPEG nor PNG"),
        (HEIC, "set the camera to JPEG"),
        (b"\xff\xd8\xff<script>alert(1)</script>", "begins as a JPEG and is none"),
        (b"\x89PNG\r\n\x1a\n<script>", "begins as a PNG and is none"),
        (b"GIF89a" + JPEG, "neither JPEG nor PNG"),
        (b"\n" + JPEG, "neither JPEG nor PNG"),
        (JPEG[: len(JPEG) // 2], "cut off or damaged"),
        (JPEG[:-40], "cut off or damaged"),
        (PNG[: len(PNG) // 2], "cut off or damaged"),
        (PNG[:-12], "cut off or damaged"),
        (PNG[:200] + bytes(8) + PNG[208:], "cut off or damaged"),
        (pictures.jpeg(progressive=True)[:-2000], "cut off or damaged"),
        (pictures.headed(1_000_000, 1_000_000), "more than 1 million points"),
        (pictures.headed(20_000, 20_000), "more than 1 million points"),
        (pictures.headed(1001, 1000), "more than 1 million points"),
        (pictures.headed(1000, 1000), "cut off or damaged"),
        (pictures.headed(0, 0), "is none"),
        (pictures.swollen(), "PNG"),
        (pictures.moving(), "moves"),
        (JPEG + bytes(MOST_BYTES), "2 MB is the most"),
    ],
)
def test_what_is_no_whole_photo_is_refused_with_a_sentence(data: bytes, says: str) -> None:
    with pytest.raises(UnreadablePhoto) as refused:
        looked_at(data)

    assert says in str(refused.value)
    assert str(refused.value).endswith(".")


def test_the_limits_themselves_pass() -> None:
    edge = pictures.png((1000, 1000))

    assert checked(edge, most_bytes=len(edge), most_pixels=1_000_000).width == 1000
    with pytest.raises(UnreadablePhoto, match="is the most"):
        checked(edge, most_bytes=len(edge) - 1, most_pixels=1_000_000)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_photo_that_lost_its_tail_is_never_kept(data: st.DataObject) -> None:
    whole = data.draw(st.sampled_from((JPEG, PNG)))
    # Without its last marks (two bytes, twelve) every point is still there.
    short = whole[: data.draw(st.integers(0, len(whole) - 13))]

    with pytest.raises(UnreadablePhoto):
        looked_at(short)


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=400), st.sampled_from((b"", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n")))
def test_no_bytes_do_more_than_be_refused(data: bytes, sign: bytes) -> None:
    with pytest.raises(UnreadablePhoto):
        looked_at(sign + data)


def test_a_page_stuck_to_the_end_of_a_photo_stays_in_the_evidence_and_out_of_the_copy() -> None:
    both = JPEG + b"<script>alert(1)</script>"

    photo = looked_at(both)

    assert photo.data == both
    assert kind_of(photo.data) == "jpeg"
    assert b"script" not in shown(photo.data, 200)


def test_the_copy_holds_no_place_no_time_and_no_comment() -> None:
    exif = Image.Exif()
    exif[0x010E] = "where it was taken"
    photo = looked_at(pictures.jpeg(exif=exif, comment=b"who took it"))

    copy = shown(photo.data, 200)

    assert b"where it was taken" in photo.data
    assert b"who took it" in photo.data
    assert b"where it was taken" not in copy
    assert b"who took it" not in copy
    assert dict(Image.open(BytesIO(copy)).getexif()) == {}


def test_the_copy_is_upright_and_bounded() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # lying on its side

    copy = Image.open(BytesIO(shown(pictures.jpeg(exif=exif), 200)))

    assert copy.format == "JPEG"
    assert copy.size == (125, 200)


@pytest.mark.parametrize("mode", ["RGBA", "P", "LA", "I;16", "1", "L"])
def test_every_sort_of_png_can_be_shown(mode: str) -> None:
    out = BytesIO()
    Image.new(mode, (30, 20)).save(out, "PNG")

    photo = looked_at(out.getvalue())

    assert Image.open(BytesIO(shown(photo.data, 200))).size == (30, 20)


def test_what_is_no_picture_is_not_shown() -> None:
    with pytest.raises(UnreadablePhoto):
        shown(SVG, 200)
