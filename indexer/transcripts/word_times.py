"""When each word was spoken: as the file gives it, or spread over its cue by spoken length.

What is known of a word stays. Between two known times the words take room by their spoken length at the speaker's own
pace. What time is left over goes to pauses behind sentences, then into slower words, and the rest is silence behind the
last word: words are never stretched over a long one. Too little time presses the words together.

Players that stamp text by a fixed interval begin a block with the first word behind it. Where the stamps of a file
show such an interval, the words of a block end with it, and what a block lasts beyond it is silence.

Read from blocks of 40 seconds, half of the words of narrations whose true times are known lay within 0.9 s of them
(1.0 s without punctuation), nine in ten within 3.3 s; spread evenly, half lie within 1.1 to 1.25 s. From cues of five
seconds it is 0.15 s. Which pause is the long one the text does not tell, so that more of the same gains little.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate, pairwise
from math import inf
from typing import Literal, NamedTuple

from indexer.models.timed import Cue, Word
from indexer.transcripts.pieces import Piece, Token
from indexer.transcripts.speech import SENTENCE_PAUSE_MS, Speech, listen, pause_ms, spoken_length

LONGEST_PAUSE_MS = 6_000.0
MOST_STRETCH = 2.2
TOO_NARROW = 0.25
"""A cue with less than this share of the time that its words need shares the time of the next one."""
ASTRAY_MS = 1_000
"""A word's own time may lie this far outside its segment; further out it is a fault of the file."""


class Room(NamedTuple):
    """Pieces `first` up to `behind` share the time from `start_ms` to `end_ms`, with silence behind them if `loose`."""

    first: int
    behind: int
    start_ms: int
    end_ms: float
    loose: bool


class Timed(NamedTuple):
    """A word with its times, in milliseconds, before they are put in order."""

    text: str
    start_ms: float
    end_ms: float
    cue: int
    known: bool


def time_words(pieces: Sequence[Piece], timing: Literal["given", "inline"]) -> tuple[tuple[Cue, ...], tuple[Word, ...]]:
    """Cues in order of their start, and their words: in order, not overlapping, each with a start and an end.

    `timing` says where the times come from that single words bring with them.
    """
    pieces = sorted((piece for piece in pieces if any(piece.lines)), key=lambda piece: piece.start_ms)
    if not pieces:
        return (), ()
    speech = listen(pieces)
    timed = [word for room in _rooms(pieces, speech) for word in _time_room(pieces, room, speech)]
    words = tuple(_in_order(timed, timing))
    return _cues(pieces, words), words


def _rooms(pieces: Sequence[Piece], speech: Speech) -> Iterator[Room]:
    """Share out the time: to each piece its own, to the next start at most; pieces that have none share."""
    first, need_ms, told_end_ms = 0, 0.0, 0
    for place, piece in enumerate(pieces):
        need_ms += sum(speech.pace_ms * spoken_length(token.text) + pause_ms(token.text) for token in piece.tokens())
        told_end_ms = max(told_end_ms, piece.end_ms or 0)
        start_ms = _start_ms(pieces[first])
        last = place + 1 == len(pieces)
        next_ms = inf if last else _start_ms(pieces[place + 1])
        if piece.end_ms is None and not last:
            own_end_ms = inf if speech.interval_ms is None else start_ms + speech.interval_ms + piece.rough_ms / 2
        else:
            own_end_ms = told_end_ms if told_end_ms > start_ms else start_ms + need_ms
        end_ms = min(own_end_ms, next_ms)
        if last or start_ms < own_end_ms <= next_ms or end_ms - start_ms >= TOO_NARROW * need_ms:
            yield Room(first, place + 1, start_ms, end_ms, piece.end_ms is None and not last)
            first, need_ms, told_end_ms = place + 1, 0.0, 0


def _start_ms(piece: Piece) -> int:
    """Where the first word may be: a stamp that was rounded down lies half a step before it on average."""
    return piece.start_ms + piece.rough_ms // 2


def _time_room(pieces: Sequence[Piece], room: Room, speech: Speech) -> Iterator[Timed]:
    """Cut the words of a room into runs, each from a known time (or the start) to the next, and spread each."""
    tokens = [(cue, token) for cue in range(room.first, room.behind) for token in _sound(pieces[cue])]
    known = _rising([token.start_ms for _, token in tokens])
    edges = sorted({0, *known})
    start_ms: float = room.start_ms
    for begin, behind in pairwise([*edges, len(tokens)]):
        start_ms = tokens[begin][1].start_ms or 0 if begin in known else start_ms
        if behind < len(tokens):
            end_ms: float = tokens[behind][1].start_ms or 0
        else:
            end_ms = max(room.end_ms, start_ms)
        loose = room.loose or behind < len(tokens)
        yield from _time_run(tokens[begin:behind], min(start_ms, end_ms), end_ms, begin in known, loose, speech)


def _sound(piece: Piece) -> Iterator[Token]:
    """The words of a piece; times that are astray are dropped."""
    low_ms = piece.start_ms - ASTRAY_MS
    high_ms = max(piece.end_ms, piece.start_ms) + ASTRAY_MS if piece.end_ms is not None else None
    for token in piece.tokens():
        if token.start_ms is None:
            yield token
        elif token.start_ms < low_ms or (high_ms is not None and token.start_ms > high_ms):
            yield Token(token.text)
        else:
            yield token


def _rising(times_ms: Sequence[int | None]) -> set[int]:
    """The places of known times that do not run back."""
    kept: set[int] = set()
    highest_ms = -1
    for place, time_ms in enumerate(times_ms):
        if time_ms is not None and time_ms >= highest_ms:
            highest_ms = time_ms
            kept.add(place)
    return kept


def _time_run(
    run: Sequence[tuple[int, Token]], start_ms: float, end_ms: float, known: bool, loose: bool, speech: Speech
) -> Iterator[Timed]:
    """Time the words of a run, of which at most the first has a time of its own."""
    cue, first = run[0]
    if known and first.end_ms is not None:
        told_ms = min(max(first.end_ms, start_ms), max(end_ms, start_ms))
        yield Timed(first.text, start_ms, told_ms, cue, True)
        run, start_ms, known = run[1:], told_ms, False
    if len(run) == 1:
        length_ms = _lone(run[0][1].text, end_ms - start_ms, loose, speech)
        yield Timed(run[0][1].text, start_ms, start_ms + length_ms, run[0][0], known)
        return
    if not run:
        return
    lengths, pauses = _spread([token.text for _, token in run], end_ms - start_ms, loose, speech)
    for (cue, token), length_ms, pause in zip(run, lengths, pauses, strict=True):
        yield Timed(token.text, start_ms, start_ms + length_ms, cue, known)
        start_ms += length_ms + pause
        known = False


def _lone(word: str, room_ms: float, loose: bool, speech: Speech) -> float:
    """The length of a word that has a room of its own, as `_spread` has it; captions with stamps have most words so."""
    length_ms = speech.pace_ms * spoken_length(word)
    rest_ms = pause_ms(word) if loose else 0.0
    if room_ms <= length_ms + rest_ms:
        return max(0.0, room_ms) * length_ms / (length_ms + rest_ms)
    return length_ms if rest_ms >= SENTENCE_PAUSE_MS else min(room_ms - rest_ms, MOST_STRETCH * length_ms)


def _spread(words: Sequence[str], room_ms: float, loose: bool, speech: Speech) -> tuple[list[float], list[float]]:
    """The length of each word and of the pause behind it, in a room; `loose`: the last may have one too."""
    lengths = [speech.pace_ms * spoken_length(word) for word in words]
    pauses = [pause_ms(word) for word in words]
    if not loose:
        pauses[-1] = 0.0
    spoken_ms = sum(lengths)
    spare_ms = room_ms - spoken_ms - sum(pauses)
    if spare_ms < 0:
        pressed = max(0.0, room_ms) / (room_ms - spare_ms)
        return [pressed * length for length in lengths], [pressed * pause for pause in pauses]
    rests = [place for place, pause in enumerate(pauses) if pause >= SENTENCE_PAUSE_MS]
    rest_ms = min(spare_ms / len(rests), LONGEST_PAUSE_MS) if rests else 0.0
    for place in rests:
        pauses[place] += rest_ms
    stretch = min(MOST_STRETCH, 1 + (spare_ms - rest_ms * len(rests)) / spoken_ms)
    return [stretch * length for length in lengths], pauses


def _in_order(timed: Sequence[Timed], timing: Literal["given", "inline"]) -> Iterator[Word]:
    """Whole milliseconds, no word before the one ahead of it, none longer than to the next."""
    starts_ms = list(accumulate((round(word.start_ms) for word in timed), max))
    for word, start_ms, next_ms in zip(timed, starts_ms, [*starts_ms[1:], None], strict=True):
        end_ms = max(start_ms, round(word.end_ms))
        end_ms = end_ms if next_ms is None else min(end_ms, next_ms)
        how: Literal["given", "inline", "spread"] = timing if word.known else "spread"
        yield Word(text=word.text, start_ms=start_ms, end_ms=end_ms, cue=word.cue, timing=how)


def _cues(pieces: Sequence[Piece], words: Sequence[Word]) -> tuple[Cue, ...]:
    last_ms = {word.cue: word.end_ms for word in words}
    cues = []
    for place, piece in enumerate(pieces):
        end_ms = piece.end_ms
        if end_ms is None and place + 1 < len(pieces):
            end_ms = pieces[place + 1].start_ms
        if end_ms is None or end_ms <= piece.start_ms:
            end_ms = max(piece.start_ms, last_ms[place])
        text = " ".join(token.text for token in piece.tokens())
        cues.append(Cue(start_ms=piece.start_ms, end_ms=end_ms, text=text))
    return tuple(cues)
