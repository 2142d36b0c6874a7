"""Intakes: taken up where they stood, published all at once or not at all, one at a time."""

import os
import subprocess
import sys
import textwrap
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from operations import content
from sqlalchemy import update

from indexer.catalogue import leasing
from indexer.catalogue.library import Library
from indexer.catalogue.tables import leases
from indexer.errors import Conflict, LibraryBusy, NotFound
from indexer.models import CaseDraft, JobState, Kind, Query

PASSAGES = [("capsulorhexis", "now the rhexis goes round", [("capsulorhexis", "done", "rhexis")])]


def _draft(**more: object) -> CaseDraft:
    return CaseDraft(title="Heron, third", sources=(Path("/recordings/one.mp4"),), **more)


def test_a_job_goes_on_with_what_its_stages_left(library: Library) -> None:
    job = library.begin_case(_draft(kind=Kind.EDITED, findings=("dense-nucleus",), offset_ms=-1500))
    library.note_stage(job.id, "probed", {"rate": 25.0})
    library.note_stage(job.id, "stills", {"stills": [0, 5000]})
    (found,) = library.unfinished_jobs()
    assert (found.stage, found.detail) == ("stills", {"rate": 25.0, "stills": [0, 5000]})
    assert found.draft == job.draft
    assert (found.case_id, found.recording_id) == (job.case_id, job.recording_id)


def test_nothing_of_a_job_is_seen_before_it_is_published(library: Library) -> None:
    job = library.begin_case(_draft())
    library.note_stage(job.id, "probed", {})
    assert library.cases(library.owner) == []
    with pytest.raises(NotFound):
        library.recording(library.owner, job.recording_id)
    library.publish(job.id, content(PASSAGES))
    assert [case.title for case in library.cases(library.owner)] == ["Heron, third"]
    assert library.find(library.owner, Query(text="rhexis")).total == 1


def test_publishing_again_changes_nothing(library: Library) -> None:
    job = library.begin_case(_draft())
    library.publish(job.id, content(PASSAGES))
    before = library.case(library.owner, job.case_id)
    library.publish(job.id, content(PASSAGES))
    assert library.case(library.owner, job.case_id) == before
    assert library.unfinished_jobs() == []


def test_a_job_given_up_is_kept_with_its_reason_and_can_run_again(library: Library) -> None:
    job = library.begin_case(_draft())
    library.fail_job(job.id, "The file holds no picture.")
    assert library.unfinished_jobs() == []
    assert library.jobs(JobState.FAILED)[0].reason == "The file holds no picture."
    with pytest.raises(Conflict):
        library.publish(job.id, content(PASSAGES))
    with pytest.raises(Conflict):
        library.note_stage(job.id, "probed", {})
    assert library.retry_job(job.id).state is JobState.RUNNING


def test_a_finished_job_forgets_where_the_files_lay(library: Library) -> None:
    job = library.begin_case(_draft(transcript=Path("/recordings/one.vtt")))
    library.note_stage(job.id, "probed", {"path": "/recordings/one.mp4"})
    library.publish(job.id, content(PASSAGES))
    done = library.job(job.id)
    assert (done.draft.sources, done.draft.transcript, done.detail) == ((), None, {})


def test_a_recording_is_added_to_an_existing_case(library: Library) -> None:
    first = library.begin_case(_draft())
    library.publish(first.id, content(PASSAGES))
    second = library.begin_case(_draft(case_id=first.case_id, kind=Kind.EDITED))
    library.publish(second.id, content(PASSAGES, content_hash="1" * 64))
    case = library.case(library.owner, first.case_id)
    assert [recording.kind for recording in case.recordings] == [Kind.WHOLE, Kind.EDITED]
    with pytest.raises(NotFound):
        library.begin_case(_draft(case_id="nosuchcase"))


def test_the_same_content_is_known_again(library: Library) -> None:
    job = library.begin_case(_draft())
    assert library.known_hash("a" * 64) is None
    library.publish(job.id, content(PASSAGES, content_hash="a" * 64))
    assert library.known_hash("a" * 64) == job.case_id


@pytest.mark.parametrize(
    "dies_in",
    ["_insert_case", "_insert_recording", "_insert_transcript", "_find", "_insert_tagging", "renew", "finish", "never"],
)
def test_a_kill_while_publishing_leaves_all_or_nothing(tmp_path: Path, dies_in: str) -> None:
    """The process ends as by kill -9, right after each part of the one transaction."""
    program = textwrap.dedent(
        f"""
        import os, sys
        sys.path[:0] = {[str(Path(__file__).parent), *sys.path]!r}
        from pathlib import Path
        from operations import content
        from test_jobs import PASSAGES
        from indexer.catalogue import jobs, wordlist, writing
        from indexer.catalogue.library import Library
        from indexer.models import CaseDraft
        from indexer.vocabulary.vocabulary import Vocabulary

        def dying(module, name):
            inner = getattr(module, name)
            def outer(*given):
                inner(*given)
                os._exit(9)
            setattr(module, name, outer)

        for module in (jobs, wordlist, writing):
            if hasattr(module, {dies_in!r}):
                dying(module, {dies_in!r})
        library = Library.open(Path({str(tmp_path / "library")!r}), vocabulary=Vocabulary([]))
        draft = CaseDraft(title="Heron", sources=(), findings=("dense-nucleus",))
        library.publish(library.begin_case(draft).id, content(PASSAGES, findings=["small-pupil"]))
        os._exit(0)
        """
    )
    ended = subprocess.run([sys.executable, "-c", program], check=False, capture_output=True, text=True)
    assert ended.returncode == (0 if dies_in == "never" else 9), ended.stderr
    _is_whole_or_absent(tmp_path, published=dies_in == "never")


def _is_whole_or_absent(tmp_path: Path, *, published: bool) -> None:
    from indexer.vocabulary.vocabulary import Vocabulary

    with Library.open(tmp_path / "library", vocabulary=Vocabulary([])) as library:
        cases, unfinished = library.cases(library.owner), library.unfinished_jobs()
        if not published:
            assert (cases, len(unfinished)) == ([], 1)
            library.publish(unfinished[0].id, content(PASSAGES, findings=["small-pupil"]))
            cases = library.cases(library.owner)
        assert len(cases) == 1
        case = library.case(library.owner, cases[0].id)
        assert (len(case.recordings), len(case.recordings[0].segments), len(case.recordings[0].words)) == (1, 1, 5)
        assert sorted(case.findings) == ["dense-nucleus", "small-pupil"]
        assert [fault for fault in library.check() if "listed" in fault.what or "damaged" in fault.what] == []


def test_one_intake_at_a_time(library: Library) -> None:
    with library.lease(), pytest.raises(LibraryBusy, match=str(os.getpid())), library.lease():
        pass
    with library.lease():
        pass


def test_a_lease_is_given_back_after_an_error(library: Library) -> None:
    with pytest.raises(RuntimeError), library.lease():
        raise RuntimeError
    with library.lease():
        pass


def test_the_lease_of_a_killed_process_is_taken_over(library: Library) -> None:
    program = (
        "import os; from pathlib import Path; from indexer.catalogue.library import Library;"
        "from indexer.vocabulary.vocabulary import Vocabulary;"
        f"library = Library.open(Path({str(library.folder)!r}), vocabulary=Vocabulary([]));"
        "library.lease().__enter__(); os._exit(9)"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 9
    with library.lease():
        pass


@pytest.mark.parametrize(("silent_s", "taken_over"), [(5, False), (leasing.SILENT_S + 5, True)])
def test_a_silent_lease_of_another_machine_is_taken_over(library: Library, silent_s: float, taken_over: bool) -> None:
    with library.lease():
        with library._database.writing() as connection:
            silent = datetime.now(UTC) - timedelta(seconds=silent_s)
            connection.execute(update(leases).values(host="elsewhere", beat_at=silent))
        if taken_over:
            with library.lease():
                pass
        else:
            with pytest.raises(LibraryBusy, match="elsewhere"), library.lease():
                pass


def test_a_lease_beats_while_the_work_goes_on(library: Library, monkeypatch: pytest.MonkeyPatch) -> None:
    import time

    from sqlalchemy import select

    monkeypatch.setattr(leasing, "BEAT_S", 0.02)
    with library.lease():
        seen = set()
        until = time.monotonic() + 10
        while len(seen) < 3 and time.monotonic() < until:
            with library._database.reading() as connection:
                seen.add(connection.scalar(select(leases.c.beat_at)))
            time.sleep(0.01)
        assert len(seen) == 3
