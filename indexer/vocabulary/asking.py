"""Reading a query: which concepts it names, however they are spelled, and which words are left."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from importlib import resources
from typing import NamedTuple

from rapidfuzz import process
from rapidfuzz.distance import OSA

from indexer.models.frozen import Frozen
from indexer.vocabulary.naming import CERTAINTY, LONGEST, PLACEHOLDERS, How, Name, Naming, Words, bare
from indexer.vocabulary.sounds import sound_key
from indexer.vocabulary.vocabulary import Vocabulary
from indexer.vocabulary.words import normalise

SMALL_WORDS = PLACEHOLDERS | frozenset(
    normalise(
        """about after again all also am and any are as at be been before but by can could did do does doing
        done during for from get gets getting had has have he here how if in into is it just like me more
        most need no not now of off on one only or out over own she should so some than their them then
        there they through to too up us use used using very want was way were what when where which while
        who why will with would you your show shows tell find case cases video videos clip clips surgery
        operation patient eye eyes dont doesnt cant wont isnt"""
    )
)
"""Words that tell nothing by themselves when they are left over."""
SIZES = frozenset({"small", "little", "big", "large", "wide", "narrow", "short", "long", "deep", "shallow", "high", "low"})
"""Words that belong to what stands beside them: "small" alone is a small pupil only where nothing else is asked."""
TYPED = 5
"""Letters from which on a word may be a misspelled one."""
LONG = 8
"""Letters from which on two wrong ones are let pass."""
SOUNDS = 4
"""Consonant classes from which on a sound is telling enough."""
TELLING = 4
"""Concepts that may share a word before it, as a short form, begins to tell less."""
UNSURE: frozenset[How] = frozenset({"short", "sound", "asked"})


class Understood(Frozen):
    """A concept that a query names, and how that was seen."""

    text: str
    """The words of the query, normalised."""
    concept: str
    facet: str
    how: How
    certainty: float


class QueryReading(Frozen):
    """A query taken apart."""

    concepts: tuple[Understood, ...]
    words: tuple[str, ...]
    """What names nothing, and the words of unsure readings as well; normalised, small words dropped."""


class _Typed(NamedTuple):
    """A word of the query: as it was typed, as it is read, and the letters between the two."""

    text: str
    word: str
    wrong: int


class _Match(NamedTuple):
    start: int
    end: int
    names: tuple[Name, ...]
    wrong: int
    likeness: float = 1.0


def read_query(vocabulary: Vocabulary, text: str) -> QueryReading:
    """Find the concepts of a query, longest forms first; an empty query has an empty reading."""
    naming = vocabulary.naming
    typed = _typed([word for word in normalise(text) if word not in PLACEHOLDERS], naming)
    matches = _without_overlap(_spelled(typed, naming), typed)
    free = set(range(len(typed))) - {at for match in matches for at in range(match.start, match.end)}
    matches += _sounding(typed, free, naming)
    matches.sort(key=lambda match: match.start)
    sure = {at for match in matches if _how(match) not in UNSURE for at in range(match.start, match.end)}
    left = (each.text for at, each in enumerate(typed) if at not in sure)
    return QueryReading(
        concepts=tuple(understood for match in matches for understood in _understood(match, typed, vocabulary)),
        words=tuple(dict.fromkeys(word for word in left if word not in SMALL_WORDS)),
    )


def _typed(words: list[str], naming: Naming) -> list[_Typed]:
    """Mend what is misspelled; a word that makes a term only together with the next becomes one with it."""
    typed: list[_Typed] = []
    at = 0
    while at < len(words):
        here = _mended(words[at], naming)
        both = _joined(words[at : at + 2], naming) if len(words) > at + 1 else None
        if both is not None and (here is None or _mended(words[at + 1], naming) is None):
            typed.append(both)
            at += 2
        else:
            typed.append(here or _Typed(words[at], words[at], 0))
            at += 1
    return typed


def _joined(pair: list[str], naming: Naming) -> _Typed | None:
    """Two words as a single one that names something, at most a letter wrong."""
    letters = "".join(pair)
    mended = _mended(letters, naming) if len(letters) >= LONG else None
    if mended is None or mended.wrong > 1 or not naming.exact((mended.word,)):
        return None
    return mended._replace(text=" ".join(pair))


def _mended(word: str, naming: Naming) -> _Typed | None:
    """The term's word that was meant, or None where nothing is near; a word that is known stays as it is."""
    if _known(word, naming):
        return _Typed(word, word, 0)
    if len(word) < TYPED or not word.isalpha():
        return None
    allowed = 2 if len(word) >= LONG else 1
    near = process.extract(word, _spellings(naming), scorer=OSA.distance, score_cutoff=allowed, limit=8)
    # A first letter is rarely mistyped.
    near = [each for each in near if each[0][0] == word[0] or (each[1] == 1 and len(word) >= LONG)]
    if not near:
        return None
    best, wrong, _ = min(near, key=lambda each: (each[1], not naming.exact((each[0],)), abs(len(each[0]) - len(word))))
    return _Typed(word, best, int(wrong))


@lru_cache(maxsize=8)
def _spellings(naming: Naming) -> list[str]:
    return sorted(word for word in naming.terms if len(word) >= TYPED - 1)


def _spelled(typed: list[_Typed], naming: Naming) -> Iterator[_Match]:
    """Every span that names something by its letters."""
    for start in range(len(typed)):
        for end in range(start + 1, min(start + LONGEST, len(typed)) + 1):
            part = typed[start:end]
            wrong = sum(each.wrong for each in part)
            names = _names(part, wrong, naming)
            if names and not (end - start == 1 and (part[0].word in SMALL_WORDS or _of_another(part[0], typed))):
                yield _Match(start, end, names, wrong)


def _of_another(each: _Typed, typed: list[_Typed]) -> bool:
    """Whether it tells the size of something else that is asked for."""
    return each.word in SIZES and len(typed) > 1


def _names(part: list[_Typed], wrong: int, naming: Naming) -> tuple[Name, ...]:
    span = tuple(each.word for each in part)
    names = naming.exact(span) or naming.one_or_many(span) or _questions(naming).get(span, ())
    unknown = not all(_known(each.text, naming) for each in part)
    if not names and unknown and len(part) <= 3:
        names = naming.exact(tuple(each.text for each in part)) or naming.run_together(
            "".join(each.text for each in part)
        )
    # A mishearing counts only where the words are nothing else, and a short form is not mended.
    meant = tuple(name for name in names if name.how != "sound" and not (wrong and name.how in ("short", "asked")))
    return meant or tuple(name for name in names if unknown and name.how == "sound")


@lru_cache(maxsize=8)
def _questions(naming: Naming) -> Mapping[Words, tuple[Name, ...]]:
    """Words with which one asks for things that are told in other words ("settings"), with all that would answer."""
    data = json.loads(resources.files("schemas").joinpath("language", "asking.json").read_text(encoding="utf-8"))
    asked = ((form, each["means"]) for each in data["asked"] for form in each["words"])
    found = {
        bare(normalise(form)): tuple(Name(one, "asked") for one in means if one in naming) for form, means in asked
    }
    return {span: names for span, names in found.items() if names}


def _without_overlap(matches: Iterable[_Match], typed: list[_Typed]) -> list[_Match]:
    """The longest first, of equals the surer, then the earlier."""
    taken: set[int] = set()
    kept: list[_Match] = []

    def rank(match: _Match) -> tuple[int, float, int, int]:
        letters = sum(len(each.word) for each in typed[match.start : match.end])
        return match.start - match.end, -CERTAINTY[match.names[0].how], -letters, match.start

    for match in sorted(matches, key=rank):
        here = set(range(match.start, match.end))
        if not here & taken:
            taken |= here
            kept.append(match)
    return kept


def _sounding(typed: list[_Typed], free: set[int], naming: Naming) -> list[_Match]:
    """Spans of free words, at least one of them unknown, that sound like a term."""
    matches: list[_Match] = []
    for length in (4, 3, 2, 1):
        for start in range(len(typed) - length + 1):
            here = range(start, start + length)
            if not free.issuperset(here) or all(_known(typed[at].word, naming) for at in here):
                continue
            found = _sounds_like("".join(typed[at].word for at in here), naming)
            if found is not None:
                matches.append(_Match(start, start + length, found[0], 0, found[1]))
                free -= set(here)
    return matches


def _known(word: str, naming: Naming) -> bool:
    return word in SMALL_WORDS or naming.spelled_right(word)


def _sounds_like(letters: str, naming: Naming) -> tuple[tuple[Name, ...], float] | None:
    key = sound_key(letters)
    forms = _by_sound(naming).get(key, ()) if len(key) >= SOUNDS else ()
    if not forms:
        return None
    span, names = max(forms, key=lambda form: OSA.normalized_similarity("".join(form[0]), letters))
    likeness = OSA.normalized_similarity("".join(span), letters)
    return (tuple(Name(name.concept, "sound") for name in names), likeness) if likeness >= 0.5 else None


@lru_cache(maxsize=8)
def _by_sound(naming: Naming) -> Mapping[str, list[tuple[Words, tuple[Name, ...]]]]:
    keyed: dict[str, list[tuple[Words, tuple[Name, ...]]]] = {}
    for span, names in naming.spans:
        if len(span) <= 3:
            keyed.setdefault(sound_key("".join(span)), []).append((span, names))
    return keyed


def _how(match: _Match) -> How:
    return "typing" if match.wrong else match.names[0].how


def _understood(match: _Match, typed: list[_Typed], vocabulary: Vocabulary) -> Iterator[Understood]:
    """One reading for each concept that the words may mean; the more, the less sure."""
    text = " ".join(each.text for each in typed[match.start : match.end])
    letters = max(1, len(text.replace(" ", "")))
    for name in match.names:
        how: How = "typing" if match.wrong else name.how
        sureness = CERTAINTY[how] * match.likeness * (1 - match.wrong / letters)
        if how == "short" and match.end == match.start + 1:
            sureness *= min(1.0, TELLING / max(1, vocabulary.naming.spread(text))) ** 0.5
        yield Understood(
            text=text,
            concept=name.concept,
            facet=vocabulary[name.concept].facet,
            how=how,
            # What is asked for so may be answered by any of its concepts; else only one of them was meant.
            certainty=round(sureness if how == "asked" else sureness / len(match.names), 3),
        )
