"""One table of settings: name, default, help. Made once, passed down; nothing is read at import."""

from __future__ import annotations

from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field


def default_library() -> Path:
    """The folder that is used where none is named."""
    import platformdirs

    return Path(platformdirs.user_data_dir("scrubmark", appauthor=False)) / "library"


class Settings(BaseModel):
    """What can be set, with its default and what it is for."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    library: Path = Field(default_factory=default_library, description="Folder of the library.")
    host: str = Field("127.0.0.1", description="Address that the site listens on.")
    port: int = Field(8321, ge=0, le=65535, description="Port that the site listens on; 0 takes a free one.")
    ffmpeg: str | None = Field(None, description="An ffmpeg executable to use instead of the one that was found.")
    probe_seconds: float = Field(60, gt=0, description="Longest that looking at one foreign file may take.")
    probe_memory_mb: int = Field(2048, ge=256, description="Most memory that looking at one foreign file may take.")
    key_frame_gap_s: float = Field(2.0, gt=0, description="Recordings with key frames further apart get a playable copy.")
    stills_per_minute: float = Field(12, gt=0, description="Stills kept for each minute of a recording.")
