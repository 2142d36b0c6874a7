"""The console: which commands there are and what they take. Each is thin; what it needs loads when it runs."""

from __future__ import annotations

from pathlib import Path
from typing import Any, NamedTuple

import click

from indexer.console.giving_commands import give
from indexer.console.timing_commands import steplog, times
from indexer.errors import ScrubmarkError

FILE = click.Path(path_type=Path)
FOLDER = click.Path(path_type=Path, file_okay=False)


class Setup(NamedTuple):
    """What was said before the command's name; None: as it is by default."""

    library: Path | None
    ffmpeg: str | None


class Console(click.Group):
    """A group whose commands may raise what a person can understand: told in one line, exit 1."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command that was named."""
        try:
            return super().invoke(ctx)
        except ScrubmarkError as error:
            click.echo(str(error), err=True)
            ctx.exit(1)


def _title(_ctx: click.Context, _parameter: click.Parameter, value: str | None) -> str | None:
    title = " ".join(value.split()) if value is not None else None
    if title is not None and not 1 <= len(title) <= 300:
        raise click.BadParameter("a title has between 1 and 300 letters.")
    return title


def _operator(_ctx: click.Context, _parameter: click.Parameter, value: str | None) -> str | None:
    name = " ".join(value.split()) if value is not None else None
    if name is not None and not 1 <= len(name) <= 120:
        raise click.BadParameter("a pseudonym has between 1 and 120 letters.")
    return name


def _version(ctx: click.Context, _parameter: click.Parameter, wanted: bool) -> None:
    if wanted:
        from importlib import metadata

        try:
            click.echo(f"scrubmark {metadata.version('scrubmark')}")
        except metadata.PackageNotFoundError:
            click.echo("scrubmark, run from its sources without being installed")
        ctx.exit()


@click.group(cls=Console, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option(
    "--library", type=FOLDER, envvar="SCRUBMARK_LIBRARY", help="Folder of the library; made where there is none."
)
@click.option("--ffmpeg", envvar="SCRUBMARK_FFMPEG", help="An ffmpeg to use instead of the one that was found.")
@click.option("--version", is_flag=True, callback=_version, expose_value=False, is_eager=True, help="Say the version.")
@click.pass_context
def console(ctx: click.Context, library: Path | None, ffmpeg: str | None) -> None:
    """A searchable library of your own surgical recordings.

    \b
    Example:
      scrubmark add rhexis.mp4 --eye right
      scrubmark find "capsular hooks dense nucleus"
      scrubmark serve
    """
    ctx.obj = Setup(library, ffmpeg)


console.add_command(times)
console.add_command(steplog)
console.add_command(give)


console.add_command(times)
console.add_command(steplog)


@console.command()
@click.argument("recordings", nargs=-1, required=True, type=FILE, metavar="RECORDING... | FOLDER...")
@click.option("--transcript", type=FILE, help="Timed words; without it, a file of the same name beside is taken.")
@click.option("--title", callback=_title, help="Title of the case; without it, the name of the recording.")
@click.option("--kind", type=click.Choice(["whole", "edited", "excerpt"]), default="whole", show_default=True)
@click.option("--eye", type=click.Choice(["right", "left"]))
@click.option("--finding", "findings", multiple=True, metavar="ID", help="What this eye has; may be given many times.")
@click.option("--operator", callback=_operator, help="Who operated, under a pseudonym.")
@click.option(
    "--release",
    type=click.Choice(["private", "teaching", "public"]),
    default="private",
    show_default=True,
    help="What the patient's consent allows, as you state it today; the evidence can follow.",
)
@click.option("--offset", type=float, default=0.0, metavar="SECONDS", help="Added to the times of the transcript.")
@click.option("--copy", "copies", is_flag=True, help="Take the originals into the library as well.")
@click.option("--apart", is_flag=True, help="In a folder: each file is a recording of its own.")
@click.option("--yes", is_flag=True, help="In a folder: add all that is proposed without asking.")
@click.pass_obj
def add(setup: Setup, /, recordings: tuple[Path, ...], **options: Any) -> None:
    """Add one recording (several files are its parts, in their order), or all that a folder holds.

    Originals are never changed. What was added before is noticed; with a transcript, it is given its words.

    \b
    Example:
      scrubmark add part1.mp4 part2.mp4 --transcript narration.vtt --title "Loose bag, hooks" --eye left
      scrubmark add /media/card
    """
    from indexer.console import adding

    adding.add(setup.library, setup.ffmpeg, recordings, adding.Details(**options))


@console.command()
@click.option("--give-up", is_flag=True, help="Give up what is unfinished instead.")
@click.pass_obj
def resume(setup: Setup, give_up: bool) -> None:
    """Go on with recordings that were cut off or whose drive was away.

    \b
    Example:
      scrubmark resume
    """
    from indexer.console import adding

    adding.resume(setup.library, setup.ffmpeg, give_up=give_up)


@console.command()
@click.argument("transcripts", nargs=-1, required=True, type=FILE, metavar="TRANSCRIPT...")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line, in the order of the files.")
def tag(transcripts: tuple[Path, ...], as_json: bool) -> None:
    """Say what transcripts tell: steps, things used, measures, findings. Needs no library.

    \b
    Example:
      scrubmark tag narration.vtt
      scrubmark tag *.vtt --json > tagged.jsonl
    """
    from indexer.console import tagged

    read = 0
    for told in tagged.taggings(transcripts):
        read += "error" not in told
        if "error" in told:
            click.echo(told["error"], err=True)
        for line in [tagged.as_json(told)] if as_json else tagged.for_a_person(told):
            click.echo(line)
    if not read:
        raise click.exceptions.Exit(1)


@console.command()
@click.argument("cases", nargs=-1, metavar="[CASE]...")
@click.pass_obj
def retag(setup: Setup, cases: tuple[str, ...]) -> None:
    """Tag recordings anew, all or those of the named cases. What people decided stays, and guides.

    Accepted steps and words of the same operator are learned from: the usual order and lengths become the surgeon's own,
    and a misheard form that was put right once is known.

    \b
    Example:
      scrubmark retag
      scrubmark retag "Small pupil, ring"
    """
    from indexer.console import again, opening

    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        again.retag(library, cases)


@console.command()
@click.argument("cases", nargs=-1, metavar="[CASE]...")
@click.pass_obj
def survey(setup: Setup, cases: tuple[str, ...]) -> None:
    """Look at every frame of recordings added before this was done at intake, or of the named cases anew.

    Tells cuts, and whether a recording looks whole or edited; what was stated stays until you change it.

    \b
    Example:
      scrubmark survey
      scrubmark survey "Small pupil, ring"
    """
    from indexer.console import again, opening

    settings = opening.settings(setup.library, setup.ffmpeg)
    with opening.opened(settings) as library:
        again.survey(library, settings, cases)


@console.command()
@click.argument("query")
@click.option("--limit", type=click.IntRange(1, 1000), default=10, show_default=True, help="Most passages to tell.")
@click.option("--json", "as_json", is_flag=True, help="One JSON array, best first.")
@click.pass_obj
def find(setup: Setup, query: str, limit: int, as_json: bool) -> None:
    """Find passages by what was done, with what, in which kind of eye.

    \b
    Example:
      scrubmark find "capsular hooks dense nucleus"
      scrubmark find "rhexis over 6 mm" --limit 3 --json
    """
    from indexer.console import found, opening

    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        answer = found.ask(library, query, limit)
    if as_json:
        click.echo(found.as_json(answer))
    else:
        found.show(answer)


@console.command()
@click.pass_obj
def check(setup: Setup) -> None:
    """Look through the library for damage, missing files and leftovers; exit 1 where something is broken.

    \b
    Example:
      scrubmark check
    """
    from indexer.console import adding

    adding.check(setup.library, setup.ffmpeg)


@console.command()
@click.argument("what", metavar="CASE|RECORDING|FILM")
@click.option("--from", "begin", required=True, metavar="TIME", help="Where it begins: 75.2, 1:15.2 or 1:02:03.")
@click.option("--to", "end", required=True, metavar="TIME", help="Where it ends; the frame there is not part of it.")
@click.option("--out", type=FILE, help="Name of the clip; without it, beside the film, or in the library's own folder.")
@click.pass_obj
def cut(setup: Setup, /, **wish: Any) -> None:
    """Cut a clip, exact to the frame at both ends.

    For your own use: pictures are copied where that is possible, and a clip of a case stays in the library's folder. One
    that is to leave is made by `give`, which asks the consent and encodes everything anew.

    \b
    Example:
      scrubmark cut "Small pupil, ring" --from 3:07.4 --to 3:41
      scrubmark cut rhexis.mp4 --from 75.2 --to 80 --out flap.mp4
    """
    from indexer.console import cutting, opening

    cutting.cut(opening.settings(setup.library, setup.ffmpeg), cutting.Wish(**wish))


@console.command()
@click.argument("film", type=FILE)
@click.argument("narration", type=FILE)
@click.option("--at", "at_s", type=float, metavar="SECONDS", help="When it begins, by the film; told from the sound without.")
@click.option("--out", type=FILE, help="Name of the narrated film; without it, beside the film.")
@click.pass_obj
def narrate(setup: Setup, film: Path, narration: Path, at_s: float | None, out: Path | None) -> None:
    """Lay a narration that was recorded apart onto its film, in place of its sound. Pictures are copied.

    \b
    Example:
      scrubmark narrate rhexis.mp4 voice.m4a
      scrubmark narrate rhexis.mp4 voice.m4a --at -2.5 --out told.mp4
    """
    from indexer.console import narrated, opening

    narrated.narrate(opening.settings(setup.library, setup.ffmpeg), film, narration, at_s, out)


@console.command()
@click.argument("case", required=False)
@click.option("--json", "as_json", is_flag=True, help="One JSON array.")
@click.pass_obj
def identifiers(setup: Setup, case: str | None, as_json: bool) -> None:
    """List what may name a patient in words, titles, file names and metadata, with the time to play.

    \b
    Example:
      scrubmark identifiers
      scrubmark identifiers "Small pupil, ring" --json
    """
    from indexer.console import identified, opening

    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        rows = identified.found(library, case)
    for line in [identified.as_json(rows)] if as_json else identified.for_a_person(rows):
        click.echo(line)


@console.group()
def names() -> None:
    """The library's own list of names: patients, staff, hospitals, places, numbers. It never leaves with a case.

    \b
    Example:
      scrubmark names add "Mirela Vantoor" "Gerald Ashgrove"
      scrubmark names list
    """


@names.command("add")
@click.argument("texts", nargs=-1, required=True, metavar="NAME...")
@click.option(
    "--kind",
    type=click.Choice(["name", "place", "hospital", "record", "account", "device", "telephone", "other"]),
    default="name",
    show_default=True,
    help="What it is.",
)
@click.option("--case", "case", help="The case that it comes from; without it, it is of the whole library.")
@click.pass_obj
def names_add(setup: Setup, texts: tuple[str, ...], kind: str, case: str | None) -> None:
    """Put names on the list; they are then found however they are written, and misheard too.

    \b
    Example:
      scrubmark names add "Lindenhof Eye Clinic" --kind hospital
    """
    from indexer.console import identified, opening

    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        identified.add_names(library, texts, kind, case)
    click.echo(f"{len(texts)} on the list.")


@names.command("list")
@click.pass_obj
def names_list(setup: Setup) -> None:
    """Show the list, with the numbers to remove entries by.

    \b
    Example:
      scrubmark names list
    """
    from indexer.console import identified, opening

    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        for line in identified.names(library):
            click.echo(line)


@names.command("remove")
@click.argument("numbers", nargs=-1, required=True, type=click.IntRange(1), metavar="NUMBER...")
@click.pass_obj
def names_remove(setup: Setup, numbers: tuple[int, ...]) -> None:
    """Take entries off the list by their numbers.

    \b
    Example:
      scrubmark names remove 3
    """
    from indexer.console import opening

    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        for number in numbers:
            library.remove_name(library.owner, number)
    click.echo(f"{len(numbers)} taken off the list.")


@console.command()
@click.argument("cases", nargs=-1, required=True, metavar="CASE...")
@click.option("--release", type=click.Choice(["private", "teaching", "public"]), help="What the consent allows.")
@click.option("--purpose", default="", help="What it was given for, in a few words.")
@click.option("--until", type=click.DateTime(["%Y-%m-%d"]), metavar="DAY", help="The last day on which it holds.")
@click.option("--evidence", default="", help="Where the signed paper lies; a reference, never the paper itself.")
@click.option("--withdraw", is_flag=True, help="Withdraw all that was stated: private at once, everywhere.")
@click.option("--one-patient", is_flag=True, help="These cases are of one patient: consent and withdrawal reach all.")
@click.pass_obj
def consent(setup: Setup, /, cases: tuple[str, ...], **options: Any) -> None:
    """State or withdraw what a patient's consent allows; without options, say what holds and what was said before.

    A case is named by its title or its id. What is said of one reaches all cases of the same patient.

    \b
    Example:
      scrubmark consent "Loose bag, hooks" --release teaching --purpose "courses here" --until 2031-12-31
      scrubmark consent "Loose bag, hooks" --withdraw
      scrubmark consent "Right eye" "Left eye" --one-patient
    """
    from indexer.consent import Release
    from indexer.console import consent as stating
    from indexer.console import opening

    release, until = options["release"], options["until"]
    if options["withdraw"] and (release or options["one_patient"]):
        raise click.UsageError("Withdraw first, and state anew afterwards: --withdraw goes alone.")
    if release is None and (options["purpose"] or options["evidence"] or until):
        raise click.UsageError("Say what the consent allows: --release private, teaching or public.")
    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        if options["withdraw"]:
            return stating.withdraw(library, cases)
        if options["one_patient"]:
            stating.tie(library, cases)
        if release is not None:
            said = {"purpose": options["purpose"], "evidence": options["evidence"]}
            return stating.state(library, cases, Release(release), until=until.date() if until else None, **said)
        if not options["one_patient"]:
            stating.show(library, cases)


@console.group()
def people() -> None:
    """Who works here: names of their own choice, roles, passwords.

    \b
    Example:
      scrubmark people add Heron --role surgeon --password
    """


@people.command("add")
@click.argument("name", callback=_operator)
@click.option(
    "--role",
    "roles",
    multiple=True,
    type=click.Choice(["owner", "surgeon", "narrator", "educator", "trainee"]),
    help="What the person does here; may be given many times.",
)
@click.option("--password", "with_password", is_flag=True, help="Ask for a password, so that the person can sign in.")
@click.pass_obj
def people_add(setup: Setup, name: str, roles: tuple[str, ...], with_password: bool) -> None:
    """Add somebody, or give somebody other roles.

    \b
    Example:
      scrubmark people add Heron --role surgeon --role educator --password
    """
    from indexer.console import opening
    from indexer.console import people as persons

    password = persons.asked() if with_password else None
    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        persons.add(library, name, roles, password)


@people.command("list")
@click.pass_obj
def people_list(setup: Setup) -> None:
    """Say who works here.

    \b
    Example:
      scrubmark people list
    """
    from indexer.console import opening
    from indexer.console import people as persons

    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        persons.show(library)


@people.command("password")
@click.argument("name", callback=_operator)
@click.option("--none", is_flag=True, help="Take the password away instead: nobody signs in by that name any more.")
@click.pass_obj
def people_password(setup: Setup, name: str, none: bool) -> None:
    """Give somebody a new password; whoever is signed in by that name is signed out.

    \b
    Example:
      scrubmark people password owner
    """
    from indexer.console import opening
    from indexer.console import people as persons

    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        persons.password(library, name, none=none)


@console.command()
@click.argument("folder", type=FOLDER)
@click.option("--copy-media", is_flag=True, help="Copy films and stills as well; otherwise it is said where they lie.")
@click.option("--with-names", is_flag=True, help="Write the library's own list of names too: it tells who somebody is.")
@click.pass_obj
def save(setup: Setup, folder: Path, copy_media: bool, with_names: bool) -> None:
    """Write the whole library as plain files into a new folder: JSON by the schemas, and WebVTT chapters.

    What is written is as private as the library; keep it as closed.

    \b
    Example:
      scrubmark save /media/backup/library-saved --copy-media
    """
    from indexer.console import opening

    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        many = len(library.save(folder.absolute(), copy_media=copy_media, with_names=with_names))
    click.echo(f"{many} {'case is' if many == 1 else 'cases are'} saved in {folder.absolute()}.")


@console.command()
@click.argument("folder", type=FOLDER)
@click.pass_obj
def restore(setup: Setup, folder: Path) -> None:
    """Make a library equal to the one that was saved in a folder; name a new one with --library.

    \b
    Example:
      SCRUBMARK_LIBRARY=new-library scrubmark restore /media/backup/library-saved
    """
    from indexer.console import opening

    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        there = library.restore(folder.absolute())
        click.echo(f"{len(library.cases(library.owner))} cases are in {library.folder}.")
    if not there:
        click.echo("Films and stills were saved by reference and are not there now. `scrubmark check` names them.")
