"""A first guess whether a recording is whole or edited, with reasons for a person who decides."""

from __future__ import annotations

from collections.abc import Sequence

from indexer.models.footage import Cut, KindGuess, Stretch
from indexer.timespan import clock

_SHORT_MS = 180_000
"""A whole operation takes longer than this (common practice, no source)."""
_EDGE_MS = 20_000


def guess_kind(cuts: Sequence[Cut], stretches: Sequence[Stretch], length_ms: int, missing: int) -> KindGuess:
    """Weigh what speaks for editing; what was counted is told, and the confidence stays below what a person's word has."""
    weights: list[tuple[float, str]] = []
    minutes = max(length_ms / 60_000, 0.25)
    sudden = [cut for cut in cuts if cut.kind != "dissolve"]
    melted = len(cuts) - len(sudden)
    if sudden:
        weights.append((min(2.5, 0.6 + 1.5 * len(sudden) / minutes), f"{_many(len(sudden), 'cut')} {_where(sudden)}"))
    if melted:
        weights.append((min(2.5, 0.9 + melted / 2), f"{_many(melted, 'dissolve')} {_where(_melted(cuts))}"))
    weights += _of_stretches(stretches, length_ms)
    if missing > 0.02 * length_ms / 40 and missing > 25:
        weights.append((0.4, f"about {missing} pictures are missing by its own clock"))
    speaks = sum(weight for weight, _ in weights)
    reasons = [reason for _, reason in sorted(weights, key=lambda each: -each[0])]
    if speaks >= 1:
        return KindGuess(kind="edited", confidence=round(min(0.95, 0.5 + 0.15 * speaks), 2), reasons=tuple(reasons))
    reasons = ["no cut and no title was found" if not reasons else "hardly anything speaks for editing", *reasons]
    if length_ms < _SHORT_MS:
        short = f"it lasts {clock(length_ms)}, less than an operation takes"
        return KindGuess(kind="excerpt", confidence=0.6, reasons=(*reasons, short))
    return KindGuess(kind="whole", confidence=round(0.85 - 0.3 * speaks, 2), reasons=tuple(reasons))


def _of_stretches(stretches: Sequence[Stretch], length_ms: int) -> list[tuple[float, str]]:
    weights: list[tuple[float, str]] = []
    titles = [each for each in stretches if each.kind == "title"]
    if titles:
        edge = any(each.start_ms < _EDGE_MS or each.end_ms > length_ms - _EDGE_MS for each in titles)
        where = ", ".join(f"{clock(each.start_ms)} to {clock(each.end_ms)}" for each in titles[:3])
        weights.append((1.2 if edge else 0.9, f"a title card stands from {where}"))
    slow = [each for each in stretches if each.kind == "repeated"]
    share = sum(each.end_ms - each.start_ms for each in slow) / max(1, length_ms)
    # A recorder that repeats pictures does so from start to end; slow motion only here and there.
    if 0 < share < 0.8:
        where = ", ".join(clock(each.start_ms) for each in slow[:3])
        weights.append((0.8, f"pictures repeat in a rhythm at {where}, as in slow motion"))
    frozen = [each for each in stretches if each.kind == "frozen"]
    if frozen:
        where = ", ".join(clock(each.start_ms) for each in frozen[:3])
        weights.append((0.3, f"the picture stands still at {where}"))
    empty = [each for each in stretches if each.kind in ("black", "blank")]
    within = [each for each in empty if each.start_ms > 0 and each.end_ms < length_ms - 500]
    if within:
        where = ", ".join(clock(each.start_ms) for each in within[:3])
        weights.append((0.3, f"the picture is empty at {where}"))
    return weights


def _melted(cuts: Sequence[Cut]) -> list[Cut]:
    return [cut for cut in cuts if cut.kind == "dissolve"]


def _many(count: int, what: str) -> str:
    return f"one {what}" if count == 1 else f"{count} {what}s"


def _where(cuts: Sequence[Cut]) -> str:
    named = ", ".join(clock(cut.at_ms) for cut in cuts[:3])
    return f"at {named}" if len(cuts) <= 3 else f"(the first at {named})"
