"""From recording and transcript to a case: what is added, what is told, what goes wrong and what goes on."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import numpy
import pytest

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.errors import LibraryBusy, NotFound
from indexer.intake import river
from indexer.intake.outcomes import Headway
from indexer.models import CaseDraft, JobState, Query, Standing
from tests.films import write_film
from tests.intake.conftest import Draft


def one(library: Library, settings: Settings, draft: CaseDraft) -> river.Outcome:
    return river.add_recording(library, draft, settings)


def test_a_recording_becomes_a_case_that_is_found_and_seen(library: Library, settings: Settings, draft: Draft) -> None:
    outcome = one(library, settings, draft(title="Quiet eye", eye="left", findings=("dense-nucleus",)))
    assert (outcome.how, outcome.remarks, outcome.length_ms) == ("added", (), 10_000)
    (case,) = library.cases(library.owner)
    assert (case.title, case.eye, case.findings[0]) == ("Quiet eye", "left", "dense-nucleus")
    recording = library.case(library.owner, case.id).recordings[0]
    assert (recording.film, recording.film_is_copy) == (draft().sources[0], False)
    assert len(numpy.load(library.media(recording.id) / "frames.npy")) == 250
    assert {"capsulorhexis", "hydrodissection"} <= {mention.concept for mention in recording.mentions}
    assert recording.segments and all(segment.stills for segment in recording.segments)
    assert all(still.path.is_file() for still in recording.stills)
    assert library.find(library.owner, Query(text="rhexis")).passages[0].title == "Quiet eye"


def test_parts_are_one_recording_with_a_copy_that_plays(
    library: Library, settings: Settings, draft: Draft, card: Path
) -> None:
    parts = [write_film(card / f"part{n}.mp4", 50, first=50 * n) for n in range(2)]
    outcome = one(library, settings, draft(sources=parts, said=None))
    recording = library.recording(library.owner, outcome.recording_id or "")
    assert (recording.length_ms, [part.start_ms for part in recording.parts]) == (4000, [0, 2000])
    assert recording.film == library.media(recording.id) / "film.mp4" and recording.film_there
    assert recording.film_reasons == ("it is in 2 part files",)


def test_a_recording_without_a_transcript_is_welcome(library: Library, settings: Settings, draft: Draft) -> None:
    outcome = one(library, settings, draft(said=None))
    assert (outcome.how, outcome.steps, outcome.failed) == ("added", 0, False)


def test_times_of_the_transcript_are_moved_by_the_offset(library: Library, settings: Settings, draft: Draft) -> None:
    straight = one(library, settings, draft("a.mp4"))
    moved = one(library, settings, draft("b.mp4", offset_ms=-2000))
    first, second = (library.recording(library.owner, each.recording_id or "") for each in (straight, moved))
    assert first.words[-1].start_ms - second.words[-1].start_ms == 2000
    assert second.words[0].end_ms > 0 and second.words[0].start_ms >= 0
    assert "outside the film" in moved.remarks[0]


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("WEBVTT\n\n99:00.000 --> 98:00.000\nbackwards\n", "vtt"),
        ("\0\1\2nothing that is timed", "vtt"),
        (None, "cannot be opened"),
        ("WEBVTT\n\n10:00.000 --> 10:05.000\nnow the rhexis\n", "outside the film"),
    ],
)
def test_a_film_is_not_lost_for_its_transcript(
    library: Library, settings: Settings, draft: Draft, said: str | None, told: str
) -> None:
    asked = draft(said=said, transcript=Path("/nowhere/words.vtt")) if said is None else draft(said=said)
    outcome = one(library, settings, asked)
    assert (outcome.how, outcome.failed) == ("added", True)
    assert told in outcome.transcript_fault
    assert outcome.transcript_fault in library.recording(library.owner, outcome.recording_id or "").remarks[0]


def test_the_same_film_twice_is_noticed(library: Library, settings: Settings, draft: Draft, card: Path) -> None:
    first = one(library, settings, draft())
    shutil.copy(card / "one.mp4", card / "other name.mp4")
    again = one(library, settings, draft("other name.mp4"))
    assert (again.how, again.case_id, again.failed) == ("known", first.case_id, False)
    assert len(library.cases(library.owner)) == 1 and library.unfinished_jobs() == []


def test_the_same_film_twice_in_a_batch_is_added_once(
    library: Library, settings: Settings, draft: Draft, card: Path
) -> None:
    first = draft()
    shutil.copy(card / "one.mp4", card / "copy.mp4")
    outcomes = river.add_recordings(library, [first, draft("copy.mp4")], settings)
    assert sorted(outcome.how for outcome in outcomes) == ["added", "known"]


def test_a_part_that_is_known_while_others_are_not_is_refused(
    library: Library, settings: Settings, draft: Draft
) -> None:
    one(library, settings, draft(title="Heron"))
    other = draft("two.mp4")
    outcome = one(library, settings, draft("three.mp4", sources=(*draft().sources, *other.sources)))
    assert outcome.how == "refused" and "“Heron”" in outcome.reason


def test_a_part_named_twice_is_refused(library: Library, settings: Settings, draft: Draft) -> None:
    film = draft().sources[0]
    outcome = one(library, settings, draft(sources=(film, film)))
    assert outcome.how == "refused" and "same content" in outcome.reason


def test_words_that_come_later_are_given_to_the_known_recording(
    library: Library, settings: Settings, draft: Draft
) -> None:
    bare = one(library, settings, draft(said=None))
    worded = one(library, settings, draft())
    assert (worded.how, worded.recording_id, worded.steps > 0) == ("worded", bare.recording_id, True)
    assert library.find(library.owner, Query(text="rhexis")).total > 0
    assert one(library, settings, draft()).how == "known"


def test_what_is_broken_is_refused_and_the_rest_goes_on(
    library: Library, settings: Settings, draft: Draft, card: Path
) -> None:
    (card / "empty.mp4").touch()
    (card / "noise.mp4").write_bytes(os.urandom(5000))
    names = ("empty.mp4", "one.mp4", "noise.mp4", "two.mp4")
    drafts = [*(draft(name) for name in names), draft(sources=(card / "never.mp4",))]
    outcomes = river.add_recordings(library, drafts, settings)
    assert [outcome.how for outcome in outcomes] == ["refused", "added", "refused", "added", "refused"]
    assert all(outcome.reason and "\n" not in outcome.reason for outcome in outcomes if outcome.failed)
    assert sorted(case.title for case in library.cases(library.owner)) == ["one.mp4", "two.mp4"]
    assert list(library.work.iterdir()) == [] and len(list((library.folder / "media").iterdir())) == 2


def test_a_fault_of_ours_stops_neither_the_others_nor_the_next_start(
    library: Library, settings: Settings, draft: Draft, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaking(*_given: object) -> None:
        raise ZeroDivisionError("by design")

    monkeypatch.setattr("indexer.tagging.tag", breaking)
    outcomes = river.add_recordings(library, [draft("one.mp4"), draft("two.mp4", said=None)], settings)
    assert [outcome.how for outcome in outcomes] == ["refused", "added"]
    assert "ZeroDivisionError: by design" in outcomes[0].reason
    assert river.go_on(library, settings) == []


def test_an_unknown_finding_is_told_before_anything_begins(library: Library, settings: Settings, draft: Draft) -> None:
    with pytest.raises(NotFound, match="thirsty-iris"):
        one(library, settings, draft(findings=("thirsty-iris",)))
    assert library.jobs() == []


def test_originals_are_taken_in_under_plain_numbers(library: Library, settings: Settings, draft: Draft) -> None:
    asked = draft("name of somebody.mp4", copies=True)
    recording = library.recording(library.owner, one(library, settings, asked).recording_id or "")
    assert recording.parts[0].path == library.media(recording.id) / "part-1.mp4"
    assert recording.parts[0].path.read_bytes() == asked.sources[0].read_bytes()
    asked.sources[0].unlink()
    assert library.recording(library.owner, recording.id).film_there


def test_a_drive_that_is_away_leaves_search_and_stills(
    library: Library, settings: Settings, draft: Draft, card: Path
) -> None:
    outcome = one(library, settings, draft())
    card.rename(card.with_name("away"))
    recording = library.recording(library.owner, outcome.recording_id or "")
    assert not recording.film_there and recording.stills[0].path.is_file()
    assert library.find(library.owner, Query(text="rhexis")).total > 0
    assert "Connect its drive" in library.check()[0].remedy


def test_an_intake_waits_for_its_drive(library: Library, settings: Settings, draft: Draft, card: Path) -> None:
    library.begin_case(draft())
    card.rename(card.with_name("away"))
    (waiting,) = river.go_on(library, settings)
    assert waiting.how == "waiting" and "scrubmark resume" in waiting.reason
    card.with_name("away").rename(card)
    assert [outcome.how for outcome in river.go_on(library, settings)] == ["added"]


def test_a_full_drive_stops_the_intake_and_the_next_start_goes_on(
    library: Library, settings: Settings, draft: Draft, monkeypatch: pytest.MonkeyPatch
) -> None:
    usage = shutil.disk_usage(library.folder)

    def full(*_given: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("indexer.intake.copying.write_whole", full)
        patch.setattr("shutil.disk_usage", lambda _path: usage._replace(free=0))
        assert one(library, settings, draft()).how == "stopped"
    assert [outcome.how for outcome in river.go_on(library, settings)] == ["added"]


def test_a_stage_whose_files_are_gone_is_done_again(
    library: Library, settings: Settings, draft: Draft, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(Library, "publish", lambda *_given: (_ for _ in ()).throw(KeyboardInterrupt))
        with pytest.raises(KeyboardInterrupt):
            one(library, settings, draft())
    (job,) = library.unfinished_jobs()
    assert job.stage == "stills"
    shutil.rmtree(library.work / job.id)
    shutil.rmtree(library.media(job.recording_id))
    assert [outcome.how for outcome in river.go_on(library, settings)] == ["added"]
    assert library.check() == []


def test_added_again_with_other_details_the_newer_ones_count(
    library: Library, settings: Settings, draft: Draft
) -> None:
    library.begin_case(draft(title="Wrong"))
    outcomes = river.add_recordings(library, [draft(title="Right")], settings)
    assert [outcome.title for outcome in outcomes] == ["Right"]
    assert [case.title for case in library.cases(library.owner)] == ["Right"]


def test_what_is_unfinished_can_be_given_up(library: Library, settings: Settings, draft: Draft) -> None:
    library.begin_case(draft())
    assert [job.draft.title for job in river.give_up(library)] == ["one.mp4"]
    assert river.go_on(library, settings) == [] and library.jobs(JobState.FAILED)[0].reason == "Given up."


def test_two_intakes_at_once_are_refused(library: Library, settings: Settings, draft: Draft) -> None:
    with library.lease(), pytest.raises(LibraryBusy):
        one(library, settings, draft())


def test_headway_never_goes_back(library: Library, settings: Settings, draft: Draft, card: Path) -> None:
    told: list[Headway] = []
    film = write_film(card / "sparse.mkv", 100, gop=100)
    river.add_recording(library, draft(sources=(film,), said=None), settings, told.append)
    shares = [headway.share for headway in told]
    assert shares == sorted(shares) and shares[-1] == 1.0
    assert any("copy" in headway.doing for headway in told)


def test_stated_findings_and_consent_are_the_owners_word(library: Library, settings: Settings, draft: Draft) -> None:
    outcome = one(library, settings, draft(findings=("small-pupil",), release="teaching", operator="Heron"))
    case = library.case(library.owner, outcome.case_id or "")
    stated = [finding for finding in case.finding_views if finding.standing is Standing.ACCEPTED]
    assert [finding.concept for finding in stated] == ["small-pupil"]
    assert (case.release, case.operator, case.consents[0].evidence) == ("teaching", "Heron", "")
