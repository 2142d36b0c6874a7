"""What is printed when recordings are tagged anew."""

from __future__ import annotations

from collections.abc import Sequence

import click

from indexer.catalogue.library import Library
from indexer.intake import again


def retag(library: Library, titles: Sequence[str]) -> None:
    """Tag anew and say what came of it, a line for each recording."""
    done = 0
    for one in again.retag(library, tuple(titles)):
        done += 1
        click.echo(f"{one.title}: {one.steps} steps, {one.terms} terms; {one.changed} steps are new")
    if not done:
        click.echo("No recording here has words to tag.")
