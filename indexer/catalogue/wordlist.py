"""The words of each segment, stemmed, in a table of their own: what the search looks words up in.

The table is plain SQL, so that it is the same on SQLite and PostgreSQL; another engine has to offer `renew` and the
two look-ups, nothing else.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import lru_cache

from sqlalchemy import ColumnElement, Connection, and_, delete, exists, func, insert, select

from indexer.catalogue.rows import unpacked_words
from indexer.catalogue.stemming import stem
from indexer.catalogue.tables import cases, segments, spoken, spoken_texts, transcripts
from indexer.models import Standing
from indexer.vocabulary.words import normalise

LONGEST = 60


@lru_cache(maxsize=100_000)
def stems(text: str) -> tuple[str, ...]:
    """The stems of a piece of text, in order: most often one for a word of a transcript."""
    return tuple(stem(word)[:LONGEST] for word in normalise(text))


def renew(connection: Connection, recording_id: str) -> None:
    """Write the words of a recording's segments anew."""
    keys = select(segments.c.key).where(segments.c.recording_id == recording_id)
    for table in (spoken, spoken_texts):
        connection.execute(delete(table).where(table.c.segment_key.in_(keys)))
    chosen = select(segments.c.key, segments.c.start_ms, segments.c.end_ms).where(
        segments.c.recording_id == recording_id, segments.c.standing != Standing.REFUSED
    )
    spans = connection.execute(chosen).all()
    blob = connection.scalar(select(transcripts.c.words).where(transcripts.c.recording_id == recording_id))
    words = unpacked_words(blob) if blob else ()
    starts = [word.start_ms for word in words]
    texts, counts = [], []
    for key, start, end in spans:
        inside = words[bisect_left(starts, start) : bisect_left(starts, end)]
        texts.append({"segment_key": key, "words": [[word.text, word.start_ms, word.cue] for word in inside]})
        times = Counter(each for word in inside for each in stems(word.text))
        counts += [{"segment_key": key, "stem": each, "times": many} for each, many in times.items()]
    if texts:
        connection.execute(insert(spoken_texts), texts)
    if counts:
        connection.execute(insert(spoken), counts)


def holding(connection: Connection, word: str, within: ColumnElement[bool]) -> dict[int, int]:
    """How often a stem is said in each segment; `within` is the Viewer's predicate of the cases."""
    chosen = (
        select(spoken.c.segment_key, spoken.c.times)
        .join(segments, segments.c.key == spoken.c.segment_key)
        .join(cases, cases.c.id == segments.c.case_id)
        .where(spoken.c.stem == word, within)
    )
    return {row.segment_key: row.times for row in connection.execute(chosen).all()}


def saying(connection: Connection, words: Iterable[str], within: ColumnElement[bool]) -> dict[str, set[int]]:
    """The segments that say each of some stems; stems that nobody says are left out."""
    sought, found = sorted(words), dict[str, set[int]]()
    if not sought:
        return found
    chosen = (
        select(spoken.c.stem, spoken.c.segment_key)
        .join(segments, segments.c.key == spoken.c.segment_key)
        .join(cases, cases.c.id == segments.c.case_id)
        .where(spoken.c.stem.in_(sought), within)
    )
    for row in connection.execute(chosen).all():
        found.setdefault(row.stem, set()).add(row.segment_key)
    return found


def alike(connection: Connection, word: str, within: ColumnElement[bool], *, most: int = 3) -> list[str]:
    """Stems that are said here and differ from a mistyped one by a letter or two, nearest first."""
    from rapidfuzz.distance import DamerauLevenshtein

    allowed = 1 if len(word) < 8 else 2
    if len(word) < 5:
        return []
    # The first letter is seldom mistyped, and with it the look is a short one.
    begins = and_(spoken.c.stem >= word[0], spoken.c.stem < chr(ord(word[0]) + 1))
    long_enough = func.length(spoken.c.stem).between(len(word) - allowed, len(word) + allowed)
    words = select(spoken.c.stem).distinct().where(begins, long_enough).subquery()
    saying = spoken.alias()
    heard = exists().where(
        saying.c.stem == words.c.stem, segments.c.key == saying.c.segment_key, cases.c.id == segments.c.case_id, within
    )
    chosen = select(words.c.stem).where(heard)
    far = ((DamerauLevenshtein.distance(word, row.stem), row.stem) for row in connection.execute(chosen))
    return [near for distance, near in sorted(far) if distance <= allowed][:most]


def texts(connection: Connection, keys: Sequence[int]) -> dict[int, list[tuple[str, int, int]]]:
    """The words of some segments: text, when it is said, index of its cue."""
    chosen = select(spoken_texts).where(spoken_texts.c.segment_key.in_(keys))
    return {row.segment_key: [(t, at, cue) for t, at, cue in row.words] for row in connection.execute(chosen).all()}
