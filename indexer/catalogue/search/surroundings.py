"""What lies around some passages: those before and after, the others of the case, and the words of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, select

from indexer.catalogue import wordlist
from indexer.catalogue.search.placing import Spoken
from indexer.catalogue.search.scope import Scope
from indexer.catalogue.search.weighing import Around
from indexer.catalogue.tables import segments
from indexer.models import Standing


class Surroundings:
    """Read once for all passages that are looked at closely.

    What a viewer sees of a case is the same for all its passages, so neighbours need no look of their own.
    """

    def __init__(self, connection: Connection, scope: Scope, keys: Sequence[int]) -> None:
        columns = (segments.c.key, segments.c.case_id, segments.c.recording_id, segments.c.step, segments.c.end_ms)
        cases = scope.chosen(segments.c.case_id).where(segments.c.key.in_(keys)).distinct()
        kept = segments.c.standing != Standing.REFUSED
        chosen = select(*columns).where(segments.c.case_id.in_(cases), kept)
        rows = connection.execute(chosen.order_by(segments.c.recording_id, segments.c.start_ms)).all()
        self.rows: dict[int, Any] = {row.key: row for row in rows}
        self._order = [row.key for row in rows]
        self._at = {key: index for index, key in enumerate(self._order)}
        self._of_case: dict[str, list[int]] = defaultdict(list)
        for row in rows:
            self._of_case[row.case_id].append(row.key)
        read = {key for each in keys for key in (each, self.after(each)) if key is not None}
        self._spoken = wordlist.texts(connection, sorted(read))

    def spoken(self, key: int | None) -> Spoken:
        """The words of a passage that is looked at, or follows one; none for None."""
        return self._spoken.get(key, []) if key is not None else []

    def after(self, key: int) -> int | None:
        """The passage that follows in the same recording."""
        return self._beside(key, 1)

    def around(self, key: int) -> Around:
        """Everything near a passage."""
        beside = [other for other in (self._beside(key, -1), self._beside(key, 1)) if other is not None]
        row = self.rows[key]
        return Around(row.step, row.case_id, beside, self._of_case[row.case_id])

    def _beside(self, key: int, step: int) -> int | None:
        index = self._at[key] + step
        if not 0 <= index < len(self._order):
            return None
        other = self._order[index]
        return other if self.rows[other].recording_id == self.rows[key].recording_id else None
