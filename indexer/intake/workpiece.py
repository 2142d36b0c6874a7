"""One recording on its way: its job, what the stages have left so far, and where things lie."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.intake.outcomes import Headway, Tell
from indexer.models import CaseDraft, Job, Probe


class Workpiece:
    """Keeps nothing that is not in the catalogue or on the disk: a new one goes on where an old one was cut off."""

    def __init__(self, library: Library, job: Job, settings: Settings, tell: Tell) -> None:
        self.library, self.job, self.settings, self._tell = library, job, settings, tell

    @property
    def draft(self) -> CaseDraft:
        """What was asked for."""
        return self.job.draft

    @property
    def folder(self) -> Path:
        """For what is needed until the case is published."""
        return self.library.work / self.job.id

    @property
    def media(self) -> Path:
        """For what stays."""
        return self.library.media(self.job.recording_id)

    @property
    def probes(self) -> tuple[Probe, ...]:
        """What each part is; after the stage `looked at`."""
        return tuple(Probe.model_validate(each) for each in self.job.detail["probes"])

    @property
    def paths(self) -> tuple[Path, ...]:
        """Where the parts lie: taken into the library where that was asked for and done."""
        copies = self.job.detail.get("copies")
        return tuple(self.media / name for name in copies) if copies else self.draft.sources

    @property
    def film(self) -> Path:
        """The file that plays; after the stage `film`."""
        name = self.job.detail["film"]
        return self.media / name if name else self.paths[0]

    def keep(self, stage: str, detail: Mapping[str, Any]) -> None:
        """Note that a stage is over."""
        self.job = self.library.note_stage(self.job.id, stage, detail)

    def tell(self, doing: str, share: float) -> None:
        """Say how far this recording is."""
        self._tell(Headway(self.job.id, self.draft.title, doing, share))
