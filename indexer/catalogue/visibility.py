"""Who may see what, as a predicate of the queries; `consent.may_be_seen` says the same of one case."""

from __future__ import annotations

from datetime import date

from sqlalchemy import ColumnElement, and_, false, or_, true

from indexer.catalogue.tables import cases
from indexer.consent import Viewer, least_release


def visible(viewer: Viewer, today: date) -> ColumnElement[bool]:
    """Hold for the cases that the viewer may see on that day. The query has to name the table of cases."""
    if viewer.owns:
        return true()
    released = and_(
        cases.c.release_rank >= least_release(viewer).rank,
        or_(cases.c.release_until.is_(None), cases.c.release_until >= today),
    )
    own = cases.c.operator_id == viewer.person_id if viewer.person_id is not None else false()
    return or_(released, own)
