"""Recordings through all stages into the library: one, many at once, and what an earlier start left unfinished."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.errors import Conflict, NotFound, ScrubmarkError
from indexer.intake import copying, later
from indexer.intake.claims import AlreadyHere, Claims
from indexer.intake.outcomes import Outcome, Tell, tell_nobody
from indexer.intake.stages import content_of, stages
from indexer.intake.workpiece import Workpiece
from indexer.models import CaseDraft, Job, JobState

SIDE_BY_SIDE = 2
"""Recordings worked on at once. The heavy work runs in processes of its own, so threads are enough to keep two busy."""
LEAST_FREE_BYTES = 64 * 2**20


def add_recording(library: Library, draft: CaseDraft, settings: Settings, tell: Tell = tell_nobody) -> Outcome:
    """Add one recording, after those that an earlier start left unfinished. Raises LibraryBusy, BadInput."""
    return add_recordings(library, [draft], settings, tell)[-1]


def add_recordings(
    library: Library, drafts: Sequence[CaseDraft], settings: Settings, tell: Tell = tell_nobody
) -> list[Outcome]:
    """Go on with what was left unfinished, then add these; one outcome each, in that order.

    What goes wrong with one recording is told in its outcome, and the others go on. Raises LibraryBusy where another
    intake is at work, and BadInput for a finding that the vocabulary does not know.
    """
    for draft in drafts:
        check_findings(library, draft)
    with library.lease():
        sweep(library)
        refused = {place: outcome for place, draft in enumerate(drafts) if (outcome := _missing(draft))}
        begun = {place: _begin(library, draft) for place, draft in enumerate(drafts) if place not in refused}
        unfinished = library.unfinished_jobs()
        mine = {job.id for job in begun.values()}
        earlier = [job for job in unfinished if job.id not in mine]
        ended = _run_all(library, [*earlier, *begun.values()], settings, tell)
        new = [refused[place] if place in refused else ended[begun[place].id] for place in range(len(drafts))]
        return [ended[job.id] for job in earlier] + new


def go_on(library: Library, settings: Settings, tell: Tell = tell_nobody) -> list[Outcome]:
    """Go on with what an earlier start left unfinished. Raises LibraryBusy."""
    return add_recordings(library, [], settings, tell) if library.unfinished_jobs() else []


def give_up(library: Library) -> list[Job]:
    """Give up all that is unfinished, for instance because its drive is gone for good. Raises LibraryBusy."""
    with library.lease():
        jobs = library.unfinished_jobs()
        for job in jobs:
            library.fail_job(job.id, "Given up.")
        sweep(library)
        return jobs


def check_findings(library: Library, draft: CaseDraft) -> None:
    """Raise NotFound for the first stated finding that the vocabulary does not have as one."""
    for finding in draft.findings:
        if finding not in library.vocabulary or library.vocabulary[finding].facet != "finding":
            raise NotFound(f"finding {finding!r} in the vocabulary")


def sweep(library: Library) -> None:
    """Take away what killed and failed intakes left; only while holding the lease."""
    going_on = {job.id: job for job in library.unfinished_jobs()}
    for left in library.work.iterdir():
        if left.name not in going_on:
            _remove(left)
    for job in library.jobs(JobState.FAILED):
        _remove(library.media(job.recording_id))
    for job in going_on.values():
        for folder in (library.media(job.recording_id), library.work / job.id):
            copying.sweep_unfinished(folder)


def _remove(path: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path, ignore_errors=True)
    else:
        path.unlink(missing_ok=True)


def _missing(draft: CaseDraft) -> Outcome | None:
    """The outcome for a draft of which a file is not there; nothing is begun for it."""
    for path in draft.sources:
        if not path.exists():
            return Outcome(how="refused", title=draft.title, reason=f"{path}: there is no such file.")
    return None


def _begin(library: Library, draft: CaseDraft) -> Job:
    """A new job, or the unfinished one for the same; one that was asked for otherwise before is given up."""
    for job in library.unfinished_jobs():
        if job.draft == draft:
            return job
        if job.draft.sources == draft.sources:
            library.fail_job(job.id, "Added again with other details.")
            _remove(library.media(job.recording_id))
            _remove(library.work / job.id)
    return library.begin_case(draft)


def _run_all(library: Library, jobs: Sequence[Job], settings: Settings, tell: Tell) -> dict[str, Outcome]:
    unique = {job.id: job for job in jobs}
    claims = Claims(library, unique.values())
    pool = ThreadPoolExecutor(SIDE_BY_SIDE, thread_name_prefix="intake")
    try:
        found = pool.map(lambda job: _run(Workpiece(library, job, settings, tell), claims), unique.values())
        return dict(zip(unique, found, strict=True))
    finally:
        # Not waited for: who interrupts means now, and what is cut off goes on at the next start.
        pool.shutdown(wait=False, cancel_futures=True)


def _run(piece: Workpiece, claims: Claims) -> Outcome:
    """One recording through all stages; whatever happens becomes an outcome."""
    try:
        for stage in stages(claims):
            if not stage.holds(piece):
                piece.tell(stage.doing, stage.begins_at)
                piece.keep(stage.name, stage.do(piece))
        content = content_of(piece)
        piece.library.publish(piece.job.id, content)
    except AlreadyHere as known:
        return later.meet(piece, known, give_up=lambda reason: _fail(piece, reason))
    except (ScrubmarkError, OSError) as error:
        return _put_off(piece) or _refuse(piece, str(error))
    except Exception as error:
        # A fault of ours in one recording must neither take the others down nor meet every later start again.
        return _refuse(piece, f"an error within Scrubmark, please report it: {type(error).__name__}: {error}")
    _remove(piece.folder)
    piece.tell("done", 1.0)
    return Outcome(
        how="added",
        title=piece.draft.title,
        case_id=piece.job.case_id,
        recording_id=piece.job.recording_id,
        remarks=content.remarks,
        transcript_fault=piece.job.detail["transcript_fault"],
        length_ms=content.length_ms,
        steps=len(content.tagging.segments) if content.tagging else 0,
        terms=len(content.tagging.mentions) if content.tagging else 0,
    )


def _put_off(piece: Workpiece) -> Outcome | None:
    """The outcome where it is not the recording that is at fault, and a later start can go on; else None."""
    title, folder = piece.draft.title, piece.library.folder
    if away := next((path for path in piece.paths if not path.exists()), None):
        piece.tell("waiting", 1.0)
        reason = f"{away} is not there now. Connect its drive, then: scrubmark resume"
        return Outcome(how="waiting", title=title, reason=reason)
    if shutil.disk_usage(folder).free < LEAST_FREE_BYTES:
        piece.tell("waiting", 1.0)
        return Outcome(
            how="stopped", title=title, reason=f"No space is left at {folder}. Make room, then: scrubmark resume"
        )
    return None


def _refuse(piece: Workpiece, reason: str) -> Outcome:
    _fail(piece, reason)
    return Outcome(how="refused", title=piece.draft.title, reason=reason)


def _fail(piece: Workpiece, reason: str) -> None:
    with contextlib.suppress(Conflict):
        piece.library.fail_job(piece.job.id, reason)
    _remove(piece.media)
    _remove(piece.folder)
    piece.tell("done", 1.0)
