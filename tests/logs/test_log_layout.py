"""Reading logs by a described layout: what it can say, and one sentence for each fault."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import accumulate
from typing import Any
from zoneinfo import ZoneInfo

import msgspec
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from equip.logs.layout import BadLayout, Layout, faults, from_json, to_json
from equip.logs.machine import preview, read_with
from equip.logs.plain import UnreadableLog


def described(**said: Any) -> Layout:
    return Layout(**said)


def seconds(layout: Layout, *times: str) -> list[float]:
    """The elapsed seconds of a log of those times, one probe beside them."""
    rows = "".join(f"{time};20\n" for time in times)
    return list(read_with(layout, f"t;celsius\n{rows}".encode()).trace.seconds)


def refusal(layout: Layout, content: str | bytes) -> str:
    data = content.encode() if isinstance(content, str) else content
    with pytest.raises(UnreadableLog) as caught:
        read_with(layout, data)
    says = str(caught.value)
    assert says.endswith(".")
    assert "\n" not in says
    return says


CLOCK = described(delimiter="semicolon", time="t", time_as="clock")
STAMP = described(delimiter="semicolon", time="t", time_as="stamp")
LONDON = described(delimiter="semicolon", time="t", time_as="stamp", zone="Europe/London")

# --- columns ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("delimiter", "text"),
    [
        ("comma", "Time,Drain,Chamber,P\n0,9,20.5,100\n1,9,21,99\n"),
        ("semicolon", "time ; drain ; CHAMBER ; p\n0; 9; 20.5;100\n\n1;9;21;99\n"),
        ("tab", "Time\tDrain\tChamber\tP\r\n0\t\t20.5\t100\r\n1\t\t21\t99\r\n"),
        ("spaces", "  Time  Drain  Chamber  P\n 0    9   20.5   100\n 1 9 21 99"),
        ("comma", '"Time","Drain","Chamber","P"\n"0","","20.5","100"\n1,9,21,99,\n'),
        ("comma", "\ufeffTime,Drain,Chamber,P\n0,9,20.5,100\n1,9,21,99,,\n"),
    ],
)
def test_columns_are_found_by_name_whatever_parts_them(delimiter: str, text: str) -> None:
    layout = described(delimiter=delimiter, time="Time", probes=("Chamber",), pressure="P")

    trace = read_with(layout, text.encode()).trace

    assert list(trace.seconds) == [0, 1]
    assert list(trace.probes[0]) == [20.5, 21]
    assert list(trace.kpa or ()) == [100, 99]


def test_columns_are_found_by_place_where_there_is_no_header() -> None:
    layout = described(header=False, time=1, probes=(3, 2), pressure=4, skip=1)

    trace = read_with(layout, b"some machine\n0,20,30,100\n1,21,31,99\n").trace

    assert [list(probe) for probe in trace.probes] == [[30, 31], [20, 21]]


def test_a_log_without_pressure_is_read_without() -> None:
    trace = read_with(Layout(), b"seconds,celsius\n0,20\n1,21\n").trace

    assert trace.kpa is None
    assert trace.notes == ()


def test_decimal_commas_are_read_and_points_refused_by_name() -> None:
    layout = described(delimiter="semicolon", decimal="comma")

    trace = read_with(layout, b"seconds;celsius\n0;20,5\n0,5;-1,25\n").trace

    assert list(trace.seconds) == [0, 0.5]
    assert list(trace.probes[0]) == [20.5, -1.25]
    assert "with a point, though the layout says decimal comma" in refusal(
        layout, "seconds;celsius\n0;20.5\n1;21\n"
    )


def test_latin_1_is_read_where_the_layout_says_so_and_told_where_not() -> None:
    data = "seconds;Kammer °C\n0;20\n1;21\n".encode("latin-1")
    layout = described(delimiter="semicolon", probes=("Kammer °C",), encoding="latin-1")

    assert list(read_with(layout, data).trace.probes[0]) == [20, 21]
    assert "set the layout to latin-1" in refusal(described(delimiter="semicolon"), data)


def test_readings_end_where_the_machine_writes_its_last_words() -> None:
    layout = described(until="CYCLE")

    trace = read_with(layout, b"seconds,celsius\n0,20\n1,21\nCYCLE COMPLETE\nchecked: no\n").trace

    assert len(trace.seconds) == 2


@pytest.mark.parametrize(
    "line",
    [
        "Cycle No;0042",
        "cycle no : 0042",
        "CYCLE NO = 0042;x",
        '"Cycle No";"0042"',
        "Cycle No\t0042",
    ],
)
def test_the_cycle_number_is_found_after_its_key_however_it_is_parted(line: str) -> None:
    layout = described(delimiter="semicolon", skip=2, cycle_key="Cycle No", machine_key="Unit")

    log = read_with(layout, f"Cycle Notes;7\n{line}\nseconds;celsius\n0;1\n1;2\n".encode())

    assert (log.cycle_no, log.machine) == ("0042", "")


# --- times ------------------------------------------------------------------------------------


def test_minutes_become_seconds() -> None:
    layout = described(delimiter="semicolon", time="t", time_as="minutes")

    assert seconds(layout, "0.000", "0.033", "0.5") == [0, 1.98, 30]


def test_a_clock_counts_from_its_first_line_and_past_midnight() -> None:
    assert seconds(CLOCK, "23:59:58", "23:59:59.5", "00:00:00", "0:00:01,25") == [0, 1.5, 2, 3.25]


def test_a_clock_of_twelve_hours_knows_noon_and_midnight() -> None:
    assert seconds(CLOCK, "11:59:59 AM", "12:00:00 PM", "1:00:00 pm") == [0, 1, 3601]
    assert seconds(CLOCK, "11:59:59 PM", "12:00:00 AM") == [0, 1]


@pytest.mark.parametrize(
    ("order", "text"),
    [
        ("ymd", ["2026-03-28 23:59:59", "2026-03-29T00:00:01"]),
        ("ymd", ["2026/03/28 23:59:59", "2026/03/29 00:00:01"]),
        ("dmy", ["28.03.2026 23:59:59", "29.03.2026 00:00:01"]),
        ("dmy", ["28/03/26 23:59:59", "29/03/26 00:00:01"]),
        ("mdy", ["03/28/2026 11:59:59 PM", "03/29/2026 12:00:01 AM"]),
    ],
)
def test_stamps_are_read_in_the_order_of_their_date(order: str, text: list[str]) -> None:
    layout = described(delimiter="semicolon", time="t", time_as="stamp", date_order=order)

    assert seconds(layout, *text) == [0, 2]


def test_a_date_may_stand_in_a_column_of_its_own() -> None:
    layout = described(
        delimiter="spaces", header=False, time=2, date=1, time_as="stamp", probes=(3,)
    )

    log = read_with(layout, b"2026-03-28 23:59:59 20\n2026-03-29 00:00:00 21\n")

    assert list(log.trace.seconds) == [0, 1]
    assert list(log.trace.probes[0]) == [20, 21]


def test_offsets_in_the_stamps_are_kept_to() -> None:
    times = ("2026-03-29T00:59:59Z", "2026-03-29T02:00:00+01:00", "2026-03-28T20:00:01-0500")

    assert seconds(STAMP, *times) == [0, 1, 2]


def test_a_machine_that_puts_its_clock_forward_is_followed() -> None:
    times = ("2026-03-29 00:59:58", "2026-03-29 00:59:59", "2026-03-29 02:00:00")

    assert seconds(LONDON, *times, "2026-03-29 02:00:01") == [0, 1, 2, 3]
    assert seconds(STAMP, *times) == [0, 1, 3602]


def test_a_machine_that_does_not_put_its_clock_forward_is_not_sent_back() -> None:
    times = ("2026-03-29 00:59:59", "2026-03-29 01:00:00", "2026-03-29 01:59:59")

    assert seconds(LONDON, *times, "2026-03-29 02:00:00") == [0, 1, 3600, 3601]


def test_a_machine_that_puts_its_clock_back_is_followed_and_it_is_told() -> None:
    times = ("2026-10-25 01:59:58", "2026-10-25 01:59:59", "2026-10-25 01:00:00")
    rows = "".join(f"{time};20\n" for time in (*times, "2026-10-25 01:00:01"))

    trace = read_with(LONDON, f"t;celsius\n{rows}".encode()).trace

    assert list(trace.seconds) == [0, 1, 2, 3]
    assert trace.notes == (
        "The clock was put forward or back during the log: its times are as they elapsed.",
    )


def test_a_machine_that_does_not_put_its_clock_back_runs_on() -> None:
    times = ("2026-10-25 00:59:59", "2026-10-25 01:00:00", "2026-10-25 01:59:59")

    assert seconds(LONDON, *times, "2026-10-25 02:00:00") == [0, 1, 3600, 3601]


def test_a_clock_that_goes_back_without_a_zone_is_refused_with_what_to_do() -> None:
    says = refusal(STAMP, "t;celsius\n2026-10-25 01:59:59;20\n2026-10-25 01:00:00;20\n")

    assert "Line 3 is at -3599 s, earlier than the reading before at 0 s" in says
    assert "give the layout its zone" in says


def test_the_moment_it_began_is_known_where_the_log_or_the_layout_says_the_zone() -> None:
    rows = b"t;celsius\n2026-07-01 10:00:00;20\n2026-07-01 10:00:01;20\n"

    started = read_with(LONDON, rows).started

    assert started is not None
    assert started.isoformat() == "2026-07-01T10:00:00+01:00"
    assert read_with(STAMP, rows).started is None


# --- faults -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("layout", "content", "parts"),
    [
        (Layout(), "", ["no reading"]),
        (Layout(), "seconds,celsius\n0,1\n", ["one reading"]),
        (Layout(), "time,celsius\n0,1\n", ["Line 1 reads", "has no column “seconds”"]),
        (Layout(), "seconds,celsius,celsius\n0,1,2\n", ["more than one column “celsius”"]),
        (Layout(), "seconds,celsius\n0,1\n1,2,5\n", ["Line 3", "3 values where the header has 2"]),
        (Layout(), "seconds,celsius\n0,1\n1", ["Line 3 reads “1”", "cut off"]),
        (Layout(), "seconds,celsius\n0,1\n1,x\n", ["Line 3", "“x” under celsius", "no number"]),
        (Layout(), "seconds,celsius\n0,1\n1,\n", ["Line 3 has nothing under celsius"]),
        (Layout(), "seconds,celsius\n0,1\n1,nan\n", ["“nan”", "no number"]),
        (Layout(), "seconds,celsius\n0,1\n0,1\n", ["Line 3 is at 0 s, the same time as"]),
        (Layout(), 'seconds,celsius\n0,1\n1,"30,5"\n', ["with a comma, though the layout says"]),
        (Layout(header=False, time=1, probes=(5,)), "0,1\n", ["2 values", "column 5"]),
        (Layout(time=2, probes=("celsius",)), "seconds,celsius\n0,1\n", ["Line 1", "twice"]),
        (Layout(), "seconds,celsius\n0,20\n1,250\n", ["250.0 °C", "looks like °F"]),
        (Layout(), "seconds,celsius\n0,20\n1,-50\n", ["-50.0 °C", "so cold"]),
        (CLOCK, "t;celsius\n08:41;20\n", ["“08:41” under t", "no time as 08:41:12"]),
        (CLOCK, "t;celsius\n08:61:00;20\n", ["no time of a day"]),
        (CLOCK, "t;celsius\n13:00:00 PM;20\n", ["a clock of 12 hours"]),
        (CLOCK, "t;celsius\n08:00:01;20\n08:00:00;20\n", ["Line 3", "earlier than"]),
        (STAMP, "t;celsius\n08:00:01;20\n", ["no date and time as 2026-03-29 00:52:00"]),
        (STAMP, "t;celsius\n2026-02-30 08:00:01;20\n", ["no date of the calendar"]),
        (STAMP, "t;celsius\n03-02-2026 08:00:01;20\n", ["the order of the date"]),
        (STAMP, "t;celsius\n2026-01-01 08:00:01+25:00;20\n", ["none that any zone has"]),
        (
            STAMP,
            "t;celsius\n2026-01-01 08:00:01Z;20\n2026-01-01 08:00:02;20\n",
            ["Line 3", "only some of the times have an offset"],
        ),
        (Layout(probes=()), "x", ["names no column with a temperature"]),
    ],
)
def test_each_fault_is_one_sentence_with_what_was_read(
    layout: Layout, content: str, parts: list[str]
) -> None:
    says = refusal(layout, content)

    for part in parts:
        assert part in says


@pytest.mark.parametrize(
    ("said", "content", "part"),
    [
        ({"pressure_unit": "kPa"}, "0,20,1\n1,134,3\n", "3.0 kPa at most, with 134.0 °C"),
        ({"pressure_unit": "bar"}, "0,20,100\n1,134,300\n", "the unit cannot be bar"),
        ({}, "0,20,-80\n1,134,203\n", "looks like gauge pressure"),
        ({"gauge": True}, "0,20,-150\n1,134,203\n", "more than all the air is missing"),
        ({"gauge": True}, "0,20,0\n1,134,2\n", "2.0 kPa at most, with 134.0 °C"),
    ],
)
def test_units_that_contradict_the_readings_are_refused(
    said: dict[str, Any], content: str, part: str
) -> None:
    says = refusal(described(pressure="p", **said), f"seconds,celsius,p\n{content}")

    assert part in says
    assert says.endswith("Correct the layout.")


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ({"decimal": "comma"}, "Commas cannot part both"),
        ({"skip": -1}, "-1 lines to skip"),
        ({"time": 0}, "columns are counted from 1"),
        ({"time": " "}, "without a name"),
        ({"header": False}, "a name but the log no header"),
        ({"probes": ["Seconds"]}, "used twice"),
        ({"zone": "Europe/London"}, "leave it out"),
        ({"date": "d"}, "choose stamps"),
        ({"time_as": "stamp", "zone": "Europe/Nowhere"}, "is no zone"),
        ({"time_as": "stamp", "zone": "../etc"}, "is no zone"),
        ({"time_as": "stamp", "zone": "Europe"}, "is no zone"),
        ({"gauge": True}, "no column with the pressure"),
        ({"pressure": "p", "altitude_m": 5}, "only gauge pressure needs"),
        (
            {"pressure": "p", "gauge": True, "altitude_m": 5, "barometer_kpa": "99"},
            "one of the two",
        ),
        ({"pressure": "p", "gauge": True, "barometer_kpa": "1013"}, "50 to 110 kPa"),
        ({"pressure": "p", "gauge": True, "altitude_m": 9000}, "-430 to 5200 m"),
    ],
)
def test_a_layout_that_contradicts_itself_is_refused(said: dict[str, Any], part: str) -> None:
    layout = msgspec.convert(said, Layout)

    assert any(part in says for says in faults(layout))
    with pytest.raises(BadLayout):
        from_json(to_json(layout))


@pytest.mark.parametrize("text", ["", "[]", '{"delimiter": "pipe"}', '{"colour": 1}', b"\xff"])
def test_what_is_no_layout_at_all_is_one_sentence(text: str | bytes) -> None:
    with pytest.raises(BadLayout, match=r"^This is no layout of a log \(.*\)\.$"):
        from_json(text)


def test_a_barometer_that_is_no_number_is_refused() -> None:
    layout = described(pressure="p", gauge=True, barometer_kpa=Decimal("NaN"))

    assert list(faults(layout)) == [
        "A barometer of NaN kPa was given: where people live it is 50 to 110 kPa."
    ]


def test_a_layout_is_what_it_was_when_it_was_written_down() -> None:
    layout = described(
        time_as="clock", probes=("a", 3), pressure=4, gauge=True, barometer_kpa=Decimal("98.75")
    )

    assert from_json(to_json(layout)) == layout
    assert to_json(Layout()) == b"{}"


# --- preview ----------------------------------------------------------------------------------


def test_a_preview_shows_the_first_rows_as_they_are_read() -> None:
    layout = described(
        delimiter="tab", time_as="minutes", time="m", temperature="°F", probes=("F",)
    )
    data = b"m\tF\n0\t86\n0.5\t212\n1\tnonsense\n"

    shown = preview(layout, data, lines=2)

    assert shown.fault == ""
    assert [(row.line, row.text, row.at_s, row.celsius) for row in shown.rows] == [
        (2, "0  86", 0, (30,)),
        (3, "0.5  212", 30, (100,)),
    ]


def test_a_preview_keeps_the_rows_before_the_fault_and_says_why_it_stops() -> None:
    shown = preview(Layout(), b"seconds,celsius\n0,20\n1,x\n")

    assert [row.at_s for row in shown.rows] == [0]
    assert "Line 3 has “x” under celsius" in shown.fault


@pytest.mark.parametrize(
    ("layout", "data"), [(Layout(probes=()), b"x"), (Layout(), b""), (Layout(skip=9), b"a\nb\n")]
)
def test_a_preview_of_nothing_says_why(layout: Layout, data: bytes) -> None:
    shown = preview(layout, data)

    assert shown.rows == ()
    assert shown.fault.endswith(".")


# --- laws -------------------------------------------------------------------------------------

columns = st.one_of(st.integers(-1, 4), st.sampled_from(["a", "b", "c", ""]))
layouts = st.builds(
    Layout,
    encoding=st.sampled_from(["utf-8", "latin-1"]),
    delimiter=st.sampled_from(["comma", "semicolon", "tab", "spaces"]),
    decimal=st.sampled_from(["point", "comma"]),
    skip=st.integers(-1, 3),
    header=st.booleans(),
    time=columns,
    time_as=st.sampled_from(["seconds", "minutes", "clock", "stamp"]),
    date=st.none() | columns,
    date_order=st.sampled_from(["ymd", "dmy", "mdy"]),
    zone=st.sampled_from(["", "Europe/London", "Pacific/Apia", "Nowhere"]),
    probes=st.lists(columns, max_size=2).map(tuple),
    temperature=st.sampled_from(["°C", "°F"]),
    pressure=st.none() | columns,
    pressure_unit=st.sampled_from(["kPa", "Pa", "bar", "mbar", "psi"]),
    gauge=st.booleans(),
    machine_key=st.sampled_from(["", "a"]),
    until=st.sampled_from(["", "END"]),
)
cells = st.sampled_from(
    [
        *("0", "1", "2.5", "3,5", "", "x", '"', '"1"', "nan", "1e400", "08:00:00", "23:59:60"),
        *(
            "2026-03-29 01:30:00",
            "2026-03-29 02:30:00",
            "9999-12-31 23:59:59",
            "0001-01-01 00:00:00",
        ),
        *("2026-10-25 01:30:00Z", "12:00:00 AM", "a", "b", "c", "END", "\r", "\xa0", "٣"),
    ]
)
tables = st.builds(
    lambda mark, rows: "\n".join(mark.join(row) for row in rows).encode(),
    st.sampled_from([",", ";", "\t", " "]),
    st.lists(st.lists(cells, min_size=1, max_size=4), max_size=8),
)


@settings(max_examples=400, deadline=None)
@given(layouts, st.binary(max_size=120) | tables)
def test_no_layout_and_no_bytes_end_in_anything_but_a_log_or_a_sentence(
    layout: Layout, data: bytes
) -> None:
    shown = preview(layout, data)
    try:
        log = read_with(layout, data)
    except UnreadableLog as fault:
        assert str(fault).endswith(".")
        assert "\n" not in str(fault)
    else:
        assert len(log.trace.seconds) >= 2
        assert shown.fault == ""


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.integers(1, 5000), min_size=1, max_size=20),
    st.sampled_from(["2026-03-29", "2026-10-25", "2026-07-01"]),
    st.integers(0, 7200),
)
def test_a_machine_that_follows_the_zone_never_loses_a_second(
    steps: list[int], day: str, begin: int
) -> None:
    # An hour lost in one step on that night is what cannot be seen, so steps stay below it.
    elapsed = [0, *accumulate(min(step, 3599) for step in steps)]
    first = datetime.fromisoformat(f"{day}T00:00:00+00:00") + timedelta(seconds=begin)
    # The hour that comes twice is taken for the first one where a log begins in it.
    times = [
        (first + timedelta(seconds=at)).astimezone(UTC).astimezone(ZoneInfo("Europe/London"))
        for at in elapsed
    ]
    assume(not times[0].fold)

    found = seconds(LONDON, *(f"{time:%Y-%m-%d %H:%M:%S}" for time in times))

    assert found == elapsed
