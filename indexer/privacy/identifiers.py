"""Identifiers of a case in its words, titles, file names and metadata, each with its place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from indexer.models.identifying import WORDS, Identifier, KnownName
from indexer.models.timed import Word
from indexer.narration.lexicon import trade_words
from indexer.privacy import metadata as container
from indexer.privacy.dating import aged, dated
from indexer.privacy.finding import Found
from indexer.privacy.listed import KnownNames
from indexer.privacy.naming import Names
from indexer.privacy.numbering import numbered
from indexer.privacy.said import said_addresses
from indexer.privacy.text import Text
from indexer.privacy.written import written
from indexer.vocabulary.vocabulary import Vocabulary

FILE_NAME = "file name"
METADATA = "metadata: "
MUCH_WORSE = 0.12
RANK = {"list": 0, "pattern": 1, "sound": 2, "context": 3}


class Finder:
    """A list of known names and the words of a trade, made ready; made once, used for any number of texts."""

    def __init__(self, known: Sequence[KnownName] = (), vocabulary: Vocabulary | None = None) -> None:
        phrases = trade_words(vocabulary) if vocabulary is not None else ()
        self._trade = frozenset(word for phrase in phrases for word in phrase)
        self._known = KnownNames(known, self._trade)

    def in_words(self, words: Sequence[Word]) -> list[Identifier]:
        """What was spoken, in order of time. Indices count words."""
        text = Text.of_words(words)
        found = self._found(text, spoken=True)
        made = []
        for one in found:
            first, last = text.owner(one.start), text.owner(one.end - 1) + 1
            said = " ".join(word.text for word in words[first:last])
            span = {"start_ms": words[first].start_ms, "end_ms": words[last - 1].end_ms}
            made.append(_identifier(one, said, WORDS, first, last, **span))
        return made

    def in_text(self, text: str, field: str) -> list[Identifier]:
        """What stands in a title, a note or a file's name. Indices count letters."""
        found = self._found(Text(text, camel=field.startswith(FILE_NAME)), spoken=False)
        return [_identifier(one, text[one.start : one.end], field, one.start, one.end) for one in found]

    def in_metadata(self, entries: Mapping[str, str]) -> list[Identifier]:
        """What stands in the entries of a container; see `metadata.container_metadata`."""
        made = []
        for key, value in entries.items():
            if container.is_harmless(key, value):
                continue
            whole = list(container.by_key(key, value))
            inside = self._found(Text(value), spoken=False)
            field = METADATA + key
            kept = _apart([*inside, *whole]) if not whole or whole[0].certainty < 0.9 else whole
            made += [_identifier(one, value[one.start : one.end], field, one.start, one.end) for one in kept]
        return made

    def _found(self, text: Text, *, spoken: bool) -> list[Found]:
        return _apart(
            [
                *self._known.found(text),
                *written(text.text, spoken=spoken),
                *said_addresses(text),
                *dated(text),
                *aged(text),
                *numbered(text, spoken=spoken),
                *Names(text, self._trade).found(),
            ]
        )


def find_identifiers(
    words: Sequence[Word] = (),
    texts: Mapping[str, str] | None = None,
    metadata: Mapping[str, str] | None = None,
    known: Sequence[KnownName] = (),
    vocabulary: Vocabulary | None = None,
) -> list[Identifier]:
    """All identifiers of a recording: in its words, in its texts by the name of their field, in its metadata."""
    finder = Finder(known, vocabulary)
    return [
        *finder.in_words(words),
        *(one for field, text in (texts or {}).items() for one in finder.in_text(text, field)),
        *finder.in_metadata(metadata or {}),
    ]


def _apart(found: Iterable[Found]) -> list[Found]:
    """Of what overlaps, the surest way of finding and the longest stretch, widened to all that it overlaps."""
    best: list[Found] = []
    for one in sorted(found, key=_surest):
        inside = [other for other in best if one.start < other.end and other.start < one.end]
        if any(_said_better(one, other) for other in inside):
            continue
        if not inside:
            best.append(one)
        elif one.start < inside[0].start or one.end > inside[-1].end:
            # What is left out of the surer one may still name somebody: "Anna" is listed, "Anna Feldt" was said.
            first = min(inside, key=lambda other: RANK[other.how])
            for other in inside:
                best.remove(other)
            start = min(one.start, *(other.start for other in inside))
            end = max(one.end, *(other.end for other in inside))
            best.append(first._replace(start=start, end=end))
    return sorted(best)


def _surest(one: Found) -> tuple[int, float, int, float]:
    by_sound = -one.certainty if one.how == "sound" else 0.0
    return RANK[one.how], by_sound, one.start - one.end, -one.certainty


def _said_better(one: Found, other: Found) -> bool:
    """Whether another stretch is the same name, written out or heard clearly better: then this one is only about it."""
    if one.how != "sound" or one.known != other.known:
        return False
    return other.how == "list" or one.certainty < other.certainty - MUCH_WORSE


def _identifier(found: Found, text: str, field: str, first: int, last: int, **span: int) -> Identifier:
    return Identifier(
        kind=found.kind,
        text=text,
        field=field,
        first=first,
        last=last,
        how=found.how,
        certainty=found.certainty,
        known=found.known,
        **span,
    )
