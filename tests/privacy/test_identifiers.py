"""Identifiers of the classes of 45 CFR 164.514(b)(2)(i)(A) to (R) in words, texts and metadata; surgical talk is none."""

from __future__ import annotations

import pytest

from indexer.models.identifying import Identifier, IdentifierKind, KnownName
from indexer.models.timed import Word
from indexer.privacy.identifiers import Finder, find_identifiers

LIST = [
    KnownName(text="Mirela Vantoor"),
    KnownName(kind=IdentifierKind.HOSPITAL, text="Lindenhof Eye Clinic"),
    KnownName(kind=IdentifierKind.RECORD, text="4471182"),
]


def words(text: str) -> list[Word]:
    return [Word(text=one, start_ms=400 * n, end_ms=400 * n + 380, cue=0) for n, one in enumerate(text.split())]


def told(text: str, known: list[KnownName] | None = None) -> list[Identifier]:
    return Finder(known or []).in_words(words(text))


# One of each class that words can hold; (P) and (Q) of speech and picture are for the sound and the picture.
@pytest.mark.parametrize(
    ("letter", "text", "identifier"),
    [
        ("A", "this is mrs thornwick who came late", "thornwick"),
        ("A", "Here my colleague Ilse Brandmere takes over.", "Ilse Brandmere"),
        ("B", "she lives in quennick with her sister", "quennick"),
        ("B", "welcome to the tharnwold eye clinic today", "tharnwold eye clinic"),
        ("C", "born on the third of march nineteen sixty four", "third of march nineteen sixty four"),
        ("C", "the first eye was done on 12/3/2019 elsewhere", "12/3/2019"),
        ("C", "a ninety one year old with a white lens", "ninety one"),
        ("D", "her phone number is five five five oh one double four", "five five five oh one double four"),
        ("E", "our fax is 555-0199 today", "555-0199"),
        ("F", "write to ilse dot berg at example dot org please", "ilse dot berg at example dot org"),
        ("G", "social security nine eight seven six five four three two one", "nine eight seven six five four three two one"),
        ("H", "her record number is for for seven won won ate", "for for seven won won ate"),
        ("I", "insurance number 99881234 for the bill", "99881234"),
        ("J", "account number 12345678 please", "12345678"),
        ("K", "licence number 88 12 44 01", "88 12 44 01"),
        ("L", "his number plate is k x t four four one zero", "k x t four four one zero"),
        ("M", "the serial number is X 4471 182", "X 4471 182"),
        ("N", "see www dot berg dot example for more", "www dot berg dot example"),
        ("O", "the recorder is at 192.0.2.17 here", "192.0.2.17"),
        ("O", "The address is 192.0.2.17. Now the rhexis.", "192.0.2.17"),
        ("P", "fingerprint 771240 opened it", "771240"),
        ("R", "study number 300412 of the trial", "300412"),
    ],
)  # fmt: skip
def test_each_class_is_found(letter: str, text: str, identifier: str) -> None:
    found = told(text)
    assert [(one.kind.letter, one.text.rstrip(".")) for one in found] == [(letter, identifier)]


# 45 CFR 164.514(b)(2)(i)(C): only ages over 89; a year alone may stay. What a surgeon says besides is no identifier.
@pytest.mark.parametrize(
    "text",
    [
        "a seventy eight year old with a dense nucleus",
        "an eighty-nine-year-old woman, right eye",
        "this was done in 2019 and again in two thousand and four",
        "twenty-one dioptres and two point eight millimetres",
        "five to five and a half at ten o'clock in the left eye",
        "vacuum three fifty, flow thirty five, power forty, bottle at 110",
        "one two three four five six seven pieces",
        "Descemet's membrane and Tenon's capsule, then Fuchs and the zonules of Zinn",
        "cefuroxime one milligram in 0.1 ml, moxifloxacin, trypan blue, lidocaine one percent",
        "you may first see the lens march forward",
        "acuity twenty forty, pressure fourteen, day one 20/25",
        "axis at ninety five degrees, vacuum of ninety",
        "endothelium 1200 cells, he comes from Texas",
    ],
)
def test_surgical_talk_names_nobody(text: str) -> None:
    assert told(text) == []


@pytest.mark.parametrize(
    "said",
    [
        "mirela vantoor is next",
        "vantoor's other eye was clear",
        "mirelavantoor is next",
        "now mir ela van toor lies still",
        "the patient is fan tour as you know",
        "mrs ventoor has loose zonules",
    ],
)
def test_a_listed_name_is_found_however_it_is_written(said: str) -> None:
    found = told(said, LIST)
    assert [one.known for one in found] == ["Mirela Vantoor"]
    assert {one.how for one in found} <= {"list", "sound"}


@pytest.mark.parametrize(
    "said",
    ["4471182", "four four seven one one eight two", "forty four seventy one one eighty two", "447 1182"],
)
def test_a_listed_number_is_found_without_being_announced(said: str) -> None:
    assert [one.known for one in told(f"that is {said} for the film", LIST)] == ["4471182"]


def test_places_of_words_and_times() -> None:
    (one,) = told("the patient is mirela vantoor today", LIST)
    assert (one.first, one.last, one.start_ms, one.end_ms, one.field) == (3, 5, 1200, 1980, "words")


def test_titles_and_file_names_of_cameras_and_people() -> None:
    finder = Finder(LIST)
    assert [one.text for one in finder.in_text("VantoorMirela_19600403_OD", "file name 1")] == [
        "VantoorMirela",
        "19600403",
    ]
    assert [one.kind.letter for one in finder.in_text("Small pupil, MRN 552120", "title")] == ["H"]
    assert finder.in_text("Small pupil, ring, dense nucleus", "title") == []
    assert finder.in_text("rhexis_01_right", "file name 1") == []


# Keys as QuickTime and FFmpeg write them; common practice, from memory.
def test_container_metadata() -> None:
    entries = {
        "major_brand": "isom",
        "encoder": "Lavf60.16.100",
        "stream 0: handler_name": "VideoHandler",
        "creation_time": "2019-03-04T12:33:10.000000Z",
        "com.apple.quicktime.location.ISO6709": "+10.2081-016.3738/",
        "artist": "Dr Thornwick",
        "date": "2019",
    }
    found = Finder().in_metadata(entries)
    assert [(one.field, one.kind.letter) for one in found] == [
        ("metadata: creation_time", "C"),
        ("metadata: com.apple.quicktime.location.ISO6709", "B"),
        ("metadata: artist", "A"),
    ]


def test_all_at_once() -> None:
    found = find_identifiers(words("mrs thornwick"), {"title": "MRN 552120"}, {"artist": "Someone"})
    assert [one.field for one in found] == ["words", "title", "metadata: artist"]
