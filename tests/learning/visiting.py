"""A marked narration as the order and length of its steps."""

from __future__ import annotations

from itertools import groupby

from indexer.models import Visit
from tests.learning.marked import Marked


def visits(marked: Marked) -> list[Visit]:
    """The stays in each step, from the first word of one to the first word of the next."""
    runs = []
    for step, group in groupby(range(len(marked.tokens)), key=lambda index: marked.steps[index]):
        indices = list(group)
        end = indices[-1] + 1
        until = marked.tokens.starts_ms[end] if end < len(marked.tokens) else marked.tokens.ends_ms[-1]
        if step is not None:
            runs.append(Visit(step=step, length_ms=until - marked.tokens.starts_ms[indices[0]]))
    return runs
