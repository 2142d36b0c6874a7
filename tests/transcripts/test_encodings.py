"""The encodings that transcripts come in."""

from __future__ import annotations

import codecs
from pathlib import Path

import pytest

from indexer.errors import TranscriptUnreadable
from indexer.transcripts.decoding import decode
from indexer.transcripts.reading import parse_transcript, read_transcript

TEXT = "WEBVTT\n\n00:00.000 --> 00:02.000\nDécollement, “naïve” – 5 µm à l’œil\n"
ENCODED = {
    "utf-8": TEXT.encode(),
    "utf-8 with mark": codecs.BOM_UTF8 + TEXT.encode(),
    "utf-16 little": codecs.BOM_UTF16_LE + TEXT.encode("utf-16-le"),
    "utf-16 big": codecs.BOM_UTF16_BE + TEXT.encode("utf-16-be"),
    "utf-16 little, no mark": TEXT.encode("utf-16-le"),
    "utf-16 big, no mark": TEXT.encode("utf-16-be"),
    "utf-32": codecs.BOM_UTF32_LE + TEXT.encode("utf-32-le"),
    "windows-1252": TEXT.encode("cp1252"),
}


@pytest.mark.parametrize("data", ENCODED.values(), ids=ENCODED.keys())
def test_text_is_read_in_every_encoding(data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "film.vtt"
    path.write_bytes(data)
    words = [word.text for word in read_transcript(path).words]
    assert words == ["Décollement,", "“naïve”", "–", "5", "µm", "à", "l’œil"]


def test_one_damaged_byte_does_not_turn_utf8_into_something_else() -> None:
    damaged = "été é à ü".encode() + b" \xff here"
    assert decode(damaged, "x") == "été é à ü \ufffd here"


def test_half_a_character_at_the_end_is_no_fault_of_the_rest() -> None:
    assert decode(codecs.BOM_UTF16_LE + "hook".encode("utf-16-le") + b"\x20", "x") == "hook\ufffd"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"  \r\n\r\n", "empty"),
        (b"\xef\xbb\xbf", "empty"),
        (b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom\x00\x01\x02\x03" * 20, "no text file"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x01\x02\x05\x06" * 20, "no text file"),
    ],
)
@pytest.mark.parametrize("name", ["film.vtt", "film.srt", "film.sbv", "film.txt", "film.json"])
def test_what_is_no_text_is_refused_in_one_line(data: bytes, said: str, name: str) -> None:
    with pytest.raises(TranscriptUnreadable, match=said) as caught:
        parse_transcript(data, name)
    assert str(caught.value).startswith(name) and "\n" not in str(caught.value)


def test_files_that_cannot_be_opened(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "not there.vtt"):
        with pytest.raises(TranscriptUnreadable, match="cannot be opened"):
            read_transcript(path)


def test_a_file_too_large_for_a_transcript_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "film.vtt"
    with path.open("wb") as file:
        file.truncate(40 * 2**20)
    with pytest.raises(TranscriptUnreadable, match="larger than"):
        read_transcript(path)
