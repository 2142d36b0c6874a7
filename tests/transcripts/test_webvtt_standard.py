"""WebVTT as the published parser tests have it.

Source of every table: web-platform-tests, folder webvtt/parsing/file-parsing (support/*.test, tests/*.html); the file
is named beside each. The files here are made anew from the facts of those tests. A file of the standard that gives no
cue has no words for us, which is told as TranscriptUnreadable.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from indexer.errors import TranscriptUnreadable
from indexer.models.timed import Transcript
from indexer.transcripts.reading import parse_transcript

GOOD = "00:00:00.000 --> 00:00:01.000"


def read(text: str) -> Transcript:
    return parse_transcript(text.encode(), "film.vtt")


def texts(text: str) -> list[str]:
    return [cue.text for cue in read(text).cues]


def cues_under(time_lines: Sequence[str]) -> list[str]:
    """What is read of a file with a cue `wordN` under each of the time lines and a good one at the end."""
    blocks = [f"{line}\nword{number}\n" for number, line in enumerate(time_lines)]
    return texts("\n".join(["WEBVTT\n", *blocks, f"{GOOD}\nend\n"]))


@pytest.mark.parametrize(
    ("start", "end"),
    [
        ("00:00:00.000", "00:00:00.000"),
        ("00:00:01.000", "00:00:00.999"),
        ("00:01:00.000", "00:00:59.999"),
        ("01:00:00.000", "00:59:59.999"),
    ],
)
def test_an_end_before_the_start_is_kept(start: str, end: str) -> None:  # timings-negative
    (cue,) = read(f"WEBVTT\n\n{start} --> {end}\ntext\n").cues
    assert cue.text == "text"
    assert cue.end_ms >= cue.start_ms


# timings-too-short, timings-too-long, timings-60, timings-garbage, timings-eof: starts before a good end, ends behind
# a good start.
# fmt: off
REFUSED_STARTS = [
    "0000:00.000", "00:0:00.000", "00:0000.000", "00:00:0.000", "00:00:00000", "00:00:00.00", "00:00:00.0",
    "00:00:00.", "00:00:00", "00:00:0", "00:00:", "00:00", "00:0", "00:", "00", "0", "0:00.000", "0000.000",
    "00:0.000", "00:00000", "00:00.00", "00:00.0", "00:00.", "0:00.", ":00.", "00.", "0.", ".", "00::00:00.000",
    "00:000:00.000", "00:00::00.000", "00:00:000.000", "00:00:00..000", "00:00:00.0000", "00:00.0000",
    "000:00.000", "00::00.000", "00:000.000", "00:00..000", "00:60:00.000", "00:00:60.000", "60:00.000",
    "00:60.000", "x0:00:00.000", "00:00:00.00x",
]
# fmt: on


@pytest.mark.parametrize("start", REFUSED_STARTS)
def test_refused_starts(start: str) -> None:
    assert cues_under([f"{start} --> 00:00:01.000"]) == ["end"]


@pytest.mark.parametrize("end", ["0:01.000", "000:01.000", "00:60:00.000", "00:00:60.000", "00:00:01", "", "x"])
def test_refused_ends(end: str) -> None:
    assert cues_under([f"00:00:00.000 --> {end}"]) == ["end"]


@pytest.mark.parametrize("middle", ["-->-->", "-a-->", "--a -->", "- -->", "-- -->", "->", "--", "-- >"])
def test_refused_arrows(middle: str) -> None:  # arrows, timings-garbage
    assert cues_under([f"00:00:00.000 {middle} 00:00:01.000"]) == ["end"]


@pytest.mark.parametrize(
    ("line", "end_ms"),
    [
        ("0:00:00.000 --> 00:00:01.000", 1_000),  # timings-too-short
        ("00:00:00.000 --> 0:00:01.000", 1_000),
        ("000:00:00.000 --> 00:00:01.000", 1_000),  # timings-too-long
        ("00:00:00.000 --> 000:00:01.000", 1_000),
        ("00:00.000 --> 00:00:01.000", 1_000),  # timings-omitted-hours
        ("00:00:00.000 --> 00:01.000", 1_000),
        ("00:00.000 --> 00:01.000", 1_000),
        ("00:00:00.000 --> 60:00:01.000", 216_001_000),  # timings-60
        ("   00:00:00.000    -->  00:00:01.000 ", 1_000),  # whitespace-chars
        ("\t\t00:00:00.000\t\t-->\t\t00:00:01.000\t", 1_000),
        ("\f\f00:00:00.000\f\f-->\f\f00:00:01.000\f", 1_000),
        ("00:00:00.000-->00:00:01.000", 1_000),
        ("00:00:00.000 --> 00:00:01.000 align\0:end", 1_000),  # nulls
        ("00:00:00.000 --> 00:00:01.000\0 align:end", 1_000),
        ("00:00:00.000 --> 00:00:01.000 position:foo nonsense:12", 1_000),  # settings-*
    ],
)
def test_accepted_time_lines(line: str, end_ms: int) -> None:
    (cue,) = read(f"WEBVTT\n\n{line}\ntext\n").cues
    assert (cue.start_ms, cue.end_ms, cue.text) == (0, end_ms, "text")


def test_vertical_tabs_are_no_white_space() -> None:  # whitespace-chars
    assert cues_under(["\v00:00:00.000\v-->\v00:00:01.000"]) == ["end"]


@pytest.mark.parametrize("place", range(len(GOOD) - 1))
def test_a_null_in_the_time_line_spoils_it(place: int) -> None:  # nulls
    spoiled = cues_under([GOOD[:place] + "\0" + GOOD[place + 1 :]])
    assert spoiled == ["end"]


def test_a_null_in_the_text_is_shown_as_replaced() -> None:  # nulls
    assert texts(f"WEBVTT\n\0\nalso of the header\n{GOOD}\ntext1\n\n\0 (id)\n{GOOD}\n\0text\0002\n") == [
        "text1",
        "\ufffdtext\ufffd2",
    ]


def test_a_line_with_an_arrow_ends_the_block_before_it() -> None:  # arrows
    between = ["-->", "foo-->", "-->foo", "--->", "-->-->"]
    body = "".join(f"{line}\n{GOOD}\ntext{number}\n" for number, line in enumerate(between))
    assert texts(f"WEBVTT\n\n{body}{GOOD}\nlast\n") == ["text0", "text1", "text2", "text3", "text4", "last"]


@pytest.mark.parametrize("name", [" leading space", "trailing space ", "-- >", "->", " "])
def test_the_name_of_a_cue_is_not_its_text(name: str) -> None:  # ids
    assert texts(f"WEBVTT\n\n{name}\n{GOOD}\ntext") == ["text"]


@pytest.mark.parametrize("end", ["\r", "\n", "\r\n"])
def test_all_ends_of_lines(end: str) -> None:  # newlines
    lines = ["WEBVTT", "", "name", GOOD, "text1", "", "name", GOOD, "text2", ""]
    assert texts(end.join(lines)) == ["text1", "text2"]


def test_a_line_feed_and_a_carriage_return_are_two_ends_of_lines() -> None:  # newlines
    assert texts(f"WEBVTT\n\rname\r{GOOD}\ntext1\n\rname\n{GOOD}\rtext2\n\r") == ["text1", "text2"]


@pytest.mark.parametrize(
    "head",
    [
        "WEBVTT\n\n",
        "\ufeffWEBVTT\n\n",  # signature-bom
        "WEBVTT \n\n",  # signature-space
        "WEBVTT\t\n\n",  # signature-tab
        "WEBVTT words behind it\n\n",  # header-space
        "WEBVTT\twords behind it\n\n",  # header-tab
        "WEBVTT\ngarbage\n\n",  # header-garbage
        "WEBVTT\nRegion: id=fred width=40%\n\n",  # header-regions
        "WEBVTT\n",  # header-timings
        "WEBVTT\n\nREGION\nid:fred\nwidth:40%\n\n",  # regions-id
        "WEBVTT\n\nSTYLE\n::cue {\n  color: red;\n}\n\n",  # stylesheets
        "WEBVTT\n\nNOTE words that nobody says\n\nNOTE\nnor these\n\n",
    ],
)
def test_accepted_heads(head: str) -> None:
    transcript = read(f"{head}{GOOD}\ntext\n")
    assert [word.text for word in transcript.words] == ["text"]
    assert transcript.left_out == ()


@pytest.mark.parametrize("head", ["WEBVTTgarbage", "WEBVT", "webvtt", " WEBVTT", "WEBVTT\0", "\fWEBVTT", "garbage"])
def test_refused_signatures(head: str) -> None:  # signature-invalid and the files that it names
    with pytest.raises(TranscriptUnreadable) as caught:
        read(f"{head}\n\n{GOOD}\ntext\n")
    assert caught.value.line == 1
    assert "WEBVTT" in str(caught.value)


@pytest.mark.parametrize(
    "text",
    [
        "WEBVTT",  # signature-no-newline
        "WEBVTT ",  # signature-space-no-newline
        "WEBVTT\t",  # signature-tab-no-newline
        f"WEBVTT {GOOD}\ntext\n",  # signature-timings
        "WEBVTT\n\n00:00:00.000 -->",  # timings-eof
        "WEBVTT\n\n00:00:00.000",
        "WEBVTT\n\nx\n00:00:00.000 ->\ntext\n",  # timings-garbage
    ],
)
def test_files_without_a_cue_have_no_words(text: str) -> None:
    with pytest.raises(TranscriptUnreadable, match=r"film\.vtt, line [13]"):
        read(text)


# Source: web-platform-tests, webvtt/parsing/cue-text-parsing/dat/entities.dat, those that today's standard, which reads
# the character references of HTML, has in common with it.
@pytest.mark.parametrize(
    ("raw", "plain"),
    [
        ("a & b", "a & b"),
        ("a&amp;b", "a&b"),
        ("&lt;b&gt;", "<b>"),
        ("a&nbsp;b", "a b"),
        ("a&lrm;b a&rlm;b", "ab ab"),  # marks of direction are not part of a word here
        ("&& &1 &1; &;", "&& &1 &1; &;"),
        ("test<c", "test<c"),  # the standard drops it; a word is worth more than a broken tag
    ],
)
def test_character_references(raw: str, plain: str) -> None:
    assert texts(f"WEBVTT\n\n{GOOD}\n{raw}\n") == [plain]


# Source: W3C WebVTT, section 3.4, the tags of cue text: class, italics, bold, underline, ruby, voice, language, time.
@pytest.mark.parametrize(
    "raw",
    [
        "<c.yellow.bg_blue>I turn</c> it",
        "<i>I</i> <b>turn</b> <u>it</u>",
        "<v Anna>I turn it</v>",
        "<v.loud Anna Bell>I turn it",
        "<lang en-GB>I turn it</lang>",
        "I <00:00:00.500>turn <00:00:00.800>it",
        "<v.first\nAnna>I turn it",
    ],
)
def test_tags_are_no_words(raw: str) -> None:
    assert [word.text for word in read(f"WEBVTT\n\n{GOOD}\n{raw}\n").words] == ["I", "turn", "it"]


def test_the_language_of_the_head() -> None:
    assert read(f"WEBVTT\nKind: captions\nLanguage: en-GB\n\n{GOOD}\ntext\n").language == "en-GB"
    assert read(f"WEBVTT\n\n{GOOD}\ntext\n").language is None
