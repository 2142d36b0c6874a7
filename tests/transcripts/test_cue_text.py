"""What of a cue is said: speakers, sounds, entities, styling."""

from __future__ import annotations

import pytest

from indexer.transcripts.reading import parse_transcript


def said(*cues: str, name: str = "film.srt") -> list[str]:
    body = "\n".join(
        f"{number}\n00:00:{number:02},000 --> 00:00:{number:02},900\n{text}\n" for number, text in enumerate(cues, 1)
    )
    return [cue.text for cue in parse_transcript(body.encode(), name).cues]


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ("SURGEON: hook in", "hook in"),
        ("Surgeon: hook in", "hook in"),
        (">> SURGEON: hook in", "hook in"),
        (">> hook in", "hook in"),
        ("Speaker 2: hook in", "hook in"),
        ("- hook in\n- Nurse: hook", "hook in hook"),
        ("♪ hook in ♪", "hook in ♪"),
        ("[Music] hook in", "hook in"),
        ("hook (inaudible) in", "hook in"),
        ("[MUSIC]\nhook in", "hook in"),
        ("{\\an8}hook {i}in{/i}", "hook in"),
        ('<font color="#ff0000">hook</font> in', "hook in"),
        ("hook &amp; ring&nbsp;in", "hook & ring in"),
        ("pressure <20 and >10", "pressure <20 and >10"),
        ("a < b > c", "a < b > c"),
        ("hydro<i>dis</i>section", "hydrodissection"),
        ("PHACO: sixty per cent", "PHACO: sixty per cent"),
        ("Remember: hook in", "Remember: hook in"),
        ("at 10:30 hook in", "at 10:30 hook in"),
        ("-year -old", "-year -old"),
        ("&" + "#" + "9" * 5_000 + "; hook", "&" + "#" + "9" * 5_000 + "; hook"),
        ("&#xD800; hook", "\ufffd hook"),
    ],
)
def test_what_is_said(raw: str, words: str) -> None:
    assert said(raw) == [words]


def test_a_label_in_capitals_that_opens_many_cues_is_a_speaker() -> None:
    cues = [
        "MARLOWE: hook in",
        "DR VEY: good",
        "MARLOWE: now the ring",
        "MARLOWE: it holds",
        "DR VEY: yes",
        "DR VEY: on",
    ]
    assert said(*cues) == ["hook in", "good", "now the ring", "it holds", "yes", "on"]


def test_a_stamp_inside_a_word_does_not_split_it() -> None:
    text = "WEBVTT\n\n00:01.000 --> 00:03.000\nhydro<00:00:01.500>dissect<00:00:02.000> now\n"
    words = parse_transcript(text.encode(), "film.vtt").words
    assert [(word.text, word.start_ms) for word in words] == [("hydrodissect", 1_000), ("now", 2_000)]
    assert words[1].timing == "inline"
