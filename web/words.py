"""The plain words that the pages use for the terms of the models, written once."""

from __future__ import annotations

from indexer.models.tagged import AssertionKind

FACETS = {
    "part": "Part of the film",
    "step": "Step",
    "technique": "Technique",
    "device": "Instrument or device",
    "agent": "Agent",
    "finding": "Finding of this eye",
    "event": "Event",
    "measure": "Measure",
}
SHORT_FACETS = {
    "part": "part",
    "step": "step",
    "technique": "technique",
    "device": "device",
    "agent": "agent",
    "finding": "finding",
    "event": "event",
    "measure": "measure",
}
"""The same on a chip."""
ASSERTIONS = {
    AssertionKind.DONE: "done or there",
    AssertionKind.PLANNED: "only planned",
    AssertionKind.ABSENT: "said not to be",
    AssertionKind.CONSIDERED: "considered, not done",
    AssertionKind.EARLIER: "happened before",
}
MEANT = {
    AssertionKind.DONE: "",
    AssertionKind.PLANNED: "planned",
    AssertionKind.ABSENT: "not",
    AssertionKind.CONSIDERED: "considered",
    AssertionKind.EARLIER: "earlier",
}
"""One word beside a thing that was only spoken of."""
HOW_READ = {
    "label": "",
    "spoken": "“{}”",
    "short": "short: “{}”",
    "plural": "“{}”",
    "typing": "read from “{}”",
    "sound": "sounds like “{}”",
    "asked": "asked by “{}”",
}
KINDS = {"whole": "whole, unbroken", "edited": "edited film", "excerpt": "excerpt", "logged": "step log, no film"}
RELEASES = {"private": "private", "teaching": "for teaching here", "public": "for anybody"}
EYES = {"right": "right eye", "left": "left eye"}
REASONS = {
    "word": "said",
    "sound": "sounds like",
    "order": "usual order",
    "length": "usual length",
    "silence": "silence",
    "cut": "cut of the film",
    "person": "a person",
}
"""What kind of evidence a reason is."""
