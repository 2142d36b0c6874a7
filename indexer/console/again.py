"""What is printed when recordings are tagged or looked at anew."""

from __future__ import annotations

from collections.abc import Sequence

import click

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.intake import again, surveying


def retag(library: Library, titles: Sequence[str]) -> None:
    """Tag anew and say what came of it, a line for each recording."""
    done = 0
    for one in again.retag(library, tuple(titles)):
        done += 1
        click.echo(f"{one.title}: {one.steps} steps, {one.terms} terms; {one.changed} steps are new")
    if not done:
        click.echo("No recording here has words to tag.")


def survey(library: Library, settings: Settings, titles: Sequence[str]) -> None:
    """Look at every frame of what was not looked at yet, or of the named cases, and say what was found."""
    done = 0
    for one in surveying.survey_later(library, settings, tuple(titles)):
        done += 1
        if one.survey is None:
            click.echo(f"{one.title}: could not be looked at. {one.fault}")
            continue
        guess = one.survey.guess
        click.echo(
            f"{one.title}: {len(one.survey.cuts)} cuts; looks {guess.kind} ({guess.confidence:.0%}): "
            f"{'; '.join(guess.reasons)}"
        )
    if not done:
        click.echo("Every recording here was looked at.")
