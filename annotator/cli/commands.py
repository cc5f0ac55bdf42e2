"""The commands. Each reads its arguments, calls one function, and says what came of it.

Results go to standard output, progress (meter.py) and what went wrong (failing.py) to standard error.
"""

from __future__ import annotations

import getpass
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

from annotator import __version__
from annotator.cli.failing import Commands, default_library
from annotator.cli.meter import metered
from annotator.errors import InputError


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="annotator")
@click.option("--library", type=click.Path(path_type=Path, file_okay=False), help="Folder in which the courses live.")
@click.pass_context
def main(ctx: click.Context, library: Path | None) -> None:
    """Turn a filmed walk of an obstacle course into rules that everybody applies the same way.

    These are contact rules, not a safety inspection: follow the venue's staff, the makers of the equipment, qualified inspection and
    local codes.
    """
    ctx.obj = library or default_library()


@contextmanager
def _open(root: Path) -> Iterator[Any]:
    from annotator.library import Library  # loads the database layer only for commands that need it

    with Library(root) as library:
        yield library


def _who(given: str | None) -> str:
    if given:
        return given
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "staff"


existing = click.Path(path_type=Path)
by_option = click.option("--by", help="Who does this; your user name where it is left out.")


@main.command()
@click.argument("clips", nargs=-1, required=True, type=existing)
@click.option("--title", help="The course's title; the first clip's file name where it is left out.")
@click.option("--names", type=existing, help="Names of the stations and things, one a line.")
@click.option("--captions", multiple=True, type=existing, help="A caption file (.srt, .vtt) for each clip, in order, instead of listening.")
@click.option("--weights", help="Weights for the speech: a folder, or a model name; the packaged ones where it is left out.")
@click.option("--no-proxy", is_flag=True, help="Leave out the proxies (what any browser can play of the clips); they can be made later.")
@by_option
@click.pass_obj
def add(
    root: Path,
    clips: tuple[Path, ...],
    title: str | None,
    names: Path | None,
    captions: tuple[Path, ...],
    weights: str | None,
    no_proxy: bool,
    by: str | None,
) -> None:
    """Take in a walk (its CLIPS in order) and bring it to a drafted course; prints the course's name."""
    from annotator import pipeline
    from annotator.speech import read_names, read_timed_text

    with _open(root) as library, metered() as meter:
        listed = read_names(names) if names else ()
        for problem in (problem for path in captions for problem in read_timed_text(path).problems):
            click.echo(problem, err=True)
        name = pipeline.duplicate_of(library, clips)
        for sentence in filter(None, map(pipeline.cut_off, clips)):
            click.echo(sentence, err=True)
        if name is None:
            name = pipeline.take_in(library, clips, title=title, names=listed, captions=captions, who=_who(by))
        else:
            click.echo(f"These clips are already in the library as {name!r}; going on with that course.", err=True)
            now = library.course(name).doc
            if pipeline.bring_back(library, now, clips):
                click.echo("It came in a pack without its clips as filmed; now they are in the library.", err=True)
            if (
                (title and title != now.title)
                or (names and listed != now.names)
                or (captions and not any(each.captions for each in now.clips))
            ):
                click.echo("Its title, names list and captions stay as they were when it was taken in.", err=True)
        pipeline.draft_course(library, name, weights=weights, progress=meter)
        meter.end()
        click.echo(name)
        if not no_proxy:
            pipeline.make_proxies(library, name, progress=meter)


@main.command()
@click.argument("transcript", type=existing)
@click.option("--names", type=existing, help="Names of the stations and things, one a line.")
@click.option("-o", "--output", type=existing, help="Write the sheet to this file instead of printing it.")
def draft(transcript: Path, names: Path | None, output: Path | None) -> None:
    """Read timed text (.vtt, .srt or words .json) and print the drafted sheet as JSON; needs no library."""
    from annotator.pipeline import file_place
    from annotator.rules import draft as draft_sheet
    from annotator.speech import read_names, read_timed_text

    text = read_timed_text(transcript)
    for problem in text.problems:
        click.echo(problem, err=True)
    place = file_place(output) if output else None
    sheet = draft_sheet(text.words, read_names(names) if names else ())
    _put(json.dumps(sheet.model_dump(mode="json"), ensure_ascii=False, indent=1) + "\n", place)


def _put(text: str, output: Path | None) -> None:
    if output is None:
        click.echo(text, nl=False)
    else:
        output.write_text(text, "utf-8")


@main.command()
@click.argument("course")
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
@click.pass_obj
def check(root: Path, course: str, as_json: bool) -> None:
    """List a COURSE's gaps and contradictions; exit status 1 where one blocks publication."""
    from annotator import pipeline

    with _open(root) as library:
        found = pipeline.findings(library, course)
    if as_json:
        click.echo(json.dumps([finding.model_dump(mode="json") for finding in found], ensure_ascii=False, indent=1))
    else:
        for finding in found:
            click.echo(_finding_line(finding))
        stops = len(pipeline.blocking(found))
        click.echo(_tally(len(found), stops))
    if pipeline.blocking(found):
        raise SystemExit(1)


def _tally(found: int, stops: int) -> str:
    if not found:
        return "Nothing to report."
    blocks = f"{stops} of them {'blocks' if stops == 1 else 'block'} publication" if stops else "none of them blocks publication"
    return f"{found} {'finding' if found == 1 else 'findings'}, {blocks}."


_WEIGHT = {"blocks": "BLOCKS ", "warning": "warning", "note": "note   "}


def _finding_line(finding: Any) -> str:
    from annotator.units import clock

    said = f"  (said at {', '.join(clock(said.start) for said in finding.said[:3])})" if finding.said else ""
    return f"{_WEIGHT[finding.severity]}  {finding.about}{said}"


@main.command()
@click.argument("course")
@click.option("--station", type=int, help="Only this station.")
@by_option
@click.pass_obj
def accept(root: Path, course: str, station: int | None, by: str | None) -> None:
    """Accept what is drafted in a COURSE, as a person would on the station's page."""
    from annotator import pipeline

    with _open(root) as library:
        pipeline.accept(library, course, station=station, who=_who(by))
        click.echo(f"Accepted: {f'station {station}' if station else 'all stations'} of {course}.")


@main.command()
@click.argument("course")
@click.option("--station", type=int, help="Only this station.")
@click.option("--by", required=True, help="Who signs: somebody else than who accepted.")
@click.pass_obj
def sign(root: Path, course: str, station: int | None, by: str) -> None:
    """Sign a COURSE's accepted stations, as the second person."""
    from annotator import pipeline

    with _open(root) as library:
        signed = pipeline.sign(library, course, station=station, who=by)
        click.echo(f"Signed by {by}: {', '.join(f'station {number}' for number in signed)}.")


@main.command()
@click.argument("course")
@click.argument("decisions", type=existing)
@click.pass_obj
def mend(root: Path, course: str, decisions: Path) -> None:
    """Apply a file of DECISIONS (names, rules, spans, as one would make them on the pages) to a COURSE: all of a person's, or none."""
    from annotator import pipeline
    from annotator.library import read_decisions

    with _open(root) as library:
        settled = read_decisions(decisions)
        for step in settled.steps:
            pipeline.decide(library, course, step.decisions, who=step.who)
            click.echo(f"{len(step.decisions)} decisions by {step.who} are in {course}.")


@main.command()
@click.argument("course")
@click.argument("marks", type=existing, required=False)
@click.option("--propose", is_flag=True, help="Look for each surface with a colour word and no mark, and put the likeliest region in.")
@click.option("--station", type=int, help="With --propose: only this station.")
@by_option
@click.pass_obj
def mark(root: Path, course: str, marks: Path | None, propose: bool, station: int | None, by: str | None) -> None:
    """Read stills and MARKS from a file into a COURSE, or propose marks for it; all of them as drafts."""
    from annotator import pipeline

    if (marks is None) != propose:
        raise click.UsageError("Give a file of marks, or --propose without one.")
    if station is not None and not propose:
        raise click.UsageError("--station goes with --propose; a file of marks names its stations itself.")
    with _open(root) as library:
        if marks is None:
            count = pipeline.propose_marks(library, course, station=station, who=_who(by))
            click.echo(f"{count} marks are proposed in {course}, as drafts. Look at each: a proposal is a guess from its colour.")
        else:
            stills, outlines = pipeline.marks_from(library, course, marks, who=_who(by))
            click.echo(f"{outlines} marks on {stills} stills are in {course}.")


@main.command()
@click.argument("course")
@click.option("--station", type=int, required=True, help="The station's number.")
@click.option("--from", "from_still", required=True, help="The still whose marks are carried, such as s04-1.")
@click.option("--to", "to_stills", multiple=True, help="A still they are carried to; all others of the station where it is left out.")
@by_option
@click.pass_obj
def carry(root: Path, course: str, station: int, from_still: str, to_stills: tuple[str, ...], by: str | None) -> None:
    """Carry the marks of one still to others of its station, as drafts; what does not match with certainty is left out."""
    from annotator import pipeline

    with _open(root) as library, metered() as meter:
        results = pipeline.carry_over(library, course, station, from_still, to_stills, who=_who(by), progress=meter)
        meter.end()
        for result in results:
            sure = f", sure from {min(mark.confidence or 0 for mark in result.put):.0%}" if result.put else ""
            kept = f", {len(result.there_already)} left as they are since their surface is marked there" if result.there_already else ""
            click.echo(f"{result.still}: {len(result.put)} drafted{sure}; {len(result.withheld)} not certain enough{kept}")


@main.command()
@click.argument("course")
@click.option("--address", metavar="URL", help="Where the edition will be read; goes into QR codes.")
@by_option
@click.pass_obj
def publish(root: Path, course: str, address: str | None, by: str | None) -> None:
    """Freeze an edition of a COURSE and write every output of it; exit status 1 while something blocks it."""
    from annotator import pipeline

    with _open(root) as library, metered() as meter:
        edition = pipeline.publish(library, course, who=_who(by), address=address, progress=meter)
        meter.end()
        click.echo(f"Edition {edition.number}, code {edition.code}")
        click.echo(library.outputs(course, edition.number))


edition_option = click.option("--edition", type=int, help="The edition to write; the course as it stands now where it is left out.")
ON_PAPER = ("cards", "print", "slip")
output_option = click.option("-o", "--output", "output", required=True, type=existing, help="Where to write it.")


def _output(kind: str, summary: str) -> Callable[..., None]:
    """One command for one output."""

    @main.command(name=kind, help=summary)
    @click.argument("course")
    @output_option
    @edition_option
    @click.option("--address", metavar="URL", help="Where it will be read; goes into QR codes.")
    @click.pass_obj
    def write(root: Path, course: str, output: Path, edition: int | None, address: str | None, paper: str | None = None) -> None:
        from annotator import pipeline

        with _open(root) as library, metered() as meter:
            made = pipeline.write_output(library, course, kind, output, edition=edition, address=address, paper=paper, progress=meter)
            meter.end()
            click.echo(made)

    if kind in ON_PAPER:
        write.params.append(click.Option(["--paper"], help="The paper's size, such as A4, A5 or Letter; A4 for the booklet, A5 else."))
    return write


_output("booklet", "Write the phone booklet of a COURSE: a folder of pages that opens from disk and from any web server.")
_output("cards", "Write the judge cards of a COURSE as a PDF, one station a page.")
_output("print", "Write the whole booklet of a COURSE as a PDF.")
_output("epub", "Write the booklet of a COURSE as an EPUB.")
_output("slip", "Write what changed in a COURSE since the edition before, as a page and a PDF in a folder.")


@main.command()
@click.argument("course")
@output_option
@edition_option
@click.option("--walk", "whole_walk", is_flag=True, help="The whole walk as one film too, with the page that plays it.")
@click.option("--lines", type=click.Choice(["480", "720"]), default="480", show_default=True, help="Of the picture: its shorter side.")
@click.option("--division", help="Zones for this division; the main one where it is left out.")
@click.option(
    "--wording", type=click.Choice(["as spoken", "clean", "children"]), default="as spoken", show_default=True, help="Of the captions."
)
@click.option("--in-picture", is_flag=True, help="Captions stand in the picture itself too, for players that show none.")
@click.option("--show-faces", metavar="WHY", help="Leave faces in this course's films as they are from now on; recorded with who and why.")
@click.option("--blur-faces", is_flag=True, help="Blur them again.")
@by_option
@click.pass_obj
def clips(
    root: Path,
    course: str,
    output: Path,
    edition: int | None,
    whole_walk: bool,
    lines: str,
    division: str | None,
    wording: Any,
    in_picture: bool,
    show_faces: str | None,
    blur_faces: bool,
    by: str | None,
) -> None:
    """Write one short clip a station, with captions and zones, faces blurred, into a folder; what was made before is not made again."""
    from annotator import pipeline

    choosing = show_faces is not None or blur_faces
    if choosing and edition is not None:
        raise click.UsageError("That choice is kept with the course as it stands now; leave --edition out, and publish afterwards.")
    if show_faces is not None and blur_faces:
        raise click.UsageError("Faces are either shown or blurred; leave one of the two out.")
    wishes = pipeline.FilmWishes(int(lines), division, wording, in_picture, whole_walk)
    with _open(root) as library, metered() as meter:
        if choosing:
            pipeline.show_faces(library, course, show_faces, who=_who(by))
        made = pipeline.write_films(library, course, output, wishes, edition=edition, progress=meter)
        meter.end()
        click.echo(made)


@main.command()
@click.argument("course")
@output_option
@edition_option
@click.option(
    "--translated",
    multiple=True,
    type=(str, existing),
    metavar="LANGUAGE FILE",
    help="Captions that somebody translated (es captions.es.vtt): kept with the course and written with the others from now on.",
)
@by_option
@click.pass_obj
def captions(root: Path, course: str, output: Path, edition: int | None, translated: tuple[tuple[str, Path], ...], by: str | None) -> None:
    """Write captions (WebVTT, SubRip) as spoken, clean and for children, chapters, a station list and how they read, into a folder."""
    from annotator import pipeline

    if translated and edition is not None:
        raise click.UsageError("A translation is kept with the course as it stands now; leave --edition out, and publish afterwards.")
    with _open(root) as library, metered() as meter:
        for language, file in translated:
            for problem in pipeline.keep_translation(library, course, language, file, who=_who(by)):
                click.echo(f"{file.name}: {problem}", err=True)
        made = pipeline.write_output(library, course, "captions", output, edition=edition, progress=meter)
        meter.end()
        click.echo(made)


@main.command()
@click.argument("course")
@click.option("--station", type=int, required=True, help="The station that is attempted in the clip.")
@click.argument("clip", type=existing)
@output_option
@click.pass_obj
def replay(root: Path, course: str, station: int, clip: Path, output: Path) -> None:
    """Lay a station's zones over a judge's own CLIP where the match is certain."""
    from annotator import pipeline

    with _open(root) as library, metered() as meter:
        said = pipeline.replay(library, course, station, clip, output, progress=meter)
        meter.end()
        click.echo(said)


class _At(click.ParamType[tuple[float, float]]):
    name = "X,Y"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, float]:
        try:
            x, y = (float(each) for each in str(value).split(","))
        except ValueError:
            self.fail(f"{value!r} is not a point. Give two numbers of pixels with a comma between, such as 640,360.", param, ctx)
        return x, y


@main.command()
@click.argument("course")
@click.option("--station", type=int, required=True, help="The station's number.")
@click.option("--still", required=True, help="The still's id, such as s04-1.")
@click.option(
    "--at",
    "points",
    required=True,
    multiple=True,
    type=_At(),
    help="The point in pixels of the full-size still, from its top left corner. Given twice: the line between; more often: the region.",
)
@click.option("--limb", type=click.Choice(["hand", "foot"]), help="What touches there.")
@click.option("--division", help="For this division; the main one where it is left out.")
@edition_option
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
@click.pass_obj
def ask(
    root: Path,
    course: str,
    station: int,
    still: str,
    points: tuple[tuple[float, float], ...],
    limb: str | None,
    division: str | None,
    edition: int | None,
    as_json: bool,
) -> None:
    """Answer "is this in play?" for a point, a line or a region (a foot print) of a still, with the moment of the walk that says so."""
    from annotator import pipeline
    from annotator.units import clock

    with _open(root) as library:
        answer = pipeline.ask(
            library,
            course,
            station,
            still,
            *points,
            limb={"hand": "hands", "foot": "feet"}.get(limb or ""),  # type: ignore[arg-type]  # the two limbs or None
            division=division,
            edition=edition,
        )
    if as_json:
        click.echo(json.dumps(pipeline.ruling_as_json(answer), ensure_ascii=False, indent=1))
        return
    click.echo(f"{answer.ruling.upper()}. {answer.because}")
    for said in answer.said[:3]:
        click.echo(f'  said at {clock(said.start)}: "{said.text}"')


@main.command()
@click.argument("course")
@output_option
@click.option("--without-originals", is_flag=True, help="Leave out the clips as filmed, which may tell where and with what they were made.")
@click.pass_obj
def pack(root: Path, course: str, output: Path, without_originals: bool) -> None:
    """Put a whole COURSE, with its history and editions, into one archive."""
    from annotator.pipeline import file_place

    with _open(root) as library:
        library.course(course)
        library.pack(course, file_place(output), originals=not without_originals)
    click.echo(output)
    if not without_originals:
        click.echo(
            "It holds the clips as filmed: with faces, and with the place and device that the camera wrote into them. "
            "Hand it only to staff, or pack again with --without-originals.",
            err=True,
        )


@main.command()
@click.argument("archive", type=existing)
@click.pass_obj
def unpack(root: Path, archive: Path) -> None:
    """Take a packed course back into the library; prints the course's name."""
    with _open(root) as library:
        click.echo(library.unpack(archive))


@main.command()
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="The address to listen on; 0.0.0.0 lets phones in the same network read the booklets.",
)
@click.option("--port", default=8017, show_default=True, type=click.IntRange(0, 65535), help="The port to listen on.")
@click.option("--staff-elsewhere", is_flag=True, help="Open the staff pages to other machines too. There are no passwords yet.")
@click.option("--weights", help="Weights for the speech: a folder, or a model name; the packaged ones where it is left out.")
@click.pass_obj
def serve(root: Path, host: str, port: int, staff_elsewhere: bool, weights: str | None) -> None:
    """Serve the staff pages, the booklets and the judge pages."""
    from annotator.server import run

    with _open(root) as library:
        run(library, host, port, weights=weights, staff_elsewhere=staff_elsewhere)


@main.command(name="list")
@click.pass_obj
def list_courses(root: Path) -> None:
    """List the courses of the library with their state and newest edition."""
    with _open(root) as library:
        courses = library.courses()
        for at in courses:
            editions = library.editions(at.doc.name)
            newest = f"edition {editions[-1].number} ({editions[-1].code})" if editions else "no edition"
            click.echo(f"{at.doc.name}  {at.doc.state}  {newest}  {at.doc.title}")
        if not courses:
            raise InputError("The library is empty. Take in a walk first: annotator add CLIP...")
