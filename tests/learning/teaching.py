"""Teach networks from marked narrations."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

from indexer.narration.reader import ASSERTIONS
from indexer.narration.tokens import tokens_of
from indexer.tagging import Tagger
from indexer.vocabulary.vocabulary import Vocabulary
from tests.learning import plain_english
from tests.learning.lessons import Lesson
from tests.learning.marked import Marked, mark
from tests.learning.network import Network

TOGETHER = 3
"""Narrations of one step of the descent."""
UNMARKED = -100


class Course(NamedTuple):
    """What is learned: the steps and the concepts, by their numbers."""

    steps: tuple[str, ...]
    concepts: tuple[str, ...]

    @classmethod
    def of(cls, vocabulary: Vocabulary) -> Course:
        """All steps, parts and nameable concepts of a vocabulary."""
        every = vocabulary.concepts.values()
        return cls(
            tuple(concept.id for concept in every if concept.facet in ("part", "step")),
            tuple(concept.id for concept in every if concept.facet != "measure"),
        )


def lesson(case: dict[str, Any], speech: str, tagger: Tagger, course: Course) -> Lesson:
    """Bring a marked narration into the reader's terms. `tagger` finds the hits."""
    marked = mark(case, speech)
    tokens = marked.tokens
    numbers = {concept: number for number, concept in enumerate(course.concepts)}
    known = tagger.described(tokens, tagger.hits(tokens), numbers)
    concepts = np.zeros((len(tokens), len(course.concepts)), np.float32)
    begins = np.zeros(len(tokens), np.float32)
    assertions = np.full(len(tokens), UNMARKED)
    for first, last, concept, assertion in marked.mentions:
        concepts[first:last, numbers[concept]] = 1
        assertions[first:last] = [kind.value for kind in ASSERTIONS].index(assertion)
        begins[first] = 1
    places = {step: number for number, step in enumerate(course.steps)}
    steps = np.array([places.get(step or "", UNMARKED) for step in marked.steps])
    return Lesson(marked, known, *(torch.from_numpy(array) for array in (steps, concepts, assertions, begins)))


def plain_lessons(folder: Path, tagger: Tagger, course: Course) -> list[Lesson]:
    """Ordinary English, in which nothing is named; of the step going on nothing is taught."""
    numbers = {concept: number for number, concept in enumerate(course.concepts)}
    lessons = []
    for text in plain_english.lesson_texts(folder):
        tokens = tokens_of(plain_english.transcript(text).words)
        size = len(tokens)
        known = tagger.described(tokens, tagger.hits(tokens), numbers)
        nothing: list[str | None] = [None] * size
        lessons.append(
            Lesson(
                Marked("plain", "clean", tokens, [0] * size, nothing, [], []),
                known,
                torch.full((size,), UNMARKED),
                torch.zeros(size, len(course.concepts)),
                torch.full((size,), UNMARKED),
                torch.zeros(size),
            )
        )
    return lessons


def loss(network: Network, one: Lesson) -> Tensor:
    """What a network still gets wrong, all four answers together."""
    answers = network(one.features, drop_words=0.15, drop_hits=0.1, drop_pauses=0.3, drop_breaks=0.2)
    total = functional.binary_cross_entropy_with_logits(answers.concepts, one.concepts, reduction="sum") / len(
        one.steps
    )
    if (one.steps != UNMARKED).any():
        total = total + functional.cross_entropy(answers.steps, one.steps, label_smoothing=0.05)
    named = one.assertions != UNMARKED
    if named.any():
        total = total + 0.7 * functional.cross_entropy(answers.assertions, one.assertions)
        total = total + 0.3 * functional.binary_cross_entropy_with_logits(answers.begins[named], one.begins[named])
    return total


def teach(
    lessons: Sequence[Lesson],
    course: Course,
    *,
    rounds: int = 12,
    seed: int = 0,
    rate: float = 6e-3,
) -> Network:
    """A network that has gone through all lessons `rounds` times, in a random order drawn from `seed`."""
    torch.manual_seed(seed)
    network = Network(len(course.concepts), len(course.steps))
    descent = torch.optim.AdamW(network.parameters(), lr=rate / 2, weight_decay=0.05)
    batches = (len(lessons) + TOGETHER - 1) // TOGETHER
    pace = torch.optim.lr_scheduler.OneCycleLR(descent, rate, total_steps=rounds * batches)
    network.train()
    for _ in range(rounds):
        order = torch.randperm(len(lessons)).tolist()
        for start in range(0, len(order), TOGETHER):
            descent.zero_grad()
            for index in order[start : start + TOGETHER]:
                (loss(network, lessons[index]) / TOGETHER).backward()
            nn.utils.clip_grad_norm_(network.parameters(), 2.0)
            descent.step()
            pace.step()
    return network.eval()
