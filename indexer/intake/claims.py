"""The same film twice: known to the library already, or claimed by another recording of the same batch."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Sequence

from indexer.catalogue.library import Library
from indexer.errors import RecordingUnreadable
from indexer.intake.workpiece import Workpiece
from indexer.models import Job, Probe


class AlreadyHere(Exception):
    """All parts of a recording belong to the case `case_id` already, published or of this batch."""

    def __init__(self, case_id: str, content_hash: str) -> None:
        super().__init__(case_id, content_hash)
        self.case_id, self.content_hash = case_id, content_hash


class Claims:
    """Which intake each content belongs to; shared by the intakes that run side by side."""

    def __init__(self, library: Library, jobs: Iterable[Job]) -> None:
        self._library, self._lock = library, threading.Lock()
        self._claimed = {
            str(probe["content_hash"]): job.case_id for job in jobs for probe in job.detail.get("probes", ())
        }

    def claim(self, piece: Workpiece, probes: Sequence[Probe]) -> None:
        """Claim what was seen. Raises AlreadyHere where all of it is taken, RecordingUnreadable where some is."""
        hashes = [probe.content_hash for probe in probes]
        with self._lock:
            holders = [self._holder(content_hash, piece.job.case_id) for content_hash in hashes]
            _refuse_twice(piece, hashes)
            taken = [holder for holder in holders if holder is not None]
            if taken and len(taken) == len(hashes):
                raise AlreadyHere(taken[0], hashes[0])
            if taken:
                place = next(number for number, holder in enumerate(holders) if holder is not None)
                raise RecordingUnreadable(
                    piece.draft.sources[place],
                    f"this part is in the library already ({_title(self._library, taken[0])}), others named with it "
                    "are not. Add the others on their own.",
                )
            self._claimed.update(dict.fromkeys(hashes, piece.job.case_id))

    def _holder(self, content_hash: str, mine: str) -> str | None:
        known = self._library.known_hash(content_hash)
        claimed = self._claimed.get(content_hash)
        return known or (claimed if claimed != mine else None)


def _refuse_twice(piece: Workpiece, hashes: Sequence[str]) -> None:
    for place, content_hash in enumerate(hashes):
        if content_hash in hashes[:place]:
            first = piece.draft.sources[hashes.index(content_hash)]
            raise RecordingUnreadable(
                piece.draft.sources[place], f"it has the same content as {first.name}. Name each part once."
            )


def _title(library: Library, case_id: str) -> str:
    found = next((case.title for case in library.cases(library.owner) if case.id == case_id), None)
    return f"“{found}”" if found else "with another of this batch"
