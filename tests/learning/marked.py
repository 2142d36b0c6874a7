"""Marked narrations, laid out in time, with every mark brought down to the words that carry it.

A narration is what `tests/narrations/` holds: lines with what was said (`clean`), what a captioner made of it (`heard`),
the step going on, the mentions and the measures. Beside a narration may lie `ID.machine.json`, what a recogniser heard.
"""

from __future__ import annotations

import difflib
import json
import random
from pathlib import Path
from typing import Any, NamedTuple

from indexer.models.timed import Word
from indexer.narration.tokens import Tokens, tokens_of
from indexer.vocabulary.words import normalise


class Marked(NamedTuple):
    """One narration in one speech: tokens and, for each token, its line; mentions as spans of tokens."""

    name: str
    speech: str
    tokens: Tokens
    lines: list[int]
    steps: list[str | None]
    """Step of each token."""
    mentions: list[tuple[int, int, str, str]]
    """(first token, last token + 1, concept, assertion)."""
    findings: list[str]


def load(folder: Path) -> list[dict[str, Any]]:
    """Every narration of a folder, with its machine hearing under `machine` where there is one."""
    found = []
    for path in sorted(folder.glob("*.json")):
        if path.name.endswith(".machine.json"):
            continue
        case = json.loads(path.read_text())
        beside = path.with_suffix(".machine.json")
        case["machine"] = json.loads(beside.read_text()) if beside.exists() else None
        found.append(case)
    return found


def speeches(case: dict[str, Any]) -> tuple[str, ...]:
    """The speeches that a narration has."""
    return ("clean", "heard", "machine") if case["machine"] else ("clean", "heard")


def spoken_words(case: dict[str, Any], speech: str) -> tuple[list[Word], list[int]]:
    """The words with times and the line of each. Clean and heard words share their line's time by length."""
    if speech == "machine":
        starts = [line[0] for line in case["machine"]["lines"]]
        words, lines = [], []
        for start, end, text in case["machine"]["words"]:
            middle = (start + end) / 2
            lines.append(max(0, sum(begin <= middle for begin in starts) - 1))
            words.append(Word(text=text, start_ms=round(start * 1000), end_ms=round(end * 1000), cue=0))
        return words, lines
    chance = random.Random(case["id"])
    now, words, lines = 0.0, [], []
    for number, line in enumerate(case["lines"]):
        now += line.get("gap", 0.0)
        span = max(0.6, len(line["clean"].split()) / (case["rate"] * chance.uniform(0.8, 1.2)))
        pieces = line[speech].split()
        share = span / max(1, sum(len(piece) + 1 for piece in pieces))
        for piece in pieces:
            end = now + share * (len(piece) + 1)
            words.append(Word(text=piece, start_ms=round(now * 1000), end_ms=round(end * 1000), cue=number))
            lines.append(number)
            now = end
    return words, lines


def _place(phrase: list[str], said: list[str], taken: set[int]) -> tuple[int, int] | None:
    """Where a phrase stands among words, a place not yet taken first."""
    size = len(phrase)
    places = [at for at in range(len(said) - size + 1) if said[at : at + size] == phrase]
    free = [at for at in places if at not in taken] or places
    return (free[0], free[0] + size) if free else None


def _carry(clean: list[str], heard: list[str]) -> list[int]:
    """For each border between clean words (0..n) the border between heard words that answers to it."""
    borders = [0] * (len(clean) + 1)
    for _, a, b, c, d in difflib.SequenceMatcher(None, clean, heard, autojunk=False).get_opcodes():
        letters = [0]
        for word in clean[a:b]:
            letters.append(letters[-1] + len(word))
        others = [0]
        for word in heard[c:d]:
            others.append(others[-1] + len(word))
        for index in range(a, b + 1):
            share = letters[index - a] / letters[-1] * others[-1] if letters[-1] else 0.0
            borders[index] = c + min(range(len(others)), key=lambda at: abs(others[at] - share))
    borders[len(clean)] = len(heard)
    return borders


def mark(case: dict[str, Any], speech: str) -> Marked:
    """Bring the marks of a narration down to the tokens of one speech."""
    words, word_lines = spoken_words(case, speech)
    tokens = tokens_of(words)
    lines = [word_lines[origin] for origin in tokens.words]
    mentions = []
    for number, line in enumerate(case["lines"]):
        own = [index for index, at in enumerate(lines) if at == number]
        if not own:
            continue
        clean, heard = normalise(line["clean"]), [tokens.texts[index] for index in own]
        borders = _carry(clean, heard)
        taken: set[int] = set()
        for concept, assertion, phrase in line["mentions"]:
            span = _place(normalise(phrase), clean, taken)
            if span is None:
                continue
            taken.add(span[0])
            first, last = borders[span[0]], max(borders[span[1]], borders[span[0]] + 1)
            if first < len(own):
                mentions.append((own[first], own[min(last, len(own)) - 1] + 1, concept, assertion))
    steps = [case["lines"][number]["step"] for number in lines]
    return Marked(case["id"], speech, tokens, lines, steps, mentions, case["findings"])
