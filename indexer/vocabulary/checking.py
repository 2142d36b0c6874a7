"""What can be wrong with vocabulary files that are well formed each by itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from indexer.vocabulary.concepts import ConceptEntry, Facet, VocabularyFile
from indexer.vocabulary.words import WORD, normalise

FORM_FIELDS = ("spoken", "verbs", "loose", "heard_as", "cues", "said_with")
ORDERED: tuple[Facet, ...] = ("part", "step")
USED: tuple[Facet, ...] = ("device", "agent")
ANY: tuple[Facet, ...] = ()
REFERENCES: Mapping[str, tuple[Facet, ...]] = {
    "broader": ANY,
    "tools": USED,
    "steps": ORDERED,
    "after": ORDERED,
    "before": ORDERED,
    "excludes": ANY,
}
"""Which facets each referring field may point to; none named: any."""
ONLY: Mapping[str, tuple[Facet, ...]] = {
    "cues": ORDERED,
    "tools": ORDERED,
    "after": ORDERED,
    "before": ORDERED,
    "length_s": ORDERED,
    "unit": ("measure",),
    "range": ("measure",),
    "usual": ("measure",),
    "said_with": ("measure",),
    "spoken_units": ("measure",),
}
"""Fields that mean something for some facets only."""


class SourcedFile(NamedTuple):
    """A file that was read, and the name by which a fault tells of it."""

    place: str
    file: VocabularyFile


class _Known(NamedTuple):
    place: str
    facet: Facet
    entry: ConceptEntry


def faults_of(files: Sequence[SourcedFile], *, references: bool = True) -> list[str]:
    """Every fault, in the order of the files; with `references` also those that point to what is not there."""
    known: dict[str, _Known] = {}
    faults: list[str] = []
    for place, file in files:
        for entry in file.concepts:
            if entry.id in known:
                faults.append(f"{place}: {entry.id}, id: stands in {known[entry.id].place} already")
            known.setdefault(entry.id, _Known(place, file.facet, entry))
            faults.extend(f"{place}: {entry.id}, {fault}" for fault in _alone(entry, file.facet))
    faults.extend(_spoken_twice(files))
    if references:
        for place, file in files:
            for entry in file.concepts:
                faults.extend(f"{place}: {entry.id}, {fault}" for fault in _pointing(entry, file.facet, known))
    return faults


def _alone(entry: ConceptEntry, facet: Facet) -> Iterator[str]:
    """What is wrong with a concept whatever else there is."""
    for field in FORM_FIELDS:
        for form in getattr(entry, field):
            if not (form[0].isalpha() or WORD.search(form)):
                yield f"{field}: {form!r} has no word in it"
    for field, facets in ONLY.items():
        if getattr(entry, field) and facet not in facets:
            yield f"{field}: has no meaning for a {facet}"
    yield from _figures(entry, facet)


def _figures(entry: ConceptEntry, facet: Facet) -> Iterator[str]:
    if facet == "measure" and (entry.unit is None or entry.range is None):
        yield "unit, range: a measure needs both"
    if entry.range and entry.range[0] >= entry.range[1]:
        yield f"range: {entry.range[0]:g} is not below {entry.range[1]:g}"
    elif entry.range and entry.usual and not entry.range[0] <= entry.usual[0] <= entry.usual[1] <= entry.range[1]:
        yield f"usual: {entry.usual[0]:g} to {entry.usual[1]:g} does not lie in order within the range"
    length = entry.length_s
    if length and not length.low <= length.median <= length.high:
        yield f"length_s: {length.low:g}, {length.median:g}, {length.high:g} are not in order"


def _spoken_twice(files: Sequence[SourcedFile]) -> Iterator[str]:
    """Within a field a form may name one concept only; two fields may use a word each in its own way."""
    owners: dict[str, dict[str, str]] = {}
    for place, file in files:
        taken = owners.setdefault(file.field, {})
        for entry in file.concepts:
            forms = {_spelled(form): form for form in entry.spoken}
            for form in sorted(forms.keys() & taken.keys() - {""}):
                yield f"{place}: {entry.id}, spoken: {forms[form]!r} is spoken for {taken[form]} too"
            taken.update(dict.fromkeys(forms, entry.id))


def _spelled(form: str) -> str:
    # Most forms are written as they are compared, and there are tens of thousands of them.
    plain = form.isascii() and form.islower() and form.replace(" ", "").isalpha()
    return form if plain and "  " not in form else " ".join(normalise(form))


def _pointing(entry: ConceptEntry, facet: Facet, known: Mapping[str, _Known]) -> Iterator[str]:
    for field, facets in REFERENCES.items():
        value = getattr(entry, field)
        for target in (value,) if isinstance(value, str) else value or ():
            if target not in known:
                yield f"{field}: there is no concept {target!r}"
            elif target == entry.id:
                yield f"{field}: points to itself"
            elif facets and known[target].facet not in facets:
                yield f"{field}: {target!r} is a {known[target].facet}, expected {' or '.join(facets)}"
    above = known.get(entry.broader or "")
    if above and above.facet != facet:
        yield f"broader: {entry.broader!r} is of another facet"
    if _goes_round(entry, known):
        yield f"broader: {entry.broader!r} leads back here in a circle"


def _goes_round(entry: ConceptEntry, known: Mapping[str, _Known]) -> bool:
    seen: set[str] = set()
    above = entry.broader
    while above and above in known and above not in seen:
        seen.add(above)
        above = known[above].entry.broader
    return entry.id in seen and entry.broader != entry.id
