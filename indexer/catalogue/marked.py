"""What the library offers for marking; `Library` is also one of these. Every method is one transaction."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from sqlalchemy import Connection

from indexer.catalogue import marking
from indexer.catalogue.database import Database
from indexer.catalogue.reading import Reader
from indexer.consent import Viewer
from indexer.models.marking import Deed, Marking
from indexer.vocabulary.vocabulary import Vocabulary


class Marked:
    """Steps of recordings, as their operator and the owner put them right."""

    folder: Path
    vocabulary: Vocabulary
    _database: Database

    def marking(self, viewer: Viewer, recording_id: str) -> Marking:
        """The steps of a recording and what can be taken back. Raises NotFound."""
        with self._database.reading() as connection:
            return self._marking(connection, viewer, recording_id)

    def mark(self, viewer: Viewer, recording_id: str, deed: Deed) -> Marking:
        """Do something to the steps of a recording. Raises NotFound, NotAllowed, Conflict, BadInput."""
        return self._change(
            viewer, recording_id, lambda connection: marking.do(connection, viewer, recording_id, deed, self.vocabulary)
        )

    def undo(self, viewer: Viewer, recording_id: str) -> Marking:
        """Take back what the viewer did last. Raises NotFound, NotAllowed, BadInput, Conflict."""
        return self._change(viewer, recording_id, lambda connection: marking.undo(connection, viewer, recording_id))

    def redo(self, viewer: Viewer, recording_id: str) -> Marking:
        """Do again what the viewer took back last. Raises as `undo`."""
        return self._change(viewer, recording_id, lambda connection: marking.redo(connection, viewer, recording_id))

    def _change(self, viewer: Viewer, recording_id: str, change: Callable[[Connection], None]) -> Marking:
        with self._database.writing() as connection:
            change(connection)
            return self._marking(connection, viewer, recording_id)

    def _marking(self, connection: Connection, viewer: Viewer, recording_id: str) -> Marking:
        reader = Reader(connection, viewer, self.vocabulary, self.folder / "media")
        segments = reader.recording(recording_id).segments
        may, (back, on) = (
            marking.may_mark(connection, viewer, recording_id),
            marking.can(connection, viewer, recording_id),
        )
        return Marking(
            recording_id=recording_id,
            segments=segments,
            may_mark=may,
            undo=back,
            redo=on,
            lately=marking.lately(connection, recording_id) if may else (),
        )
