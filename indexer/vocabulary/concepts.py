"""One term of the controlled vocabulary, and the file that a facet of a field is written in."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from indexer.models.frozen import Frozen

Facet = Literal["part", "step", "technique", "device", "agent", "finding", "event", "measure"]
FACETS: tuple[Facet, ...] = ("part", "step", "technique", "device", "agent", "finding", "event", "measure")

ConceptId = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)]
Form = Annotated[str, Field(min_length=1, max_length=80)]


class StepLength(Frozen):
    """How long a step usually takes, in seconds, and where the figures come from."""

    median: Annotated[float, Field(gt=0)]
    low: Annotated[float, Field(gt=0)]
    """About the fastest tenth of operations."""
    high: Annotated[float, Field(gt=0)]
    """About the slowest tenth of operations."""
    source: Annotated[str, Field(min_length=1)]


class ConceptEntry(Frozen):
    """A term as it is written in a file, with all that is known of how it is spoken of."""

    id: ConceptId
    label: Annotated[str, Field(min_length=1, max_length=80)]
    definition: Annotated[str, Field(min_length=1)]
    broader: ConceptId | None = None
    spoken: tuple[Form, ...] = ()
    """Nouns and noun phrases, each of which names the concept by itself; plurals are implied.

    In any form a `*` stands for a word or two that may come between.
    """
    verbs: tuple[Form, ...] = ()
    """Verb forms that name it; inflections are implied."""
    loose: tuple[Form, ...] = ()
    """Short forms that mean it only in context: named before in this case, or said within a fitting step."""
    heard_as: tuple[Form, ...] = ()
    """What recognisers write in place of the spoken forms: ordinary words that sound alike."""
    cues: tuple[Form, ...] = ()
    """Turns of phrase that propose this step or part without naming it."""
    tools: tuple[ConceptId, ...] = ()
    """Devices and agents that are usually at work in this step."""
    steps: tuple[ConceptId, ...] = ()
    """Steps in which this device, agent, technique, finding, event or measure usually turns up."""
    after: tuple[ConceptId, ...] = ()
    """Steps and parts that usually come just before this one."""
    before: tuple[ConceptId, ...] = ()
    """Steps and parts that usually come just after this one."""
    length_s: StepLength | None = None
    excludes: tuple[ConceptId, ...] = ()
    """Concepts that are hardly true of the same eye or operation."""
    unit: str | None = None
    """UCUM code of a measure."""
    range: tuple[float, float] | None = None
    """Smallest and largest plausible value of a measure."""
    usual: tuple[float, float] | None = None
    """What is common, within `range`."""
    said_with: tuple[Form, ...] = ()
    """Words around a number that make it this measure."""
    spoken_units: tuple[Form, ...] = ()
    """How the unit is said or written in a transcript."""


class Concept(ConceptEntry):
    """A step, part, technique, device, agent, finding, event or measure of a field of surgery."""

    facet: Facet
    field: ConceptId


class VocabularyFile(Frozen):
    """One facet of one field of surgery, as it is written in a file; the order of the concepts is the usual order."""

    field: ConceptId
    facet: Facet
    concepts: tuple[ConceptEntry, ...]
