"""The library: one folder with its catalogue and its media, and all that is done with them.

This module only says what there is; each concern has its own beside it: `jobs`, `lease`, `writing`, `reading`,
`deciding`, `consents`, `persons`, `search` and `checking`. Every method is one transaction.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from datetime import date
from pathlib import Path
from types import TracebackType
from typing import Any

from sqlalchemy import Connection

from indexer.catalogue import (
    checking,
    consents,
    deciding,
    experience,
    folder,
    identifying,
    jobs,
    leasing,
    logged,
    patients,
    persons,
    restoring,
    revision,
    saving,
    signing,
    step_times,
    surveying,
    words_later,
    writing,
)
from indexer.catalogue.database import Database
from indexer.catalogue.marked import Marked
from indexer.catalogue.reading import Reader
from indexer.catalogue.search import answering
from indexer.catalogue.search.tally import Tally
from indexer.consent import Release, Role, Viewer
from indexer.errors import NotAllowed
from indexer.models import (
    Answer,
    CaseContent,
    CaseDetail,
    CaseDraft,
    CaseSummary,
    Decision,
    DecisionEvent,
    Given,
    Job,
    JobState,
    LibraryFault,
    PersonView,
    Query,
    RecordingDetail,
    Segment,
    Survey,
    Tagging,
    Transcript,
)
from indexer.models.identifying import DecidedIdentifier, IdentifierDecision, KnownName, ListedName
from indexer.models.timing import TimedOperation, TimesAsked
from indexer.timespan import Span
from indexer.vocabulary.vocabulary import Vocabulary


class Library(Marked):
    """An open library. Safe to share between threads; close it, or use it as a context."""

    def __init__(self, folder: Path, database: Database, vocabulary: Vocabulary) -> None:
        self.folder, self.vocabulary = folder, vocabulary
        self._database, self._tally = database, Tally(vocabulary)
        with database.writing() as connection:
            self.owner: Viewer = persons.owner(connection)

    @classmethod
    def open(cls, at: Path, *, vocabulary: Vocabulary) -> Library:
        """Open the library of a folder, made where there is none (closed to others) and migrated.

        Raises LibraryUnusable with one clear reason.
        """
        catalogue = folder.prepare(at)
        return cls(catalogue.parent, Database.open(catalogue.parent, catalogue), vocabulary)

    def close(self) -> None:
        """Let go of the database."""
        self._database.close()

    def __enter__(self) -> Library:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.close()

    # Where things lie

    def media(self, recording_id: str) -> Path:
        """The folder of what was made from a recording: film, frame times, stills. It may not be there yet."""
        return self.folder / "media" / recording_id

    @property
    def work(self) -> Path:
        """A folder for temporary files; whatever is in it while no intake holds the lease may be deleted."""
        return self.folder / "work"

    # Persons

    def person(self, pseudonym: str, *, roles: Iterable[Role] = ()) -> Viewer:
        """The person of that pseudonym, made where there is none; roles are added to those held."""
        with self._database.writing() as connection:
            return persons.person(connection, pseudonym, roles)

    def known_person(self, pseudonym: str) -> Viewer | None:
        """The person of that pseudonym, or None."""
        with self._database.reading() as connection:
            return persons.known(connection, pseudonym)

    def persons(self) -> list[PersonView]:
        """All who work here."""
        with self._database.reading() as connection:
            return persons.everybody(connection)

    def add_person(self, viewer: Viewer, pseudonym: str, roles: Iterable[Role], password: str | None) -> Viewer:
        """One more person, all at once. Raises NotAllowed, BadInput."""
        self._needs_owner(viewer)
        with self._database.writing() as connection:
            made = persons.person(connection, pseudonym, roles)
            if password is not None:
                signing.set_password(connection, made.pseudonym, password)
            return made

    def set_roles(self, viewer: Viewer, pseudonym: str, roles: Iterable[Role]) -> None:
        """Give somebody these roles and no others. Raises NotAllowed, NotFound, BadInput."""
        self._needs_owner(viewer)
        with self._database.writing() as connection:
            signing.set_roles(connection, pseudonym, roles)

    def set_password(self, viewer: Viewer, pseudonym: str, password: str | None) -> None:
        """Let somebody sign in with a password, or with None no more. Raises NotAllowed, NotFound, BadInput."""
        self._needs_owner(viewer)
        with self._database.writing() as connection:
            signing.set_password(connection, pseudonym, password)

    def password_fits(self, pseudonym: str, password: str) -> Viewer | None:
        """The person of that pseudonym where the password is theirs. Slow on purpose."""
        with self._database.reading() as connection:
            kept = signing.stored_hash(connection, pseudonym)
        return self.known_person(pseudonym) if signing.fits(kept, password) else None

    def sign_in(self, viewer: Viewer) -> str:
        """Sign somebody in who has shown who they are; return the key for the browser."""
        with self._database.writing() as connection:
            return signing.begin(connection, viewer)

    def sign_out(self, key: str) -> None:
        """End what a key opens."""
        with self._database.writing() as connection:
            signing.end(connection, key)

    def signed_in(self, key: str) -> Viewer | None:
        """Who signed in with a key, with today's roles; None where it has ended."""
        with self._database.reading() as connection:
            return signing.whose(connection, key)

    def _needs_owner(self, viewer: Viewer) -> None:
        if not viewer.owns:
            raise NotAllowed("Changing who works here", "it is for the owner of the library.")

    # Intake (the owner's)

    def begin_case(self, draft: CaseDraft) -> Job:
        """Begin an intake; nothing of it is seen before `publish`. Raises NotFound for an unknown `draft.case_id`."""
        with self._database.writing() as connection:
            return jobs.begin(connection, draft)

    def job(self, job_id: str) -> Job:
        """One intake. Raises NotFound."""
        with self._database.reading() as connection:
            return jobs.job(connection, job_id)

    def unfinished_jobs(self) -> list[Job]:
        """Intakes that were begun and neither published nor given up, oldest first."""
        return self.jobs(JobState.RUNNING)

    def jobs(self, *states: JobState) -> list[Job]:
        """Intakes in these states (all without any), oldest first."""
        with self._database.reading() as connection:
            return jobs.listed(connection, *(states or tuple(JobState)))

    def note_stage(self, job_id: str, stage: str, detail: Mapping[str, Any]) -> Job:
        """Keep that a stage is over and what it leaves (JSON, added to what is there). Conflict if not running."""
        with self._database.writing() as connection:
            return jobs.note(connection, job_id, stage, detail)

    def publish(self, job_id: str, content: CaseContent) -> None:
        """Make the case, all at once; a second time does nothing. Raises Conflict for a job given up."""
        with self._database.writing() as connection:
            writing.publish(connection, job_id, content, self.owner)

    def publish_log(self, draft: CaseDraft, content: CaseContent, log_id: str) -> str | None:
        """Make a case of an operation that was only logged; return its id, or None where it is here already."""
        with self._database.writing() as connection:
            return logged.publish(connection, draft, content, log_id, self.owner)

    def fail_job(self, job_id: str, reason: str) -> None:
        """Give an intake up, with the reason for a person."""
        with self._database.writing() as connection:
            jobs.fail(connection, job_id, reason)

    def retry_job(self, job_id: str) -> Job:
        """Let a failed intake run once more from where it stood."""
        with self._database.writing() as connection:
            return jobs.again(connection, job_id)

    def known_hash(self, content_hash: str) -> str | None:
        """The id of a case that has a file with this content, or None."""
        with self._database.reading() as connection:
            return jobs.case_of_hash(connection, content_hash)

    def lease(self) -> AbstractContextManager[None]:
        """Be the one intake at work. Raises LibraryBusy; a lease of a dead process is taken over."""
        return leasing.lease(self._database)

    def retag(self, recording_id: str, tagging: Tagging) -> None:
        """Replace all proposals of a recording; what people decided stays. Raises NotFound."""
        with self._database.writing() as connection:
            writing.retag(connection, recording_id, tagging)

    def unworded(self, content_hash: str) -> str | None:
        """The id of a recording that begins with a file of this content and has no transcript yet, or None."""
        with self._database.reading() as connection:
            return words_later.unworded(connection, content_hash)

    def put_words(
        self, recording_id: str, transcript: Transcript, name: str, original: bytes, tagging: Tagging
    ) -> None:
        """Give a recording without words its transcript and tagging. Raises NotFound, Conflict."""
        with self._database.writing() as connection:
            words_later.put(connection, recording_id, transcript, name, original, tagging)

    def given(self, recording_id: str) -> Given:
        """What people decided about a recording and others by its operator, for the tagger to take as true."""
        with self._database.reading() as connection:
            return experience.with_experience(connection, recording_id, deciding.given(connection, recording_id))

    # Reading

    def cases(self, viewer: Viewer) -> list[CaseSummary]:
        """All cases that the viewer may see, newest first."""
        with self._database.reading() as connection:
            return self._reader(connection, viewer).summaries()

    def case(self, viewer: Viewer, case_id: str) -> CaseDetail:
        """One case with its recordings. Raises NotFound."""
        with self._database.reading() as connection:
            return self._reader(connection, viewer).case(case_id)

    def recording(self, viewer: Viewer, recording_id: str) -> RecordingDetail:
        """One recording. Raises NotFound."""
        with self._database.reading() as connection:
            return self._reader(connection, viewer).recording(recording_id)

    def find(self, viewer: Viewer, query: Query) -> Answer:
        """Passages that answer a query, best first, with counts for every facet over all of them."""
        with self._database.reading() as connection:
            return answering.find(connection, viewer, query, self.vocabulary, self._tally, self.folder / "media")

    def step_times(self, viewer: Viewer, asked: TimesAsked) -> list[TimedOperation]:
        """The steps of the viewer's own operations (the owner's: of all) with their times, oldest first."""
        with self._database.reading() as connection:
            return step_times.read(connection, viewer, asked, self.vocabulary)

    # Survey of every frame

    def survey(self, viewer: Viewer, recording_id: str) -> Survey | None:
        """Cuts, empty stretches, overlays and the guess (no series, no eye), or None without one. Raises NotFound."""
        with self._database.reading() as connection:
            length_ms = self._reader(connection, viewer).recording(recording_id).length_ms
            return surveying.survey_of(connection, recording_id, length_ms)

    def put_survey(
        self, recording_id: str, survey: Survey, stills_ms: tuple[int, ...], remarks: tuple[str, ...]
    ) -> None:
        """Keep a survey made after the intake, with all stills that there are now. Raises NotFound."""
        with self._database.writing() as connection:
            surveying.put_later(connection, recording_id, survey, stills_ms, remarks)

    def revision(self) -> int:
        """A number that goes up with every change of marks: what was made from them before is old then."""
        with self._database.reading() as connection:
            return revision.current(connection)

    def _reader(self, connection: Any, viewer: Viewer) -> Reader:
        return Reader(connection, viewer, self.vocabulary, self.folder / "media")

    # Deciding

    def decide(self, viewer: Viewer, decision: Decision) -> int:
        """Accept, refuse or change a mark; return its new version. Raises NotFound, NotAllowed, Conflict, BadInput."""
        with self._database.writing() as connection:
            return deciding.decide(connection, viewer, decision, self.vocabulary)

    def mark_segment(self, viewer: Viewer, recording_id: str, segment: Segment) -> str:
        """Add a segment by hand; return its id. Raises NotFound, NotAllowed, Conflict, BadInput."""
        with self._database.writing() as connection:
            return deciding.mark_segment(connection, viewer, recording_id, segment, self.vocabulary)

    def history(self, viewer: Viewer, case_id: str) -> list[DecisionEvent]:
        """Who decided what about a case, newest first. Raises NotFound."""
        with self._database.reading() as connection:
            return deciding.history(connection, viewer, case_id)

    # Consent (the owner's, and the operator's for the own cases)

    def state_consent(
        self,
        viewer: Viewer,
        case_id: str,
        release: Release,
        *,
        on: date,
        evidence: str = "",
        until: date | None = None,
        purpose: str = "",
    ) -> None:
        """Add a consent to the history of a case and of all of its patient; the newest counts.

        Raises NotFound, NotAllowed.
        """
        more = {"evidence": evidence, "until": until, "purpose": purpose}
        self.state_consents(viewer, (case_id,), release, on=on, **more)

    def state_consents(
        self, viewer: Viewer, case_ids: Iterable[str], release: Release, *, on: date, **more: Any
    ) -> None:
        """The same for many cases, all or none of them; `more` as for one."""
        named = tuple(case_ids)
        with self._stating(viewer, named) as connection:
            for case_id in named:
                consents.state(connection, case_id, viewer, release, on=on, **more)

    def withdraw_consent(self, viewer: Viewer, case_id: str, *, on: date) -> None:
        """Make a case, and all of its patient, private at once. Raises NotFound, NotAllowed."""
        self.withdraw_consents(viewer, (case_id,), on=on)

    def withdraw_consents(self, viewer: Viewer, case_ids: Iterable[str], *, on: date) -> None:
        """The same for many cases, all or none of them."""
        named = tuple(case_ids)
        with self._stating(viewer, named) as connection:
            for case_id in named:
                consents.withdraw(connection, case_id, viewer, on=on)

    def tie_cases(self, viewer: Viewer, case_ids: Iterable[str]) -> None:
        """Say that cases are of one patient; their consents become one. Raises NotFound, NotAllowed."""
        named = tuple(case_ids)
        with self._stating(viewer, named) as connection:
            consents.agree(connection, viewer, patients.tie(connection, named))

    def untie_case(self, viewer: Viewer, case_id: str) -> None:
        """Take a case out of those of its patient. Raises NotFound, NotAllowed."""
        with self._stating(viewer, (case_id,)) as connection:
            patients.untie(connection, case_id)

    @contextmanager
    def _stating(self, viewer: Viewer, case_ids: Iterable[str]) -> Iterator[Connection]:
        """A transaction in which consents of these cases, and of those tied to them, are changed."""
        with self._database.writing() as connection:
            consents.may_state(connection, viewer, case_ids)
            yield connection

    # Identifiers (the owner's; of a single case, its operator's too)

    def add_name(self, viewer: Viewer, name: KnownName, *, case_id: str | None = None) -> int:
        """Put a name on the library's own list, once; give the entry's id. Raises NotAllowed, NotFound, BadInput."""
        with self._database.writing() as connection:
            return identifying.add_name(connection, viewer, name, case_id)

    def remove_name(self, viewer: Viewer, name_id: int) -> None:
        """Take an entry off the list of names. Raises NotAllowed, NotFound."""
        with self._database.writing() as connection:
            identifying.remove_name(connection, viewer, name_id)

    def names(self, viewer: Viewer) -> list[ListedName]:
        """The list of names, for the owner alone. Raises NotAllowed."""
        with self._database.reading() as connection:
            return identifying.names(connection, viewer)

    def names_for_search(self, viewer: Viewer, case_id: str) -> list[KnownName]:
        """What a search for identifiers of a case listens for; not to be shown. Raises NotFound."""
        with self._database.reading() as connection:
            return identifying.names_for_search(connection, viewer, case_id)

    def decide_identifier(self, viewer: Viewer, decision: IdentifierDecision) -> None:
        """Keep what a person decided about all findings of one key. Raises NotFound, NotAllowed, BadInput."""
        with self._database.writing() as connection:
            identifying.decide(connection, viewer, decision)

    def identifier_decisions(self, viewer: Viewer, case_id: str) -> list[DecidedIdentifier]:
        """What holds for the identifiers of a case. Raises NotFound."""
        with self._database.reading() as connection:
            return identifying.decisions(connection, viewer, case_id)

    def note_heard(self, viewer: Viewer, recording_id: str, span: Span) -> None:
        """Remember that a person listened to a stretch of a recording. Raises NotFound, BadInput."""
        with self._database.writing() as connection:
            identifying.note_heard(connection, viewer, recording_id, span)

    def heard(self, viewer: Viewer, recording_id: str) -> tuple[Span, ...]:
        """The stretches of a recording that somebody listened to, in order. Raises NotFound."""
        with self._database.reading() as connection:
            return identifying.heard(connection, viewer, recording_id)

    def date_shift(self, viewer: Viewer, case_id: str) -> int:
        """By how many days the dates of a case are moved when they leave; drawn once and kept. Raises NotFound."""
        with self._database.writing() as connection:
            return identifying.date_shift(connection, viewer, case_id)

    # Care

    def save(self, folder: Path, *, copy_media: bool = False, with_names: bool = False) -> list[str]:
        """Write everything as plain files into a new folder; return the ids of the cases. Raises LibraryUnusable."""
        media = self.folder / "media"
        with self._database.reading() as connection:
            return saving.save(
                connection, media, folder, self.vocabulary, copy_media=copy_media, with_names=with_names
            )

    def restore(self, folder: Path) -> bool:
        """Fill this empty library with what was saved; False where its films and stills are not to be had now.

        Raises BadInput, LibraryUnusable; nothing was written then.
        """
        saved, of_cases = restoring.read(folder)
        with self._database.writing() as connection:
            restoring.restore(connection, self.folder, saved, of_cases)
        return restoring.put_media(saved, folder, self.folder / "media")

    def check(self) -> list[LibraryFault]:
        """Look for damage, missing files and leftovers; an empty list where all is well."""
        with self._database.reading() as connection:
            return checking.check(connection, self.folder)
