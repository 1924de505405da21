"""Reading the plain log: what is tolerated, and the one sentence for each fault."""

import io
import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from equip.logs.plain import Trace, UnreadableLog, read_file, read_plain

PLAIN = "seconds,celsius,kpa\n0,30.5,100\n1,31,99.5\n"


def as_lists(trace: Trace) -> tuple[list[float], list[list[float]], list[float] | None]:
    pressure = None if trace.kpa is None else list(trace.kpa)
    return list(trace.seconds), [list(probe) for probe in trace.probes], pressure


def refusal(content: bytes | str, limit_bytes: int = 10**6) -> str:
    data = content.encode() if isinstance(content, str) else content
    with pytest.raises(UnreadableLog) as caught:
        read_plain(data, limit_bytes=limit_bytes)
    return str(caught.value)


EXPECTED = ([0.0, 1.0], [[30.5, 31.0]], [100.0, 99.5])


@pytest.mark.parametrize(
    "content",
    [
        PLAIN,
        PLAIN.rstrip("\n"),
        "\ufeff" + PLAIN,
        PLAIN.replace("\n", "\r\n"),
        PLAIN + "\n\n  \n",
        PLAIN.replace(",", " , "),
        PLAIN.replace("\n1", "\n\n1"),
        PLAIN.replace("30.5", '"30.5"'),
        '"seconds","celsius","kpa"\n"0","30.5","100"\n"1","31","99.5"\n',
        PLAIN.replace("30.5", "3.05e1"),
        PLAIN.replace("30.5", "+30.50"),
    ],
)
def test_the_same_log_is_read_however_it_was_saved(content: str) -> None:
    trace = read_plain(content.encode())

    assert as_lists(trace) == EXPECTED
    assert trace.notes == ()


def test_an_open_file_is_read_as_well_as_bytes() -> None:
    assert as_lists(read_plain(io.BytesIO(PLAIN.encode()))) == EXPECTED


def test_more_probes_and_no_pressure() -> None:
    trace = read_plain(b"seconds,celsius,celsius_2,celsius_3\n0,1,2,3\n1,4,5,6\n")

    assert as_lists(trace) == ([0.0, 1.0], [[1.0, 4.0], [2.0, 5.0], [3.0, 6.0]], None)
    assert trace.notes == ()


@pytest.mark.parametrize(
    ("content", "parts"),
    [
        ("", ["The log is empty"]),
        (" \n\r\n", ["The log is empty"]),
        ("seconds,celsius,kpa\n", ["no reading", "at least two"]),
        ("seconds,celsius,kpa\n0,1,2\n", ["one reading", "at least two"]),
        ("seconds,temp,kpa\n0,1,2\n", ["Line 1 reads “seconds,temp,kpa”", "seconds,celsius,kpa"]),
        ("time,celsius,kpa\n", ["Line 1 reads “time,celsius,kpa”"]),
        ("seconds,kpa\n", ["Line 1 reads “seconds,kpa”"]),
        ("seconds\n", ["Line 1 reads “seconds”"]),
        ("seconds,celsius,celsius_3,kpa\n", ["Line 1"]),
        ("seconds,celsius,kpa,celsius_2\n", ["Line 1"]),
        ("0,30,100\n1,31,99\n", ["Line 1 reads “0,30,100”", "the header must be"]),
        ("seconds;celsius;kpa\n0;1;2\n", ["semicolons", "needs commas"]),
        ("seconds\tcelsius\tkpa\n0\t1\t2\n", ["tabs", "needs commas"]),
        (PLAIN + "2,abc,99\n", ["Line 4", "“abc” under celsius", "no number"]),
        (PLAIN + "2,,99\n", ["Line 4 has nothing under celsius"]),
        (PLAIN + "2,nan,99\n", ["Line 4", "“nan”", "no number"]),
        (PLAIN + "2,31,inf\n", ["Line 4", "“inf” under kpa"]),
        (PLAIN + "2,31,1e999\n", ["Line 4", "“1e999” under kpa"]),
        (PLAIN + "2,3_1,99\n", ["Line 4", "“3_1”"]),
        (PLAIN + "0:02,31,99\n", ["Line 4", "“0:02” under seconds"]),
        (PLAIN + "2,31\n", ["Line 4 reads “2,31”, 2 values", "has 3", "a value is missing"]),
        (PLAIN + "2,31", ["Line 4 reads “2,31”", "cut off"]),
        (PLAIN + "2,31,5,99,5\n", ["Line 4", "5 values", "decimal points, as 134.5"]),
        ('seconds,celsius,kpa\n0,"30,5",100\n', ["Line 2", "decimal points"]),
        (PLAIN + "1,31,99\n", ["Line 4 is at 1 s, the same time as the line before at 1 s"]),
        (PLAIN + "0.5,31,99\n", ["Line 4 is at 0.5 s, earlier than"]),
        (PLAIN + "2,273.2,99\n", ["Under celsius the log reads 273.2 °C", "°F"]),
        (PLAIN + "2,-40,99\n", ["Under celsius the log reads -40 °C", "colder"]),
        (PLAIN + "2,31,-60\n", ["Under kpa the log reads -60 kPa", "gauge"]),
        (PLAIN + "2,134,3042\n", ["Under kpa the log reads 3042 kPa", "mbar"]),
        ("seconds,celsius,kpa\n0,30,1.0\n1,134,3.04\n", ["3.04 kPa", "134 °C", "bar"]),
        ("seconds,celsius,celsius_2\n0,30,31\n1,31,250\n", ["Under celsius_2"]),
    ],
)
def test_each_fault_is_one_sentence_with_the_line_and_what_was_read(
    content: str, parts: list[str]
) -> None:
    says = refusal(content)

    for part in parts:
        assert part in says
    assert "\n" not in says
    assert says.endswith(".")


@pytest.mark.parametrize(
    ("content", "part"),
    [
        (b"PK\x03\x04rest of a spreadsheet", "no text"),
        (b"%PDF-1.7 and so on", "no text"),
        (b"\x00\x01\x02", "no text"),
        (PLAIN.encode("utf-16"), "UTF-16"),
        (b"seconds,celsius,kpa\n0,30,100\n1,\x00,99\n", "Line 3 holds bytes that are no text"),
        (b"seconds,celsius,kpa\n0,30,100\n1,31\xb0,99\n", "Line 3 is not in UTF-8"),
        (b"seconds,celsius,kpa\xb0\n", "Line 1 is not in UTF-8"),
        (b"seconds,celsius,kpa\r0,30,100\r1,31,99\r", "lone carriage return"),
        (b"seconds,celsius,kpa\n" + b"7" * 20_000, "Line 2 has 10,000 characters or more"),
    ],
)
def test_what_is_no_text_is_refused_by_what_it_is(content: bytes, part: str) -> None:
    assert part in refusal(content)


def test_a_log_in_milliseconds_is_refused_and_a_day_and_a_night_are_read() -> None:
    assert "looks like milliseconds" in refusal(f"{PLAIN}1500000,31,99\n")
    assert "lasts inf s" in refusal("seconds,celsius,kpa\n-1.7e308,31,99\n1.7e308,31,99\n")
    assert len(read_plain(f"{PLAIN}172800,31,99\n".encode()).seconds) == 3


@pytest.mark.parametrize(
    ("celsius", "part"),
    [("275", "looks like °F"), ("999.9", "no chamber reaches; check the sensor")],
)
def test_a_temperature_too_high_is_taken_for_fahrenheit_only_where_it_may_be(
    celsius: str, part: str
) -> None:
    assert part in refusal(f"{PLAIN}2,{celsius},99\n")


@pytest.mark.parametrize(
    "row", ["2,-5,99", "2,31,0.4", "2,31,-0.8", "2,160,600", "2,134,44", "2,134,203"]
)
def test_what_a_real_chamber_may_read_is_not_refused(row: str) -> None:
    trace = read_plain(f"{PLAIN}{row}\n".encode())

    assert len(trace.seconds) == 3


def test_a_long_text_is_shown_short_and_without_control_characters() -> None:
    says = refusal("seconds\x07" + "x" * 500)

    assert len(says) < 250
    assert "\x07" not in says


def test_more_bytes_than_the_limit_are_refused() -> None:
    assert "more than the 1,000" in refusal(b"seconds,celsius,kpa\n" + b"0,30,100\n" * 200, 1000)


class Trickle(io.BytesIO):
    """A file that hands out a few bytes at a time, as pipes do."""

    def __init__(self, content: bytes, most: int) -> None:
        super().__init__(content)
        self.most = most

    def read(self, size: int | None = -1, /) -> bytes:
        return super().read(self.most if size is None or size < 0 else min(size, self.most))


def test_a_stream_without_end_is_refused_at_the_limit() -> None:
    class Endless(io.BytesIO):
        row = -1

        def read(self, size: int | None = -1, /) -> bytes:
            self.row += 1
            return b"seconds,celsius,kpa\n" if self.row == 0 else b"%d,30,100\n" % self.row

    with pytest.raises(UnreadableLog, match="more than the 1,000"):
        read_plain(Endless(), limit_bytes=1000)


def test_a_stream_without_a_line_end_is_refused_long_before_the_limit() -> None:
    class Endless(io.BytesIO):
        given = 0

        def read(self, size: int | None = -1, /) -> bytes:
            self.given += 1000
            return b"7" * 1000

    endless = Endless()
    with pytest.raises(UnreadableLog, match="Line 1 has 10,000 characters or more"):
        read_plain(endless)
    assert endless.given < 100_000


def test_a_log_of_many_blocks_is_read_to_its_last_line() -> None:
    rows = [(float(at), 20 + at % 100 + 0.25, 90.5 + at % 7) for at in range(20_000)]
    text = "".join(f"{at},{celsius},{kpa}\n" for at, celsius, kpa in rows)

    trace = read_plain(f"seconds,celsius,kpa\n{text}".encode())

    assert list(zip(trace.seconds, trace.probes[0], trace.kpa or (), strict=True)) == rows


@pytest.mark.parametrize("at", [1, 1999, 2000, 6000, 19_999])
def test_the_line_that_is_wrong_is_named_in_whichever_block_it_stands(at: int) -> None:
    lines = [f"{second},30.25,100.125" for second in range(20_000)]
    lines[at] = lines[at].replace("30.25", "30.25x")

    says = refusal("\n".join(["seconds,celsius,kpa", *lines]))

    assert says.startswith(f"Line {at + 2} has “30.25x” under celsius")


def test_a_value_too_many_in_one_line_and_too_few_in_the_next_never_shifts_the_columns() -> None:
    assert "Line 2 reads “0,30,100,1”" in refusal("seconds,celsius,kpa\n0,30,100,1\n31,99\n")


def test_a_file_of_exactly_the_limit_is_read() -> None:
    assert as_lists(read_plain(PLAIN.encode(), limit_bytes=len(PLAIN))) == EXPECTED


def test_a_file_is_refused_by_its_size_before_it_is_opened(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    with log.open("wb") as file:
        file.truncate(70 * 1024 * 1024)

    with pytest.raises(UnreadableLog, match="73,400,320 bytes, more than"):
        read_file(log)


def test_a_file_is_read_by_its_path(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    log.write_text(PLAIN)

    assert as_lists(read_file(log)) == EXPECTED


def test_a_path_that_is_no_file_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(UnreadableLog, match="could not be opened"):
        read_file(tmp_path / "nowhere.csv")
    with pytest.raises(UnreadableLog, match="could not be opened"):
        read_file(tmp_path)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read_is_one_sentence(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    log.write_text(PLAIN)
    log.chmod(0)

    with pytest.raises(UnreadableLog, match="permission denied"):
        read_file(log)


readings = st.lists(
    st.tuples(st.floats(-30, 200), st.floats(11, 1000)), min_size=2, max_size=30
).map(lambda rows: [(float(index), *row) for index, row in enumerate(rows)])


@settings(max_examples=60, deadline=None)
@given(readings)
def test_what_is_written_is_what_is_read(rows: list[tuple[float, float, float]]) -> None:
    text = "".join(f"{at!r},{celsius!r},{kpa!r}\n" for at, celsius, kpa in rows)

    trace = read_plain(f"seconds,celsius,kpa\n{text}".encode())

    assert list(zip(trace.seconds, trace.probes[0], trace.kpa or (), strict=True)) == rows


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200), st.booleans())
def test_no_bytes_at_all_end_in_anything_but_a_trace_or_a_sentence(
    data: bytes, headed: bool
) -> None:
    try:
        trace = read_plain((b"seconds,celsius,kpa\n" if headed else b"") + data)
    except UnreadableLog as fault:
        assert str(fault).endswith(".")
    else:
        assert len(trace.seconds) >= 2


pieces = st.sampled_from(
    [
        *(b"0,30,100\n", b"1,31.5,99\n", b'2,"32",99\r\n', b"3,33,\n", b"4,34\n", b"5,35,99,1\n"),
        *(b"\n", b"6,nan,99\n", b"7,1_0,99\n", b" 8 , 38 , 99 \n", b"9,39,99", b"3,30,100\n"),
        *("10,\u0663\u0660,99\n".encode(), b"11,-1e308,99\n", b"12,1e400,99\n", b"13,\0,9\n"),
        *(b"14,\xff,9\n", b"15," + b"9" * 10_000 + b",9\n", b"-1e308,30,100\n", b"1e308,30,99\n"),
        *(b"16\r,40,99\n", b"1\r7,40,99\n", b"seconds,celsius,kpa\n", b"\xef\xbb\xbf", b",,\n"),
    ]
)


@settings(max_examples=400, deadline=None)
@given(st.lists(pieces, max_size=8), st.integers(1, 40))
def test_however_a_file_hands_out_its_bytes_it_is_read_or_refused_alike(
    rows: list[bytes], most: int
) -> None:
    content = b"seconds,celsius,kpa\n" + b"".join(rows)

    def read(source: bytes | io.BytesIO) -> object:
        try:
            return as_lists(read_plain(source))
        except UnreadableLog as fault:
            assert str(fault).endswith(".")
            assert "\n" not in str(fault)
            return str(fault)

    assert read(Trickle(content, most)) == read(content)
