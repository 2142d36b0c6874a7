"""The ffmpeg executable: which one, and every run of it bounded in time."""

from __future__ import annotations

import functools
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from indexer.config import Settings
from indexer.errors import ToolFailed
from indexer.footage import bounded, leash

SILENCE_S = 600.0
"""Longest that ffmpeg may show no headway; moving a large film's index to its front takes minutes."""

# A film may be a list that names other files or addresses; only containers are opened, and only from the disk.
FILM_FORMATS = "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi,mpegts,mpeg,asf,flv,mxf,dv,ogg,wav,mp3,flac"
GUARDS = {"protocol_whitelist": "file", "format_whitelist": FILM_FORMATS}


def executable(settings: Settings) -> str:
    """The ffmpeg to use: the one that is set, else one on PATH that is newer than the packaged one, else that.

    Raises ToolFailed where there is none that runs.
    """
    if settings.ffmpeg:
        if _version(settings.ffmpeg) is None:
            raise ToolFailed("ffmpeg", f"the setting names {settings.ffmpeg}, which does not run. Correct it.")
        return settings.ffmpeg
    on_path, packaged = shutil.which("ffmpeg"), _packaged()
    candidates = [(version, each) for each in (packaged, on_path) if each and (version := _version(each)) is not None]
    if not candidates:
        raise ToolFailed("ffmpeg", "none was found. Install the package imageio-ffmpeg, or name one in the settings.")
    return max(candidates, key=lambda candidate: candidate[0])[1]


def run(
    stream: Any,
    *,
    timeout_s: float,
    settings: Settings,
    length_s: float = 0.0,
    progress: Callable[[float], None] | None = None,
) -> None:
    """Run the command that `stream` (an output of ffmpeg-python) describes, for `timeout_s` seconds at most.

    `progress` is called in this thread with how much of `length_s` seconds is done, 0 to 1.
    Raises ToolFailed with the last line that ffmpeg wrote, or that its time was up.
    """
    ended = bounded.run_bounded(
        [sys.executable, "-S", "-E", str(Path(leash.__file__)), *command(stream, settings)],
        timeout_s=timeout_s,
        silence_s=min(SILENCE_S, timeout_s),
        headway=_headway(length_s, progress),
    )
    if ended.how == "time":
        raise ToolFailed("ffmpeg", f"it was not done after {timeout_s:.0f} s and was stopped.")
    if ended.how == "silence":
        raise ToolFailed("ffmpeg", f"it made no headway for {min(SILENCE_S, timeout_s):.0f} s and was stopped.")
    if ended.code != 0:
        raise ToolFailed("ffmpeg", ended.complaint or f"it ended with code {ended.code} and said nothing.")


def command(stream: Any, settings: Settings) -> list[str]:
    """The command line that `run` runs, without the leash."""
    import ffmpeg

    quiet = stream.global_args("-nostdin", "-hide_banner", "-loglevel", "error", "-progress", "pipe:1")
    return list(ffmpeg.compile(quiet, cmd=executable(settings), overwrite_output=True))


def file_address(path: Path) -> str:
    """`path` so that no part of its name is taken for a protocol or an option."""
    return f"file:{path.absolute()}"


def _headway(length_s: float, progress: Callable[[float], None] | None) -> Callable[[bytes], bool]:
    """A reader of ffmpeg's progress lines that knows how far it was before."""
    furthest = -1

    def read(line: bytes) -> bool:
        nonlocal furthest
        name, _, value = line.decode("ascii", "replace").strip().partition("=")
        if name != "out_time_us" or not value.isdigit() or int(value) <= furthest:
            return name == "progress" and value == "end"
        furthest = int(value)
        if progress is not None and length_s > 0:
            progress(min(1.0, furthest / 1e6 / length_s))
        return True

    return read


def _packaged() -> str | None:
    import imageio_ffmpeg

    try:
        return str(imageio_ffmpeg.get_ffmpeg_exe())
    except RuntimeError:
        return None


@functools.lru_cache(maxsize=8)
def _version(path: str) -> tuple[int, ...] | None:
    """The version that an executable says it has, (0,) where it says none that can be compared, None where it fails."""
    try:
        done = subprocess.run([path, "-version"], capture_output=True, timeout=20, stdin=subprocess.DEVNULL, check=True)
    except (OSError, subprocess.SubprocessError):
        return None
    found = re.match(rb"ffmpeg version n?(\d+(?:\.\d+)+)", done.stdout)
    return tuple(int(number) for number in found[1].split(b".")) if found else (0,)
