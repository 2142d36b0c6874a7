"""What leaves: covered, silenced, masked, stripped, read again; nothing of it before its consent."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

import av
import cv2
import numpy as np
import pytest
from operated import LENGTH_MS, NAME, NUMBER, Operated

from indexer.consent import Release
from indexer.errors import BadInput, NotAllowed
from indexer.leaving import clips, pictures
from indexer.leaving.clips import leave_clip
from indexer.models.pictured import Box, TextKind
from indexer.timespan import Span

ALL = Span(0, LENGTH_MS)
(_ACROSS, _UP), _DOWN = cv2.getTextSize(NUMBER, cv2.FONT_HERSHEY_SIMPLEX, 0.8, 2)
LINE = (slice(450 - _UP, 450), slice(30, 30 + _ACROSS))
"""Where the number stands in the picture."""


def _allow(operated: Operated) -> None:
    operated.library.state_consent(operated.library.owner, operated.case_id, Release.TEACHING, on=date.today())


def _leave(operated: Operated, target: Path) -> clips.Left:
    owner = operated.library.owner
    return leave_clip(operated.library, owner, operated.recording_id, ALL, Release.TEACHING, target, operated.settings)


def test_nothing_is_made_without_a_consent(operated: Operated, tmp_path: Path) -> None:
    with pytest.raises(NotAllowed):
        _leave(operated, tmp_path / "out.mp4")
    assert not (tmp_path / "out.mp4").exists()


def test_an_original_is_never_written_over(operated: Operated) -> None:
    _allow(operated)
    with pytest.raises(BadInput, match="original"):
        _leave(operated, operated.original)


def test_a_clip_that_leaves_is_clean(operated: Operated, tmp_path: Path) -> None:
    _allow(operated)
    before = hashlib.sha256(operated.original.read_bytes()).digest()
    target = tmp_path / "out" / "clip.mp4"
    left = _leave(operated, target)
    assert left.withheld == ()
    assert left.film == target and left.captions is not None
    assert not left.sound and "listened" in left.remarks[0]
    said = left.captions.read_text()
    assert "main incision" in said and "[name]" in said and "Ysolde" not in said and "Underfell" not in said
    with av.open(str(target)) as film:
        assert not film.streams.audio
        assert "creation_time" not in film.metadata and "title" not in film.metadata
        pictures_left = [frame.to_ndarray(format="gray") for frame in film.decode(video=0)]
    assert len(pictures_left) == LENGTH_MS * 25 // 1000
    assert all(float(picture[LINE].max()) < 40 for picture in pictures_left)
    # The rest of the picture is there.
    assert float(np.mean([picture[100:300].std() for picture in pictures_left])) > 10
    assert sorted(path.name for path in target.parent.iterdir()) == ["clip.mp4", "clip.vtt"]
    assert list(operated.library.work.iterdir()) == []
    assert hashlib.sha256(operated.original.read_bytes()).digest() == before


def test_sound_goes_along_once_listened_to_and_is_silent_where_a_name_is_spoken(
    operated: Operated, tmp_path: Path
) -> None:
    _allow(operated)
    operated.library.note_heard(operated.library.owner, operated.recording_id, ALL)
    left = _leave(operated, tmp_path / "clip.mp4")
    assert left.sound and left.withheld == ()
    with av.open(str(tmp_path / "clip.mp4")) as film:
        wave = np.concatenate([frame.to_ndarray()[0] for frame in film.decode(audio=0)])
    loud = [float(np.abs(wave[48 * ms : 48 * (ms + 50)]).max()) for ms in (500, 1850, 2050)]
    assert loud[0] > 0.1
    assert max(loud[1:]) < 0.01


def test_what_is_still_found_is_withheld_with_the_reasons(
    operated: Operated, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _allow(operated)
    # As if the finder had overlooked it: the other reader has to see it.
    monkeypatch.setattr(clips, "picture_texts", lambda *_: ())
    left = _leave(operated, tmp_path / "clip.mp4")
    assert left.film is None and not (tmp_path / "clip.mp4").exists() and not (tmp_path / "clip.vtt").exists()
    assert any("picture" in reason for reason in left.withheld)
    assert left.to_look_at is not None and left.to_look_at.is_relative_to(operated.library.folder)


def test_text_in_the_picture_is_found_once_and_kept(operated: Operated, monkeypatch: pytest.MonkeyPatch) -> None:
    recording = operated.library.recording(operated.library.owner, operated.recording_id)
    first = pictures.picture_texts(operated.library, recording, operated.settings)
    monkeypatch.setattr(pictures, "find_picture_text", lambda *_, **__: pytest.fail("looked for again"))
    assert pictures.picture_texts(operated.library, recording, operated.settings) == first
    assert [text.kind for text in first if NUMBER[-6:] in text.read] == [TextKind.IDENTIFIER]
    assert NAME not in repr(first)


def test_a_region_that_a_person_keeps_stays(operated: Operated) -> None:
    owner = operated.library.owner
    recording = operated.library.recording(owner, operated.recording_id)
    box = Box(left=0.6, top=0.9, right=0.9, bottom=1.0)
    with pytest.raises(BadInput, match="reason"):
        pictures.keep_region(operated.library, owner, recording, box, "")
    pictures.keep_region(operated.library, owner, recording, box, "vacuum and power of the machine")
    assert pictures.kept_regions(operated.library, recording) == (box,)
    pictures.cover_region(operated.library, owner, recording, box)
    assert pictures.kept_regions(operated.library, recording) == ()
