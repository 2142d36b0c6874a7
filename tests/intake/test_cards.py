"""What a card seems to hold. How recorders name and split files is common practice, no source; all names are invented.

Files are as large as said and empty: nothing of them is read.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from indexer.errors import BadInput
from indexer.intake import cards
from indexer.intake.naming import title_for
from indexer.intake.pairing import shared_stem, transcript_beside

MB, GB = 10**6, 10**9
NINE = 1_700_000_000
"""Nine o'clock on some morning."""

Laid = list[tuple[str, int, int]]
"""Name, bytes, and minutes after nine when the file was finished."""


def lay(card: Path, files: Laid) -> None:
    for name, size, minute in files:
        path = card / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("wb") as file:
            file.truncate(size)
        os.utime(path, (NINE + 60 * minute, NINE + 60 * minute))


def recordings(card: Path, **more: bool) -> list[list[str]]:
    found = cards.look_through(card, **more).proposals
    return [[str(path.relative_to(card)) for path in each.recordings] for each in found]


@pytest.mark.parametrize(
    ("files", "expected"),
    [
        pytest.param(
            [("REC1.mp4", 1900 * MB, 20), ("REC2.mp4", 1900 * MB, 40), ("REC3.mp4", 700 * MB, 47)],
            [["REC1.mp4", "REC2.mp4", "REC3.mp4"]],
            id="full files of one size, then the rest",
        ),
        pytest.param(
            [("REC9.mp4", 1900 * MB, 20), ("REC10.mp4", 1900 * MB, 40), ("REC11.mp4", 7 * MB, 41)],
            [["REC9.mp4", "REC10.mp4", "REC11.mp4"]],
            id="numbers, not letters, give the order",
        ),
        pytest.param(
            [("0001.mts", 4290 * MB, 30), ("0002.mts", 1000 * MB, 37)],
            [["0001.mts", "0002.mts"]],
            id="one full file at the limit of its file system",
        ),
        pytest.param(
            [("REC1.mp4", 812 * MB, 12), ("REC2.mp4", 640 * MB, 31), ("REC3.mp4", 905 * MB, 55)],
            [["REC1.mp4"], ["REC2.mp4"], ["REC3.mp4"]],
            id="operations of their own, of any size",
        ),
        pytest.param(
            [
                *[("A_1.mp4", 2000 * MB, 20), ("A_2.mp4", 2000 * MB, 40), ("A_3.mp4", 300 * MB, 43)],
                *[("A_4.mp4", 2000 * MB, 80), ("A_5.mp4", 500 * MB, 85)],
            ],
            [["A_1.mp4", "A_2.mp4", "A_3.mp4"], ["A_4.mp4", "A_5.mp4"]],
            id="a short file ends a recording",
        ),
        pytest.param(
            [("A_1.mp4", 2000 * MB, 20), ("A_2.mp4", 2000 * MB, 40), ("A_3.mp4", 2000 * MB, 180)],
            [["A_1.mp4", "A_2.mp4"], ["A_3.mp4"]],
            id="a pause of two hours ends a recording",
        ),
        pytest.param(
            [("REC1.mp4", 1900 * MB, 20), ("REC3.mp4", 1900 * MB, 60)],
            [["REC1.mp4"], ["REC3.mp4"]],
            id="a number is missing",
        ),
        pytest.param(
            [("x01.mp4", 5000, 1), ("x02.mp4", 5000, 2)],
            [["x01.mp4"], ["x02.mp4"]],
            id="small files of one size",
        ),
        pytest.param(
            [("hooks part 1.mp4", 5000, 1), ("hooks part 2.mp4", 7000, 2)],
            [["hooks part 1.mp4", "hooks part 2.mp4"]],
            id="the names say it",
        ),
        pytest.param(
            [("hooks_001.mp4", 5000, 1), ("hooks_002.mp4", 7000, 2), ("hooks.vtt", 90, 3)],
            [["hooks_001.mp4", "hooks_002.mp4"]],
            id="one transcript for all",
        ),
        pytest.param(
            [("h1.mp4", 2 * GB, 20), ("h2.mp4", 2 * GB, 40), ("h1.vtt", 90, 3), ("h2.vtt", 90, 3)],
            [["h1.mp4"], ["h2.mp4"]],
            id="a transcript for each",
        ),
        pytest.param(
            [("mon/R1.mp4", 2 * GB, 20), ("mon/R2.mp4", 2 * GB, 40), ("tue/R3.mp4", 2 * GB, 60)],
            [["mon/R1.mp4", "mon/R2.mp4"], ["tue/R3.mp4"]],
            id="never across folders",
        ),
        pytest.param(
            [("C1.mp4", 2 * GB, 20), ("C2.mov", 2 * GB, 40), ("notes.txt", 3, 1), (".C3.mp4", 9, 1)],
            [["C1.mp4"], ["C2.mov"]],
            id="never across containers; what is hidden or no film is passed over",
        ),
        pytest.param(
            [("V1.mp4", 2 * GB, 20), ("V2.mp4", 2 * GB, 10), ("V3.mp4", 9 * MB, 5)],
            [["V1.mp4", "V2.mp4", "V3.mp4"]],
            id="copied backwards, times say nothing",
        ),
    ],
)
def test_parts_are_told_from_operations(card: Path, files: Laid, expected: list[list[str]]) -> None:
    lay(card, files)
    assert recordings(card) == expected


def test_each_file_can_be_taken_as_a_recording_of_its_own(card: Path) -> None:
    lay(card, [("REC1.mp4", 1900 * MB, 20), ("REC2.mp4", 1900 * MB, 40)])
    assert recordings(card, apart=True) == [["REC1.mp4"], ["REC2.mp4"]]


@pytest.mark.parametrize(
    ("recording", "transcripts", "expected"),
    [
        ("one.mp4", ["one.vtt"], "one.vtt"),
        ("one.mp4", ["ONE.SRT"], "ONE.SRT"),
        ("one.mp4", ["one.en.vtt"], "one.en.vtt"),
        ("one.mp4", ["one.en-GB.srt", "one.txt"], "one.txt"),
        ("one.mp4", ["one.json", "one.vtt", "one.srt"], "one.vtt"),
        ("one.mp4", ["one.mp4.srt"], "one.mp4.srt"),
        ("one.mp4", ["one more.vtt", "two.vtt"], None),
        ("one.mp4", [], None),
    ],
)
def test_transcripts_are_paired_by_name(
    card: Path, recording: str, transcripts: list[str], expected: str | None
) -> None:
    lay(card, [(name, 10, 1) for name in [recording, *transcripts]])
    found = transcript_beside([card / recording])
    assert (found.name if found else None) == expected
    (proposal,) = cards.look_through(card).proposals
    assert proposal.transcript == found


def test_transcripts_that_go_with_nothing_are_told(card: Path) -> None:
    lay(card, [("one.mp4", 10, 1), ("lost.srt", 10, 1), ("readme.txt", 10, 1)])
    assert [path.name for path in cards.look_through(card).lone_transcripts] == ["lost.srt"]


def test_the_library_on_the_same_drive_is_passed_over(card: Path) -> None:
    lay(card, [("one.mp4", 10, 1), ("library/media/xyz/film.mp4", 10, 1)])
    found = cards.look_through(card, but=[card / "library"]).proposals
    assert [each.recordings[0].name for each in found] == ["one.mp4"]


@pytest.mark.parametrize("files", [[], [("words.vtt", 10, 1)]])
def test_a_folder_without_a_film_is_told(card: Path, files: Laid) -> None:
    lay(card, files)
    with pytest.raises(BadInput, match="no film"):
        cards.look_through(card)


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        (["loose_bag_hooks.mp4"], "loose bag hooks"),
        (["rhexis_001.mp4", "rhexis_002.mp4"], "rhexis"),
        (["rhexis part1.mp4", "rhexis part2.mp4"], "rhexis"),
        (["Six ways to hold a bag.mp4"], "Six ways to hold a bag"),
    ],
)
def test_titles_come_from_names_that_say_something(card: Path, names: list[str], expected: str) -> None:
    assert title_for([card / name for name in names]) == expected


@pytest.mark.parametrize("name", ["REC0001.mp4", "00012.MTS", "clip 7.mp4", "2024-03-01 0912.mp4"])
def test_where_a_recorder_named_it_the_title_says_when(card: Path, name: str) -> None:
    lay(card, [(name, 10, 1)])
    assert title_for([card / name]).startswith("Recording of 1")


def test_the_shared_name_of_parts_has_no_number(card: Path) -> None:
    assert shared_stem([card / "a 10.mp4", card / "a 11.mp4"]) == "a"
