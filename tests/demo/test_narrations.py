"""What is said, when, and how it is written down; webvtt-py, which we did not write, reads the captions back."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
import webvtt

import schemas
from demo_clips.making import operation
from demo_clips.scenario import Scenario, scenarios
from demo_clips.speech import misheard, spoken
from demo_clips.writing import STYLES, narration, transcript

ALL = {one.key: one for one in scenarios()}
VOCABULARY = Path(schemas.__file__).parent / "vocabulary" / "cataract"


def concepts(facet: str) -> set[str]:
    raw = json.loads((VOCABULARY / f"{facet}.json").read_text(encoding="utf-8"))
    return {one["id"] for one in raw["concepts"]}


def words_of(plan: Scenario, folder: Path) -> list[str]:
    """The words of a transcript, read by other code than that which wrote it."""
    suffix, text = transcript(plan)
    path = folder / f"x{suffix}"
    path.write_text(text, encoding="utf-8")
    if suffix == ".json":
        return [word["word"] for segment in json.loads(text) for word in segment["words"]]
    if suffix == ".txt":
        return re.sub(r"^\[\d+:\d\d\]$", "", text, flags=re.MULTILINE).split()
    captions = webvtt.read(path) if suffix == ".vtt" else webvtt.from_srt(path)
    lines: list[str] = []
    for caption in captions:
        for line in (line.strip() for line in caption.text.splitlines()):
            if line and (plan.speech.style != "rolling" or line not in lines[-1:]):
                lines.append(line)
    return " ".join(lines).split()


@pytest.mark.parametrize("key", ALL)
def test_transcript_has_every_word_once_and_in_order(key: str, tmp_path: Path) -> None:
    plan = ALL[key]
    assert words_of(plan, tmp_path) == [word.text for sentence in narration(plan) for word in sentence.words]


@pytest.mark.parametrize("key", ALL)
def test_what_was_not_misheard_is_what_was_said(key: str) -> None:
    plan = ALL[key]
    said = " ".join(text for scene in plan.scenes for text in scene.says)
    assert " ".join(sentence.text for sentence in spoken(plan)) == said
    assert 120 <= len(said.split()) <= 225


@pytest.mark.parametrize("key", ALL)
def test_words_keep_near_the_hands(key: str) -> None:
    """Narration leads or lags the hands by a second or so; times rise, and end within the film."""
    plan = ALL[key]
    length_ms = float(plan.frames / plan.film.rate) * 1000
    sentences = narration(plan)
    times = [t for s in sentences for w in s.words for t in (w.start_ms, w.end_ms)]
    assert times == sorted(times) and times[0] >= 0 and times[-1] <= length_ms
    for before, sentence in zip([None, *sentences], sentences, strict=False):
        if before is None or before.scene != sentence.scene:
            lag = sentence.start_ms / 1000 - float(plan.starts[sentence.scene] / plan.film.rate)
            assert -1.5 <= lag <= 3.0, f"{key}: {sentence.text} lags {lag:.1f} s"


@pytest.mark.parametrize("key", ALL)
def test_ids_are_in_the_vocabulary(key: str) -> None:
    plan = ALL[key]
    assert {scene.step for scene in plan.scenes} <= concepts("steps") | concepts("parts")
    assert set(plan.findings) <= concepts("findings")


@pytest.mark.parametrize("key", ALL)
def test_spoken_size_of_the_opening_is_the_drawn_one(key: str) -> None:
    plan = ALL[key]
    numbers = {"five point five": 5.5, "six point two": 6.2, "Five point two.": 5.2, "five millimetres": 5.0}
    for scene in plan.scenes:
        if scene.act == "tear":
            said = [size for words, size in numbers.items() if words in " ".join(scene.says)]
            assert not said or scene.options["mm"] in said


def test_the_cases_differ_as_they_should(tmp_path: Path) -> None:
    assert len(ALL) >= 9 and {plan.speech.style for plan in ALL.values()} == set(STYLES)
    assert all(60 <= plan.frames / plan.film.rate <= 120 for plan in ALL.values())
    assert sum(plan.kind == "edited" for plan in ALL.values()) == 1
    assert sum(bool(plan.look.burnt_in) for plan in ALL.values()) >= 2
    assert all("invented" in plan.look.burnt_in for plan in ALL.values() if plan.look.burnt_in)
    assert sum(plan.film.parts == 2 for plan in ALL.values()) == 1
    assert {str(plan.film.rate) for plan in ALL.values()} == {"25", "50", "30000/1001"}
    assert any(plan.film.sound for plan in ALL.values()) and not all(plan.film.sound for plan in ALL.values())
    hooks = next(plan for plan in ALL.values() if plan.key == "four-hooks")
    assert "dense-nucleus" in hooks.findings and "apsular hooks" in transcript(hooks)[1]
    assert {path.suffix for plan in ALL.values() for path in operation(plan, tmp_path).recordings} == {".mp4", ".ts"}


def test_a_term_is_misheard_as_a_whole() -> None:
    plan = ALL["milk-and-blue"]
    sentence = next(s for s in spoken(plan) if "trypan blue" in s.text)
    heard = misheard(sentence, {"trypan blue": "try pan blue"})
    assert "so try pan blue goes in" in heard.text and heard.text == heard.text.lower()
    assert (heard.start_ms, heard.end_ms) == (sentence.start_ms, sentence.end_ms)


@pytest.mark.parametrize("key", [key for key, plan in ALL.items() if plan.speech.heard])
def test_listed_mishearings_occur(key: str) -> None:
    plan = ALL[key]
    text = " ".join(sentence.text for sentence in narration(plan))
    used = [other for other in plan.speech.heard.values() if other in text]
    assert len(used) >= 4, f"{key} mishears hardly anything"


def test_step_starts_are_first_frames() -> None:
    plan = ALL["torn-bag"]
    steps = plan.step_starts
    assert steps[0] == ("case-introduction", 0) and [s for s, _ in steps].count("fragment-removal") == 2
    first = plan.scenes[0].length_s
    assert steps[1] == ("side-port", round(first * plan.film.rate))
