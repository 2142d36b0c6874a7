"""Labels, facets and places of terms for the pages; a term that the vocabulary has lost is still shown, by its id."""

from __future__ import annotations

import re

from indexer.vocabulary.vocabulary import Vocabulary

UNIT_IN_LABEL = re.compile(r" \([^()]*\)$")


class Terms:
    """Looks terms up without ever failing: a page must not go away because a term was retired."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._vocabulary = vocabulary

    def label(self, concept: str) -> str:
        """What people call it."""
        if concept not in self._vocabulary:
            return concept.replace("-", " ")
        label = self._vocabulary[concept].label
        # The unit is written beside the number, so it need not stand in the label too.
        return UNIT_IN_LABEL.sub("", label) if self.facet(concept) == "measure" else label

    def facet(self, concept: str) -> str:
        """Its facet, or nothing."""
        return self._vocabulary[concept].facet if concept in self._vocabulary else ""

    def unit(self, concept: str) -> str:
        """The unit of a measure as it is written, with nothing where there is none."""
        code = self._vocabulary[concept].unit if concept in self._vocabulary else None
        return written_unit(code or "")

    def place(self, step: str) -> int | None:
        """Place of a step or part in the usual order, from 1; None for what has none."""
        return self._vocabulary.place(step) if self.facet(step) in ("step", "part") else None


UNITS = {
    "[diop]": "D",
    "[diopt]": "D",
    "[in_i]": "in",
    "deg": "°",
    "mm[Hg]": "mmHg",
    "mm2": "mm²",
    "um": "µm",
    "uL": "µl",
    "mL": "ml",
    "a": "years",
    "d": "days",
    "1": "",
}
"""UCUM codes whose written form is another; the rest are written as they are."""


def written_unit(code: str) -> str:
    """A UCUM code as people write the unit; a bare annotation such as `{hooks}` counts things and is not written."""
    number, slash, per = code.partition("/")
    if number.startswith("{"):
        number = number.strip("{}").replace("_", " ") if slash else ""
    return UNITS.get(number, number) + ("/" if number and slash else "per " if slash else "") + UNITS.get(per, per)
