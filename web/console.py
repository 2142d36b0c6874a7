"""The command `scrubmark`: what the engine's console has, and what needs the site beside it."""

from __future__ import annotations

from pathlib import Path

import click

from indexer.cli import FOLDER, Setup, console

PORT = click.IntRange(0, 65535)


@console.command()
@click.option("--port", type=PORT, help="Port to listen on (8321 by default); 0 takes a free one.")
@click.option("--host", help="Address to listen on; by default this machine alone is answered.")
@click.pass_obj
def serve(setup: Setup, port: int | None, host: str | None) -> None:
    """Show the library in a browser until stopped with Ctrl+C.

    \b
    Example:
      scrubmark serve --port 8400
    """
    from web import opening

    opening.serve(setup.library, setup.ffmpeg, host=host, port=port)


@console.command()
@click.option("--folder", type=FOLDER, help="Where the demo's films and library go; by default beside your library.")
@click.option("--port", type=PORT, help="Port to listen on (8321 by default); 0 takes a free one.")
@click.option("--no-serve", is_flag=True, help="Make the demo and leave, without showing it.")
@click.pass_obj
def demo(setup: Setup, folder: Path | None, port: int | None, no_serve: bool) -> None:
    """Draw invented operations, add them to a library of their own and show it in a browser.

    \b
    Example:
      scrubmark demo
    """
    from web import opening

    opening.demo(folder, setup.ffmpeg, port=port, stay=not no_serve)


def main() -> None:
    """What the installed command runs."""
    console(prog_name="scrubmark")


if __name__ == "__main__":
    main()
