"""When each word of a narration is spoken, and what a captioner makes of it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from demo_clips.scenario import Scenario


@dataclass(frozen=True)
class SpokenWord:
    """One word with its punctuation; times are milliseconds of the recording."""

    text: str
    start_ms: int
    end_ms: int


@dataclass(frozen=True)
class Sentence:
    """One sentence of the narration and the index of the scene that it belongs to."""

    words: tuple[SpokenWord, ...]
    scene: int

    @property
    def start_ms(self) -> int:
        """When its first word begins."""
        return self.words[0].start_ms

    @property
    def end_ms(self) -> int:
        """When its last word ends."""
        return self.words[-1].end_ms

    @property
    def text(self) -> str:
        """The sentence as it was spoken."""
        return " ".join(word.text for word in self.words)


def spoken(scenario: Scenario) -> list[Sentence]:
    """The narration with the time of each word: a sentence follows its scene by a lag."""
    plan, sentences, free = scenario.speech, list[Sentence](), 0.25
    for index, scene in enumerate(scenario.scenes):
        at = float(scenario.starts[index] / scenario.film.rate) + plan.lags[index % len(plan.lags)]
        for text in scene.says:
            at = max(at, free)
            words = []
            for word in text.split():
                length = (0.45 + 0.11 * len(word)) / plan.pace
                end = at + length
                words.append(SpokenWord(word, round(at * 1000), round(end * 1000)))
                at = end + (0.12 if word[-1] in ",." else 0.0)
            sentences.append(Sentence(tuple(words), index))
            free = at + 0.08
            at = free + 0.12
    return sentences


def misheard(sentence: Sentence, heard: Mapping[str, str]) -> Sentence:
    """The sentence as a captioner writes it: small letters, no punctuation, some terms as ordinary words."""
    plain = [re.sub(r"[.,;:?!]", "", word.text.lower()).replace("-", " ").replace("'", "") for word in sentence.words]
    terms = sorted(((term.lower().split(), other.split()) for term, other in heard.items()), key=lambda t: -len(t[0]))
    words: list[SpokenWord] = []
    at = 0
    while at < len(plain):
        taken, others = 1, plain[at].split()
        for term, other in terms:
            if plain[at : at + len(term)] == term:
                taken, others = len(term), other
                break
        start, end = sentence.words[at].start_ms, sentence.words[at + taken - 1].end_ms
        cuts = [round(start + (end - start) * k / len(others)) for k in range(len(others) + 1)]
        words += [SpokenWord(text, a, b) for text, a, b in zip(others, cuts, cuts[1:], strict=False)]
        at += taken
    return Sentence(tuple(words), sentence.scene)
