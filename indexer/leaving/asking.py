"""May this leave, and to whom: the one answer, which every way out asks for before it gives anything away."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from indexer.catalogue.library import Library
from indexer.consent import Release, Viewer, may_leave
from indexer.errors import NotAllowed
from indexer.models.cases import CaseDetail, ConsentEntry


class Leave(NamedTuple):
    """A case may be given to an audience today."""

    case_id: str
    audience: Release
    until: date | None
    """The last day on which it holds; what was given has to be taken back then."""
    purpose: str
    """What the consent was given for; empty: for anything that its release covers."""


def ask_leave(
    library: Library,
    viewer: Viewer,
    case_id: str,
    audience: Release,
    *,
    purpose: str = "",
    on: date | None = None,
) -> Leave:
    """Answer with the leave, or raise NotAllowed with the reason; NotFound where the viewer may not see the case.

    The consent in force must cover the audience on that day (today without one), not be withdrawn, and, where it was
    given for a purpose, that purpose has to be named. Of what the consent says nobody but owner and operator is told
    more than whether it holds.
    """
    day = on or date.today()
    library.case(viewer, case_id)
    case = library.case(library.owner, case_id)
    entry = in_force(case, day)
    reason = _why_not(case, entry, audience, purpose, day)
    if reason or entry is None:
        raise NotAllowed("This case must not leave the library", reason)
    return Leave(case_id, audience, entry.until, entry.purpose)


def in_force(case: CaseDetail, day: date) -> ConsentEntry | None:
    """The newest consent that was not withdrawn, if it holds on that day."""
    standing = next((entry for entry in case.consents if entry.withdrawn_on is None), None)
    if standing is None or standing.stated_on > day or (standing.until is not None and standing.until < day):
        return None
    return standing


def _why_not(case: CaseDetail, entry: ConsentEntry | None, audience: Release, purpose: str, day: date) -> str:
    """The reason, as a sentence; empty where nothing stands against it."""
    if audience is Release.PRIVATE:
        return "nobody is named who is to get it. Say whether it is for teaching or for the public."
    if entry is None:
        withdrawn = any(one.withdrawn_on for one in case.consents)
        if withdrawn:
            return "its consent was withdrawn."
        return "no consent is recorded that holds today. The owner states it on the page of the case."
    if not may_leave(Release(entry.release), audience):
        return f"its consent allows {entry.release} use, not {audience.value}."
    # The case keeps what holds today in a place of its own; both have to agree.
    if day == date.today() and not may_leave(Release(case.release), audience):
        return "its consent does not hold today."
    if entry.purpose and _plain(entry.purpose) != _plain(purpose):
        return f"its consent was given for one purpose only ({entry.purpose}). Name it if this is it."
    return ""


def _plain(purpose: str) -> str:
    return " ".join(purpose.casefold().split())
