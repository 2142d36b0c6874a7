"""Films, stills and captions: the files behind the pages, found through the catalogue, never by a path."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from flask import Blueprint, Response, request, send_file

from indexer.errors import NotFound
from indexer.models.cases import RecordingDetail
from indexer.models.timed import Cue
from indexer.timespan import webvtt_clock
from web.faults import RecordingAway
from web.ranges import settle_range
from web.viewing import the_library, the_viewer

media = Blueprint("media", __name__)

CONTENT_TYPES = {
    ".mp4": "video/mp4",
    ".m4v": "video/mp4",
    ".mov": "video/mp4",
    ".webm": "video/webm",
    ".mkv": "video/x-matroska",
}
"""By suffix of the file that plays. A QuickTime file that a browser can play is near enough to MP4 to be named so."""


@media.get("/film/<recording_id>")
def film(recording_id: str) -> Response:
    """The film of a recording, whole or the range that is asked for."""
    recording = the_library().recording(the_viewer(), recording_id)
    path = recording.film
    try:
        length = path.stat().st_size
    except OSError:
        raise RecordingAway() from None
    settle_range(request, length)
    try:
        answer = send_file(
            path,
            mimetype=CONTENT_TYPES.get(path.suffix.lower(), "application/octet-stream"),
            conditional=True,
            max_age=0,
            download_name=f"{recording.id}{path.suffix.lower()}",
        )
    except OSError:
        raise RecordingAway() from None
    answer.headers["Accept-Ranges"] = "bytes"
    answer.headers["Cache-Control"] = "no-store"
    return answer


@media.get("/still/<recording_id>/<int:at_ms>.jpg")
def still(recording_id: str, at_ms: int) -> Response:
    """A still of a recording. Raises NotFound where that moment has none."""
    recording = the_library().recording(the_viewer(), recording_id)
    path = still_path(recording, at_ms)
    if path is None or not path.is_file():
        raise NotFound("still of that moment")
    answer = send_file(path, mimetype="image/jpeg", conditional=True)
    answer.headers["Cache-Control"] = "no-store"
    return answer


@media.get("/film/<recording_id>/words.vtt")
def captions(recording_id: str) -> Response:
    """The transcript as WebVTT captions."""
    recording = the_library().recording(the_viewer(), recording_id)
    return Response("\n".join(caption_lines(recording.cues)), content_type="text/vtt; charset=utf-8")


def still_path(recording: RecordingDetail, at_ms: int) -> Path | None:
    """Where the still of a moment lies; None where the recording has none."""
    return next((still.path for still in recording.stills if still.at_ms == at_ms), None)


def caption_lines(cues: tuple[Cue, ...]) -> Iterator[str]:
    """The lines of a WebVTT file; markup in the words is shown as the words have it."""
    yield "WEBVTT"
    for cue in cues:
        if cue.end_ms > cue.start_ms and cue.text.strip():
            words = " ".join(cue.text.split()).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
            yield from ("", f"{webvtt_clock(cue.start_ms)} --> {webvtt_clock(cue.end_ms)}", words)
    yield ""
