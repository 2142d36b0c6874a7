"""What the command `consent` does."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import click

from indexer.catalogue.library import Library
from indexer.consent import Release
from indexer.errors import BadInput, NotFound
from indexer.models import CaseDetail, CaseSummary


def state(
    library: Library, named: Sequence[str], release: Release, *, purpose: str, until: date | None, evidence: str
) -> None:
    """State a consent for cases, all or none of them, and say what holds."""
    if until is not None and until < date.today():
        raise BadInput(f"{until} is over. Name a day to come, or leave --until out.")
    chosen = _chosen(library, named)
    more = {"evidence": evidence, "purpose": purpose}
    ids = [case.id for case in chosen]
    library.state_consents(library.owner, ids, release, on=date.today(), until=until, **more)
    show(library, named)


def withdraw(library: Library, named: Sequence[str]) -> None:
    """Withdraw the consents of cases, at once."""
    library.withdraw_consents(library.owner, [case.id for case in _chosen(library, named)], on=date.today())
    show(library, named)


def tie(library: Library, named: Sequence[str]) -> None:
    """Say that cases are of one patient."""
    library.tie_cases(library.owner, [case.id for case in _chosen(library, named)])
    show(library, named)


def show(library: Library, named: Sequence[str]) -> None:
    """Say what holds for cases, and what was said of them before."""
    for summary in _chosen(library, named):
        case = library.case(library.owner, summary.id)
        click.echo(f"{case.title}: {case.release}" + _tied(case))
        for entry in case.consents:
            day = f"{entry.stated_on}  {entry.release} by {entry.stated_by}"
            more = [entry.purpose, f"until {entry.until}" if entry.until else "", entry.evidence]
            over = f"withdrawn {entry.withdrawn_on}" if entry.withdrawn_on else ""
            click.echo("  " + "; ".join(filter(None, [day, *more, over])))


def _tied(case: CaseDetail) -> str:
    many = len(case.tied_cases)
    return f" (with {many} other {'case' if many == 1 else 'cases'} of the same patient)" if many else ""


def _chosen(library: Library, named: Sequence[str]) -> list[CaseSummary]:
    """The cases of these ids or whole titles. Raises NotFound, and BadInput for a title that several have."""
    cases = library.cases(library.owner)
    chosen: dict[str, CaseSummary] = {}
    for name in named:
        fitting = [case for case in cases if name in (case.id, case.title)]
        if not fitting:
            raise NotFound(f"case {name!r}")
        if len(fitting) > 1:
            ids = ", ".join(case.id for case in fitting)
            raise BadInput(f"Several cases are called {name!r}. Name one by its id: {ids}")
        chosen[fitting[0].id] = fitting[0]
    return list(chosen.values())
