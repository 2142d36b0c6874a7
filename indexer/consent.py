"""Who may see what, and what may leave: Release, Viewer, and the functions that answer for both."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple


class Release(StrEnum):
    """What a consent allows, from least to most."""

    PRIVATE = "private"
    TEACHING = "teaching"
    PUBLIC = "public"

    @property
    def rank(self) -> int:
        """0 for private, 1 for teaching, 2 for public."""
        return tuple(Release).index(self)


class Role(StrEnum):
    """What a person does here."""

    OWNER = "owner"
    SURGEON = "surgeon"
    NARRATOR = "narrator"
    EDUCATOR = "educator"
    TRAINEE = "trainee"


class Viewer(NamedTuple):
    """The person for whom something is read; every read of the catalogue takes one.

    `person_id` is None for somebody without an account here, who sees only what is public.
    """

    person_id: int | None
    pseudonym: str
    roles: frozenset[Role]

    @property
    def owns(self) -> bool:
        """Whether this is the library's owner, who sees everything."""
        return Role.OWNER in self.roles


NOBODY = Viewer(None, "nobody", frozenset())


def least_release(viewer: Viewer) -> Release:
    """The lowest Release that this viewer may see of other people's cases."""
    if viewer.owns:
        return Release.PRIVATE
    return Release.TEACHING if viewer.person_id is not None else Release.PUBLIC


def may_be_seen(release: Release, viewer: Viewer, operator_id: int | None) -> bool:
    """Whether a case with this release, operated by `operator_id`, may be seen by the viewer.

    A surgeon sees the own cases whatever their release; the catalogue says the same as a predicate of its queries.
    """
    if viewer.person_id is not None and viewer.person_id == operator_id:
        return True
    return release.rank >= least_release(viewer).rank


def may_leave(release: Release, audience: Release) -> bool:
    """Whether a case with this release may be given to an audience; `private` goes to nobody."""
    return audience is not Release.PRIVATE and release.rank >= audience.rank
