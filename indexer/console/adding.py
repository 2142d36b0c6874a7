"""The commands that bring recordings in and look after them."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

import click

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.console import opening, proposals
from indexer.console.outcomes import tell_outcomes
from indexer.console.watching import watched
from indexer.errors import BadInput, LibraryBusy, RecordingUnreadable
from indexer.intake import cards, river
from indexer.intake.naming import title_for
from indexer.intake.pairing import transcript_beside
from indexer.models import CaseDraft, Kind
from indexer.vocabulary.vocabulary import Vocabulary


class Details(NamedTuple):
    """What was said of the recordings."""

    transcript: Path | None
    title: str | None
    kind: str
    eye: str | None
    findings: tuple[str, ...]
    operator: str | None
    release: str
    offset: float
    copies: bool
    apart: bool
    yes: bool


def add(library: Path | None, ffmpeg: str | None, paths: Sequence[Path], details: Details) -> None:
    """Add the parts of one recording, or all cases of folders; exit 1 where something failed."""
    _refuse_wrong_use(paths, details)
    chosen = opening.settings(library, ffmpeg)
    with opening.opened(chosen) as opened:
        findings = tuple(finding_id(opened.vocabulary, each) for each in details.findings)
        if paths[0].is_dir():
            drafts = _proposed(paths, chosen, details, findings)
        else:
            drafts = [_draft(paths, details, findings)]
        if not drafts:
            click.echo("Nothing was added.")
            return
        failed = run(opened, chosen, drafts)
    _leave(failed)


def run(library: Library, chosen: Settings, drafts: Sequence[CaseDraft]) -> bool:
    """Go on with what is unfinished, add the drafts, tell the outcomes; answer whether any of the drafts failed."""
    waiting = len(library.unfinished_jobs())
    with _stoppable(), watched(waiting + len(drafts)) as tell:
        outcomes = river.add_recordings(library, drafts, chosen, tell)
    earlier = outcomes[: len(outcomes) - len(drafts)]
    if earlier:
        click.echo("Went on with what an earlier start left unfinished:")
        tell_outcomes(earlier)
    return tell_outcomes(outcomes[len(earlier) :])


def resume(library: Path | None, ffmpeg: str | None, *, give_up: bool) -> None:
    """Go on with what is unfinished, or give it up."""
    chosen = opening.settings(library, ffmpeg)
    with opening.opened(chosen) as opened:
        if give_up:
            for job in river.give_up(opened):
                click.echo(f"Given up: {job.draft.title}")
            return
        if not opened.unfinished_jobs():
            click.echo("Nothing is unfinished.")
            return
        with _stoppable(), watched(len(opened.unfinished_jobs())) as tell:
            outcomes = river.go_on(opened, chosen, tell)
        failed = tell_outcomes(outcomes)
    _leave(failed)


def check(library: Path | None, ffmpeg: str | None) -> None:
    """Go on with what is unfinished, then tell all faults; exit 1 where something is broken, not where a drive is away."""
    chosen = opening.settings(library, ffmpeg)
    with opening.opened(chosen) as opened:
        try:
            if opened.unfinished_jobs():
                run(opened, chosen, [])
        except LibraryBusy as busy:
            click.echo(str(busy), err=True)
        faults = opened.check()
        for fault in faults:
            click.echo(f"{fault.what}. {fault.remedy}", err=True)
        if not faults:
            many = len(opened.cases(opened.owner))
            click.echo(f"All is well with {many} case{'' if many == 1 else 's'} in {opened.folder}.")
    _leave(any(not fault.passing for fault in faults))


def finding_id(vocabulary: Vocabulary, given: str) -> str:
    """The id of a finding that was named by its id or its label. Raises BadInput, with the nearest ones."""
    wanted = " ".join(given.casefold().replace("-", " ").split())
    names = {}
    for concept in vocabulary.of_facet("finding"):
        names[concept.id.replace("-", " ")] = names[concept.label.casefold().replace("-", " ")] = concept.id
    if wanted in names:
        return names[wanted]
    from rapidfuzz import process

    near = dict.fromkeys(names[name] for name, _, _ in process.extract(wanted, names.keys(), limit=4))
    raise BadInput(f"There is no finding {given!r}. Near to it: {', '.join(near)}.")


def _refuse_wrong_use(paths: Sequence[Path], details: Details) -> None:
    folders = [path for path in paths if path.is_dir()]
    if folders and len(folders) != len(paths):
        raise click.UsageError("Name the files of one recording, or folders; not both at once.")
    if folders and details.transcript:
        raise click.UsageError("--transcript goes with one recording; in a folder, transcripts are found by name.")
    if not folders and (details.apart or details.yes):
        raise click.UsageError("--apart and --yes go with a folder.")
    if details.release != "private" and not details.title:
        # A file's name or date may say who the patient is, and would be seen by others at once.
        raise click.UsageError(f"--release {details.release} needs a --title that does not tell who the patient is.")
    if folders and not details.yes and not sys.stdin.isatty():
        raise click.UsageError("Nobody can be asked here: add --yes to add all that is proposed.")


def _draft(paths: Sequence[Path], details: Details, findings: tuple[str, ...], title: str | None = None) -> CaseDraft:
    sources = tuple(path.expanduser().absolute() for path in paths)
    for source in sources:
        if not source.exists():
            raise RecordingUnreadable(source, "there is no such file.")
    transcript = details.transcript or transcript_beside(sources)
    return CaseDraft.model_validate(
        {
            "title": title or details.title or title_for(sources),
            "sources": sources,
            "kind": Kind(details.kind),
            "eye": details.eye,
            "findings": findings,
            "operator": details.operator,
            "release": details.release,
            "transcript": transcript.expanduser().absolute() if transcript else None,
            "offset_ms": round(details.offset * 1000),
            "copies": details.copies,
        }
    )


def _proposed(
    folders: Sequence[Path], chosen: Settings, details: Details, findings: tuple[str, ...]
) -> list[CaseDraft]:
    """The cases of all folders that the person, asked for each folder, wants added."""
    wanted: list[cards.Proposal] = []
    for folder in folders:
        card = cards.look_through(folder.absolute(), but=[chosen.library], apart=details.apart)
        proposals.show(card, folder.absolute())
        wanted += card.proposals if details.yes else proposals.confirmed(card.proposals)
    drafts = []
    for number, each in enumerate(wanted, start=1):
        numbered = f"{details.title}, {number}" if details.title and len(wanted) > 1 else details.title
        mine = details._replace(transcript=each.transcript)
        drafts.append(_draft(each.recordings, mine, findings, numbered))
    return drafts


@contextmanager
def _stoppable() -> Iterator[None]:
    """End at once when interrupted: what is cut off goes on at the next start."""
    try:
        yield
    except KeyboardInterrupt:
        click.echo("\nStopped. Go on with: scrubmark resume", err=True)
        sys.stdout.flush()
        # Without waiting for what runs beside; it ends with this process.
        os._exit(130)


def _leave(failed: bool) -> None:
    if failed:
        raise click.exceptions.Exit(1)
