"""A small vocabulary and invented operations, put into real libraries in temporary folders."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from operations import Told, content

from indexer.catalogue.library import Library
from indexer.models import CaseDraft
from indexer.vocabulary.concepts import Concept, Facet
from indexer.vocabulary.vocabulary import Vocabulary


def _concept(concept_id: str, facet: Facet, label: str, **more: Any) -> Concept:
    return Concept(id=concept_id, facet=facet, field="cataract", label=label, definition="For tests.", **more)


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    return Vocabulary(
        [
            _concept("case-introduction", "part", "Case introduction"),
            _concept("main-incision", "step", "Main incision", spoken=("main incision",)),
            _concept("capsulorhexis", "step", "Capsulorhexis", spoken=("rhexis",)),
            _concept("capsule-support", "step", "Capsule support"),
            _concept("phacoemulsification", "step", "Phacoemulsification", spoken=("emulsification",)),
            _concept("chopping", "step", "Chopping", broader="phacoemulsification"),
            _concept("vertical-chop", "technique", "Vertical chop"),
            _concept("capsular-hooks", "device", "Capsular hooks", steps=("capsule-support",)),
            _concept("iris-hooks", "device", "Iris hooks"),
            _concept("trypan-blue", "agent", "Trypan blue", spoken=("trypan",)),
            _concept("dense-nucleus", "finding", "Dense nucleus"),
            _concept("small-pupil", "finding", "Small pupil"),
            _concept("iris-prolapse", "event", "Iris prolapse"),
            _concept(
                "capsulorhexis-diameter",
                "measure",
                "Capsulorhexis diameter",
                unit="mm",
                range=(3.0, 8.0),
                steps=("capsulorhexis",),
            ),
            _concept("patient-age", "measure", "Age", unit="a", range=(0.0, 120.0)),
        ]
    )


@pytest.fixture
def library(tmp_path: Path, vocabulary: Vocabulary) -> Iterator[Library]:
    with Library.open(tmp_path / "library", vocabulary=vocabulary) as opened:
        yield opened


Add = Callable[..., str]


@pytest.fixture
def add(library: Library) -> Add:
    """Add an operation and return the id of its case; keywords of `CaseDraft` and `content` both go."""

    def adding(title: str, passages: Sequence[Told], **more: Any) -> str:
        draft = {name: more.pop(name) for name in list(more) if name in CaseDraft.model_fields and name != "findings"}
        job = library.begin_case(CaseDraft(title=title, sources=(Path("/recordings/one.mp4"),), **draft))
        library.publish(job.id, content(passages, **more))
        return job.case_id

    return adding
