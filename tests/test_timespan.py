"""Clocks and Media Fragments."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from indexer.timespan import NO_END_MS, Span, clock, parse_clock, parse_fragment, webvtt_clock

LENGTH_MS = 9_970
TO_END = (3_000, LENGTH_MS)
BOTH = (3_000, 7_000)
BEYOND = (LENGTH_MS, LENGTH_MS)
ALL = (0, LENGTH_MS)

# Source: W3C Media Fragments 1.0 test cases for user agents, temporal dimension (w3.org/2008/WebVideo/Fragments/TC/
# ua-test-cases), numbers as there. The resource is 9.97 s long; None: the fragment is ignored, the whole plays.
PUBLISHED = [
    ("0001", "t=,", None),
    ("0002", "t=3,3", None),
    ("0003", "t=7,3", None),
    ("0004", "t=0,9.97", ALL),
    ("0005", "t=3,7", BOTH),
    ("0006", "t=3,15", TO_END),
    ("0009", "t=15,20", BEYOND),
    ("0011", "t=3", TO_END),
    ("0012", "t=3,", None),
    ("0014", "t=15", BEYOND),
    ("0015", "t=,7", (0, 7_000)),
    ("0017", "t=,15", ALL),
    ("0018-0023", "t=smpte:0:00:03,0:00:07", None),  # optional for players; not read here
    ("0018-0023", "t=smpte-25:0:00:03,0:00:07", None),
    ("0018-0023", "t=smpte-30:0:00:03,0:00:07", None),
    ("0024", "t=npt:3,7", BOTH),
    ("0027", "t=banana", None),
    ("0028", "t=3,banana", None),
    ("0029", "t=banana,7", None),
    ("0030", "t='3'", None),
    ("0031", "t=3-7", None),
    ("0032", "t=3:7", None),
    ("0033", "t=3,7,9", None),
    ("0034", "t%3D3", None),
    ("0035", "%74=3", TO_END),
    ("0036", "t=%33", TO_END),
    ("0037", "t=3%2C7", BOTH),
    ("0038", "t=%6Ept:3", TO_END),
    ("0039", "t=npt%3A3", TO_END),
    ("0044", "t=-1,3", None),
    ("0051", "t=3&", TO_END),
    ("0052", "u=12&t=3", TO_END),
    ("0053", "t=foo:7&t=npt:3", TO_END),
    ("0054", "&&=&=tom&jerry=&t=3&t=meow:0#", TO_END),
    ("0055", "t=7&t=3", TO_END),
    ("0058", "T=3,7", None),
    ("0059", "t=smpte:00:00:01&t=npt:3", TO_END),
    ("0061", "t=", None),
    ("0062", "t=.", None),
    ("0063", "t=.0", None),
    ("0064", "t=0s", None),
    ("0065", "t=,0s", None),
    ("0066", "t=0s,0s", None),
    ("0067", "t=00:00:00s", None),
    ("0068", "t=s", None),
    ("0069", "t=npt:", None),
    ("0070", "t=1e-1", None),
    ("0071", "t=00:00:01.1e-1", None),
    ("0072", "t=3.", TO_END),
    ("0073", "t=0:0:0", None),
    ("0074", "t=0:00:60", None),
    ("0075", "t=0:01:60", None),
    ("0076", "t=0:60:00", None),
    ("0077", "t=0:000:000", None),
    ("0078", "t=00:00:03,00:00:07", BOTH),
    ("0079", "t=3,00:00:07", BOTH),
    ("0080", "t=00:00.", ALL),
    ("0081", "t=0:00:00.", ALL),
    ("0082", "t=0:00:10e-1", None),
    ("0083", "t=0:00:60.000", None),
    ("0084", "t=0:60:00.000", None),
    ("0085", "t=3,7&t=foo", BOTH),
    ("0086", "foo&t=3,7", BOTH),
    ("0087", "t=3,7&foo", BOTH),
    ("0088", "t=3,7&&", BOTH),
    ("0089", "&t=3,7", BOTH),
    ("0090", "&&t=3,7", BOTH),
    ("0091", "&t=3,7&", BOTH),
    ("0092", "t%3d10", None),
    ("0093", "t=10%26", None),
    ("0094", "t=3,7,", None),
    ("0095", "t=0:00:03,0:00:07", BOTH),
]


@pytest.mark.parametrize(("number", "fragment", "expected"), PUBLISHED, ids=[case[0] for case in PUBLISHED])
def test_published_media_fragments(number: str, fragment: str, expected: tuple[int, int] | None) -> None:
    assert parse_fragment(fragment, LENGTH_MS) == (None if expected is None else Span(*expected))


@pytest.mark.parametrize(
    ("fragment", "expected"),
    [
        ("#t=3.25", Span(3_250, NO_END_MS)),
        ("t=3.25,4", Span(3_250, 4_000)),
        ("t=,0", None),
        ("t=0,0", None),
        ("t=0", Span(0, NO_END_MS)),
        ("t=٣", None),
        ("", None),
    ],
)
def test_fragment_of_a_recording_of_unknown_length(fragment: str, expected: Span | None) -> None:
    assert parse_fragment(fragment, None) == expected


def test_a_number_of_many_digits_is_a_time_beyond_the_end() -> None:
    assert parse_fragment("t=" + "9" * 5_000, LENGTH_MS) == Span(*BEYOND)
    assert parse_fragment("t=2." + "9" * 5_000, LENGTH_MS) == Span(*TO_END)


@given(st.text(alphabet="t=,:.&#%0123459nptsmpe -", max_size=40), st.none() | st.integers(0, 10**9))
def test_any_fragment_gives_a_span_in_the_recording_or_none(fragment: str, length_ms: int | None) -> None:
    span = parse_fragment(fragment, length_ms)
    assert span is None or 0 <= span.start_ms <= span.end_ms <= (NO_END_MS if length_ms is None else length_ms)


@given(st.integers(0, 10**9), st.integers(1, 10**9))
def test_a_written_fragment_reads_back(start_ms: int, length_ms: int) -> None:
    end_ms = start_ms + length_ms
    written = f"t={start_ms // 1000}.{start_ms % 1000:03},{end_ms // 1000}.{end_ms % 1000:03}"
    assert parse_fragment(written, None) == Span(start_ms, end_ms)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("7:05", 425_000),
        ("07:05.3", 425_300),
        ("1:02:03", 3_723_000),
        ("00:07:05,300", 425_300),
        ("75:20", 4_520_000),
        (" 75.25 ", 75_250),
        ("0:00", 0),
        ("0:60", None),
        ("1:60:00", None),
        ("1:2:3:4", None),
        ("-1:00", None),
        ("7:", None),
        ("٧:٠٥", None),
        ("", None),
    ],
)
def test_clocks_are_read(text: str, expected: int | None) -> None:
    assert parse_clock(text) == expected


@given(st.integers(0, 10**9))
def test_a_written_clock_reads_back(time_ms: int) -> None:
    assert parse_clock(webvtt_clock(time_ms)) == time_ms
    assert parse_clock(clock(time_ms)) == time_ms // 1000 * 1000
