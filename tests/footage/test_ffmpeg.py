"""Which ffmpeg is used, and that no run of it outlives its time or its asker."""

import os
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path

import ffmpeg as graph
import imageio_ffmpeg
import pytest

from indexer.config import Settings
from indexer.errors import ToolFailed
from indexer.footage import ffmpeg

PACKAGED = imageio_ffmpeg.get_ffmpeg_exe()
posix = pytest.mark.skipif(os.name != "posix", reason="needs scripts and signals of POSIX")


def pretend_ffmpeg(folder: Path, version: str) -> Path:
    folder.mkdir(exist_ok=True)
    program = folder / "ffmpeg"
    program.write_text(f"#!/bin/sh\necho 'ffmpeg version {version} Copyright (c) the developers'\n")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    return program


def endless(target: str = "-") -> object:
    """A film that is never done, made in real time."""
    return graph.input("testsrc=s=64x48", f="lavfi", re=None).output(target, f="null")


@posix
@pytest.mark.parametrize(
    ("version", "taken"),
    [("999.0.1-static", True), ("n999.1", True), ("3.4.8-0ubuntu0.2", False), ("N-109542-g0abcdef", False)],
)
def test_the_one_on_path_is_used_only_where_it_is_newer(
    version: str, taken: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = pretend_ffmpeg(tmp_path / version, version)
    monkeypatch.setenv("PATH", f"{program.parent}{os.pathsep}/usr/bin{os.pathsep}/bin")
    assert ffmpeg.executable(Settings(library=tmp_path)) == (str(program) if taken else PACKAGED)


@posix
def test_the_one_that_is_set_goes_first(tmp_path: Path) -> None:
    program = pretend_ffmpeg(tmp_path / "old", "1.0")
    assert ffmpeg.executable(Settings(library=tmp_path, ffmpeg=str(program))) == str(program)


def test_a_setting_that_names_nothing_is_told(tmp_path: Path) -> None:
    with pytest.raises(ToolFailed, match="does not run"):
        ffmpeg.executable(Settings(library=tmp_path, ffmpeg=str(tmp_path / "nowhere")))


def test_a_failure_carries_the_last_line_that_ffmpeg_wrote(tmp_path: Path) -> None:
    film = graph.input(str(tmp_path / "missing.mp4")).output(str(tmp_path / "out.mp4"))
    with pytest.raises(ToolFailed, match="No such file"):
        ffmpeg.run(film, timeout_s=30, settings=Settings(library=tmp_path))


def test_a_run_is_ended_when_its_time_is_up(tmp_path: Path) -> None:
    begun = time.monotonic()
    with pytest.raises(ToolFailed, match="not done after 1 s"):
        ffmpeg.run(endless(), timeout_s=1, settings=Settings(library=tmp_path))
    assert time.monotonic() - begun < 10


def test_progress_rises_to_the_end(tmp_path: Path) -> None:
    told: list[float] = []
    film = graph.input("testsrc=s=64x48:d=2", f="lavfi", re=None).output(str(tmp_path / "out.mp4"))
    ffmpeg.run(film, timeout_s=30, settings=Settings(library=tmp_path), length_s=2, progress=told.append)
    assert told == sorted(told) and 0 <= told[0] < 1 and told[-1] >= 0.9


def test_a_file_that_names_others_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "secret.txt").write_text("not for others\n")
    playlist = tmp_path / "film.mp4"
    playlist.write_text(f"#EXTM3U\n#EXTINF:2,\nfile://{tmp_path}/secret.txt\n#EXT-X-ENDLIST\n")
    film = graph.input(ffmpeg.file_address(playlist), **ffmpeg.GUARDS).output(str(tmp_path / "out.mp4"))
    with pytest.raises(ToolFailed):
        ffmpeg.run(film, timeout_s=30, settings=Settings(library=tmp_path))


@posix
def test_a_run_ends_with_the_one_who_asked_for_it(tmp_path: Path) -> None:
    mark = f"{tmp_path.name}-{os.getpid()}"
    asker = subprocess.Popen(
        [
            sys.executable,
            "-c",
            "import sys\n"
            "from tests.footage.test_ffmpeg import endless\n"
            "from indexer.config import Settings\n"
            "from indexer.footage import ffmpeg\n"
            "from pathlib import Path\n"
            "ffmpeg.run(endless(sys.argv[1]), timeout_s=120, settings=Settings(library=Path(sys.argv[2])))\n",
            mark,
            str(tmp_path),
        ],
        env={**os.environ, "PYTHONPATH": str(Path(ffmpeg.__file__).parents[2])},
    )
    assert wait_until(lambda: running(mark, besides=asker.pid)), "ffmpeg never started"
    asker.send_signal(signal.SIGKILL)
    asker.wait()
    assert wait_until(lambda: not running(mark, besides=asker.pid)), "ffmpeg goes on alone"


def running(mark: str, besides: int) -> bool:
    listing = subprocess.run(["ps", "-ww", "-eo", "pid,args"], capture_output=True, text=True, check=True).stdout
    return any(mark in line and "lavfi" in line and line.split()[0] != str(besides) for line in listing.split("\n"))


def wait_until(holds: object, seconds: float = 20) -> bool:
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        if holds():  # type: ignore[operator]
            return True
        time.sleep(0.1)
    return False
