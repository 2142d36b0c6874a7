"""Loading: what ships is sound, several fields lie side by side, and all faults of bad files come at once."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from indexer.errors import NotFound, VocabularyFaulty
from indexer.vocabulary.concepts import FACETS
from indexer.vocabulary.loading import SHIPPED, load_vocabulary
from indexer.vocabulary.schema import SCHEMA, schema_text
from indexer.vocabulary.vocabulary import Vocabulary
from indexer.vocabulary.words import normalise


@pytest.fixture(scope="module")
def shipped() -> Vocabulary:
    return load_vocabulary()


def concept(concept_id: str, **fields: Any) -> dict[str, Any]:
    return {"id": concept_id, "label": concept_id.title(), "definition": "Invented for a test.", **fields}


def write(folder: Path, facet: str, *concepts: Mapping[str, Any], field: str = "invented") -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{facet}s.json"
    path.write_text(json.dumps({"field": field, "facet": facet, "concepts": concepts}), encoding="utf-8")
    return path


def faults_of(*folders: Path) -> list[str]:
    with pytest.raises(VocabularyFaulty) as caught:
        load_vocabulary(*folders)
    return list(caught.value.faults)


def test_every_facet_ships(shipped: Vocabulary) -> None:
    assert {each.facet for each in shipped.concepts.values()} == set(FACETS)


def test_every_concept_can_be_named(shipped: Vocabulary) -> None:
    mute = [each.id for each in shipped.concepts.values() if not each.spoken]
    assert mute == []


@pytest.mark.parametrize(("facet", "at_least"), [("part", 40), ("step", 40)])
def test_steps_and_parts_have_turns_of_phrase_and_a_length(shipped: Vocabulary, facet: str, at_least: int) -> None:
    thin = [each.id for each in shipped.of_facet(facet) if len(each.cues) < at_least or each.length_s is None]
    assert thin == []


def test_turns_of_phrase_are_short(shipped: Vocabulary) -> None:
    long = [cue for facet in ("part", "step") for each in shipped.of_facet(facet) for cue in each.cues]
    assert [cue for cue in long if len(normalise(cue)) > 7] == []


def test_an_operation_runs_from_its_introduction_to_the_outcome(shipped: Vocabulary) -> None:
    order = ["case-introduction", "side-port", "capsulorhexis", "sculpting", "lens-implantation", "outcome"]
    places = [shipped.place(step) for step in order]
    assert places == sorted(places)
    assert shipped.place("case-introduction") == 1


def test_places_count_steps_and_parts_once_each(shipped: Vocabulary) -> None:
    stages = [each.id for facet in ("part", "step") for each in shipped.of_facet(facet)]
    assert sorted(map(shipped.place, stages)) == list(range(1, len(stages) + 1))


def test_only_steps_and_parts_have_a_place(shipped: Vocabulary) -> None:
    with pytest.raises(NotFound):
        shipped.place("keratome")


@pytest.mark.parametrize(
    ("step", "broad"),
    [("chopping", "phacoemulsification"), ("lens-positioning", "lens-implantation"), ("hydrodissection",) * 2],
)
def test_fine_steps_roll_up(shipped: Vocabulary, step: str, broad: str) -> None:
    assert shipped.coarse(step) == broad


def test_things_are_listed_by_their_label(shipped: Vocabulary) -> None:
    labels = [each.label.casefold() for each in shipped.of_facet("device")]
    assert labels == sorted(labels)


def test_an_unknown_term_is_said_to_be_unknown(shipped: Vocabulary) -> None:
    with pytest.raises(NotFound, match="no term 'teaspoon'"):
        shipped["teaspoon"]


# Cataract-101 (Schoeffmann et al., 2018): medians in seconds over 101 videos, computed from its own annotations.
@pytest.mark.parametrize(
    ("step", "median_s"),
    [
        ("main-incision", 16.8),
        ("capsulorhexis", 34.4),
        ("hydrodissection", 27.5),
        ("phacoemulsification", 121.3),
        ("cortex-aspiration", 51.0),
        ("capsule-polishing", 16.6),
        ("lens-implantation", 25.1),
        ("viscoelastic-removal", 48.8),
    ],
)
def test_lengths_are_the_published_ones(shipped: Vocabulary, step: str, median_s: float) -> None:
    length = shipped[step].length_s
    assert length is not None
    assert length.median == median_s
    assert "Cataract-101" in length.source


# Common practice, no source.
@pytest.mark.parametrize(
    ("measure", "usual"),
    [("capsulorhexis-diameter", (5, 5.5)), ("sculpt-depth", (80, 90)), ("incision-width", (2.2, 2.8))],
)
def test_usual_values_are_those_of_the_trade(shipped: Vocabulary, measure: str, usual: tuple[float, float]) -> None:
    assert shipped[measure].usual == usual


# UCUM, table of units: the codes of these quantities (from memory).
@pytest.mark.parametrize(
    ("measure", "code"),
    [
        ("vacuum", "mm[Hg]"),
        ("flow-rate", "mL/min"),
        ("lens-power", "[diopt]"),
        ("toric-axis", "deg"),
        ("patient-age", "a"),
    ],
)
def test_units_are_codes_of_ucum(shipped: Vocabulary, measure: str, code: str) -> None:
    assert shipped[measure].unit == code


def test_two_fields_load_side_by_side(tmp_path: Path) -> None:
    write(tmp_path / "gardening", "step", concept("pruning", spoken=["pruning"]), field="gardening")
    both = load_vocabulary(SHIPPED, tmp_path)
    assert both.fields == ("cataract", "gardening")
    assert both["pruning"].facet == "step" and "capsulorhexis" in both


def test_a_field_may_use_a_word_in_its_own_way(tmp_path: Path) -> None:
    write(tmp_path / "a", "step", concept("pruning", spoken=["the cut"]), field="gardening")
    write(tmp_path / "b", "step", concept("editing", spoken=["the cut"]), field="film")
    assert len(load_vocabulary(tmp_path)) == 2


FAULTS: list[tuple[str, dict[str, Any], str]] = [
    ("step", {"colour": "red"}, "one, colour: there is no such field"),
    ("step", {"spoken": ["fine", ""]}, "one, spoken 2: String should have at least 1 character"),
    ("step", {"spoken": ["fine", "..."]}, "one, spoken: '...' has no word in it"),
    ("step", {"tools": ["spade"]}, "one, tools: there is no concept 'spade'"),
    ("step", {"after": ["one"]}, "one, after: points to itself"),
    ("step", {"tools": ["two"]}, "one, tools: 'two' is a step, expected device or agent"),
    ("step", {"unit": "mm"}, "one, unit: has no meaning for a step"),
    (
        "step",
        {"length_s": {"median": 5, "low": 9, "high": 20, "source": "x"}},
        "one, length_s: 9, 5, 20 are not in order",
    ),
    (
        "step",
        {"length_s": {"median": -5, "low": 1, "high": 20, "source": "x"}},
        "one, length_s median: Input should be",
    ),
    ("measure", {"unit": "mm"}, "one, unit, range: a measure needs both"),
    ("measure", {"unit": "mm", "range": [5, 5]}, "one, range: 5 is not below 5"),
    ("measure", {"unit": "mm", "range": [1, 5], "usual": [4, 6]}, "one, usual: 4 to 6 does not lie in order"),
    ("step", {"broader": "three"}, "one, broader: there is no concept 'three'"),
]


@pytest.mark.parametrize(("facet", "fields", "told"), FAULTS)
def test_a_fault_is_told_with_its_place(tmp_path: Path, facet: str, fields: dict[str, Any], told: str) -> None:
    other = {"unit": "mm", "range": [0, 1]} if facet == "measure" else {}
    path = write(tmp_path / "f", facet, concept("one", **fields), concept("two", **other))
    assert [fault for fault in faults_of(tmp_path) if fault.startswith(f"f/{path.name}: {told}")]


def test_all_faults_of_all_files_come_at_once(tmp_path: Path) -> None:
    write(tmp_path / "f", "step", concept("one", colour="red", label=""), concept("one"))
    write(
        tmp_path / "f", "device", concept("spade", spoken=["spade"]), concept("shovel", spoken=["Spade"], cues=["dig"])
    )
    (tmp_path / "f" / "agents.json").write_text("{", encoding="utf-8")
    faults = faults_of(tmp_path)
    expected = [
        "agents.json: is no JSON",
        "steps.json: one, colour",
        "steps.json: one, label",
        "devices.json: shovel, cues: has no meaning for a device",
        "devices.json: shovel, spoken: 'Spade' is spoken for spade too",
    ]
    assert [[each for each in faults if part in each] != [] for part in expected] == [True] * len(expected)


def test_an_id_stands_once(tmp_path: Path) -> None:
    write(tmp_path / "f", "step", concept("one"))
    write(tmp_path / "f", "device", concept("one"))
    assert faults_of(tmp_path) == ["f/steps.json: one, id: stands in f/devices.json already"]


def test_a_circle_of_broader_terms_is_told_at_each_of_them(tmp_path: Path) -> None:
    circle = [concept("one", broader="two"), concept("two", broader="three"), concept("three", broader="one")]
    write(tmp_path / "f", "step", *circle, concept("four", broader="one"))
    assert [fault.split(",")[0][-5:].strip(": ") for fault in faults_of(tmp_path)] == ["one", "two", "three"]


def test_a_folder_without_files_is_a_fault(tmp_path: Path) -> None:
    assert "no vocabulary file here" in faults_of(tmp_path)[0]


@pytest.mark.parametrize(
    "data", [b"", b"[]", b"null", b"\xff\xfe", b'{"field": "x"}', b"[" * 100_000, b'{"concepts": 3}']
)
def test_what_is_no_vocabulary_is_one_clear_error(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "steps.json").write_bytes(data)
    assert all(fault.startswith(f"{tmp_path.name}/steps.json: ") for fault in faults_of(tmp_path))


def test_the_schema_in_its_file_is_the_one_the_code_would_write() -> None:
    assert SCHEMA.read_text(encoding="utf-8") == schema_text()
