"""Transcripts of a narration in the styles in which surgeons have them."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from demo_clips.scenario import Scenario
from demo_clips.speech import Sentence, SpokenWord, misheard, spoken


def clock(ms: int, comma: str = ".") -> str:
    """Milliseconds as hh:mm:ss.mmm."""
    seconds, rest = divmod(ms, 1000)
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}{comma}{rest:03d}"


def sentence_cues(sentences: Sequence[Sentence]) -> str:
    """WebVTT, one cue a sentence."""
    cues = [f"{clock(s.start_ms)} --> {clock(s.end_ms)}\n{s.text}\n" for s in sentences]
    return "WEBVTT\n\n" + "\n".join(cues)


def short_cues(sentences: Sequence[Sentence]) -> str:
    """SubRip, a few words a cue."""
    cues: list[str] = []
    for sentence in sentences:
        for words in _groups(sentence.words, 6):
            text = " ".join(word.text for word in words)
            span = f"{clock(words[0].start_ms, ',')} --> {clock(words[-1].end_ms, ',')}"
            cues.append(f"{len(cues) + 1}\n{span}\n{text}\n")
    return "\n".join(cues)


def blocks(sentences: Sequence[Sentence], seconds: int = 40) -> str:
    """Plain text with one stamp every forty seconds, and whatever was said until the next one."""
    lines: dict[int, list[str]] = {}
    for word in (word for sentence in sentences for word in sentence.words):
        lines.setdefault(word.start_ms // (seconds * 1000), []).append(word.text)
    parts = [f"[{k * seconds // 60}:{k * seconds % 60:02d}]\n{' '.join(words)}\n" for k, words in lines.items()]
    return "\n".join(parts)


def rolling(sentences: Sequence[Sentence]) -> str:
    """WebVTT as automatic captions roll: two lines, each line said again above the next, stamps inside."""
    lines = list(_groups([word for sentence in sentences for word in sentence.words], 7))
    cues = ["WEBVTT\nKind: captions\nLanguage: en\n"]
    before = " "
    for k, words in enumerate(lines):
        start, end = words[0].start_ms, words[-1].end_ms
        until = lines[k + 1][0].start_ms if k + 1 < len(lines) else end
        hold_ms = max(end, min(until, end + 1500)) - 10
        inside = words[0].text + "".join(f"<{clock(w.start_ms)}><c> {w.text}</c>" for w in words[1:])
        text = " ".join(word.text for word in words)
        cues.append(f"{clock(start)} --> {clock(hold_ms)} align:start position:0%\n{before}\n{inside}\n")
        cues.append(f"{clock(hold_ms)} --> {clock(hold_ms + 10)} align:start position:0%\n{text}\n \n")
        before = text
    return "\n".join(cues)


def recogniser(sentences: Sequence[Sentence]) -> str:
    """JSON of a speech recogniser: segments with words, times in seconds."""
    segments = [
        {
            "start": s.start_ms / 1000, "end": s.end_ms / 1000, "text": s.text,
            "words": [{"word": w.text, "start": w.start_ms / 1000, "end": w.end_ms / 1000} for w in s.words],
        }
        for s in sentences
    ]
    return json.dumps(segments, indent=1) + "\n"


def _groups(words: Sequence[SpokenWord], size: int) -> Iterator[Sequence[SpokenWord]]:
    count = max(1, round(len(words) / size))
    cuts = [round(len(words) * k / count) for k in range(count + 1)]
    for start, end in pairwise(cuts):
        yield words[start:end]


STYLES: dict[str, tuple[str, bool, Callable[[Sequence[Sentence]], str]]] = {
    "sentences": (".vtt", False, sentence_cues),
    "short": (".srt", False, short_cues),
    "blocks": (".txt", False, blocks),
    "rolling": (".vtt", True, rolling),
    "recogniser": (".json", True, recogniser),
}
"""For each style the suffix, whether a machine listened, and the writer."""


def narration(scenario: Scenario) -> list[Sentence]:
    """The sentences as the transcript of this operation has them, misheard where a machine listened."""
    sentences = spoken(scenario)
    if STYLES[scenario.speech.style][1]:
        return [misheard(sentence, scenario.speech.heard) for sentence in sentences]
    return sentences


def transcript(scenario: Scenario) -> tuple[str, str]:
    """Suffix and text of an operation's transcript."""
    suffix, _, write = STYLES[scenario.speech.style]
    return suffix, write(narration(scenario))
