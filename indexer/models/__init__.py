"""The frozen values that flow between the rooms. They know how to be checked, and nothing else."""

from indexer.models.footage import Part, Probe
from indexer.models.tagged import (
    AssertionKind,
    Boundary,
    Evidence,
    FoundFinding,
    Given,
    GivenMention,
    GivenSegment,
    Measure,
    Mention,
    Segment,
    Standing,
    Tagging,
)
from indexer.models.timed import Cue, LeftOut, Transcript, Word

__all__ = [
    "AssertionKind",
    "Boundary",
    "Cue",
    "Evidence",
    "FoundFinding",
    "Given",
    "GivenMention",
    "GivenSegment",
    "LeftOut",
    "Measure",
    "Mention",
    "Part",
    "Probe",
    "Segment",
    "Standing",
    "Tagging",
    "Transcript",
    "Word",
]
