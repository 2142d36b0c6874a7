"""May this leave: by release, date, purpose and withdrawal; asked by every way out."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from operated import Operated

from indexer.consent import NOBODY, Release
from indexer.errors import NotAllowed, NotFound
from indexer.leaving.asking import ask_leave

TODAY = date.today()
DAY = timedelta(days=1)


@pytest.mark.parametrize(
    ("stated", "audience", "reason"),
    [
        (None, Release.TEACHING, "no consent"),
        ({"release": Release.TEACHING}, Release.TEACHING, ""),
        ({"release": Release.TEACHING}, Release.PUBLIC, "not public"),
        ({"release": Release.PUBLIC}, Release.TEACHING, ""),
        ({"release": Release.PUBLIC}, Release.PRIVATE, "nobody is named"),
        ({"release": Release.PRIVATE}, Release.TEACHING, "private"),
        ({"release": Release.PUBLIC, "until": TODAY - DAY}, Release.PUBLIC, "no consent"),
        ({"release": Release.PUBLIC, "until": TODAY}, Release.PUBLIC, ""),
        ({"release": Release.PUBLIC, "on": TODAY + DAY}, Release.PUBLIC, "no consent"),
        ({"release": Release.PUBLIC, "purpose": "A course on hooks"}, Release.PUBLIC, "one purpose only"),
    ],
)
def test_leave_is_what_the_consent_covers(
    operated: Operated, stated: dict[str, Any] | None, audience: Release, reason: str
) -> None:
    if stated:
        release = stated.pop("release")
        operated.library.state_consent(operated.library.owner, operated.case_id, release, **{"on": TODAY, **stated})
    if reason:
        with pytest.raises(NotAllowed, match=reason):
            ask_leave(operated.library, operated.library.owner, operated.case_id, audience)
    else:
        assert ask_leave(operated.library, operated.library.owner, operated.case_id, audience).audience is audience


def test_a_named_purpose_is_enough_for_itself(operated: Operated) -> None:
    owner = operated.library.owner
    operated.library.state_consent(owner, operated.case_id, Release.PUBLIC, on=TODAY, purpose="A course on hooks")
    given = ask_leave(operated.library, owner, operated.case_id, Release.PUBLIC, purpose="a  course on hooks")
    assert given.purpose == "A course on hooks"


def test_a_withdrawal_ends_it_at_once(operated: Operated) -> None:
    owner = operated.library.owner
    operated.library.state_consent(owner, operated.case_id, Release.PUBLIC, on=TODAY)
    ask_leave(operated.library, owner, operated.case_id, Release.PUBLIC)
    operated.library.withdraw_consent(owner, operated.case_id, on=TODAY)
    with pytest.raises(NotAllowed, match="withdrawn"):
        ask_leave(operated.library, owner, operated.case_id, Release.TEACHING)


def test_who_may_not_see_a_case_is_not_told_of_its_consent(operated: Operated) -> None:
    with pytest.raises(NotFound):
        ask_leave(operated.library, NOBODY, operated.case_id, Release.PUBLIC)
