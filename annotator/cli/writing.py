"""What comes out of a course, a command each: booklet, cards, print, EPUB, slip, films, captions; and zones over a judge's own clip."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from annotator.cli.group import by_option, edition_option, existing, main, open_library, output_option, who_of
from annotator.cli.meter import metered

ON_PAPER = {"cards": "A5", "wall": "A4", "print": "A4", "slip": "A5"}
"""The outputs on paper and what each is printed on where nothing is said."""


def _output(kind: str, summary: str) -> Callable[..., None]:
    """One command for one output."""

    @main.command(name=kind, help=summary)
    @click.argument("course")
    @output_option
    @edition_option
    @click.option("--address", metavar="URL", help="Where it will be read; goes into QR codes.")
    @click.option(
        "--language", help="Of the words that are not the course's own: en, es, fr, de or pt; the walk's own where it is left out."
    )
    @click.pass_obj
    def write(
        root: Path,
        course: str,
        output: Path,
        edition: int | None,
        address: str | None,
        language: str | None,
        paper: str | None = None,
        backs: bool = False,
    ) -> None:
        from annotator import pipeline

        with open_library(root) as library, metered() as meter:
            made = pipeline.write_output(
                library,
                course,
                kind,
                output,
                edition=edition,
                address=address,
                paper=paper,
                language=language,
                backs=backs,
                progress=meter,
            )
            meter.end()
            click.echo(made)
        if kind == "cards":
            click.echo(_how_to_print(paper or ON_PAPER[kind], backs), err=True)

    if kind in ON_PAPER:
        sizes = "A4, A5, A6, Letter, half Letter, A4 two up or Letter two up" if kind == "cards" else "A3, A4, A5, Letter or half Letter"
        write.params.append(click.Option(["--paper"], help=f"The paper's size: {sizes}; {ON_PAPER[kind]} where it is left out."))
    if kind == "cards":
        write.params.append(
            click.Option(["--backs"], is_flag=True, help="A back to each card: its number as large as the card. Print on both sides.")
        )
    return write


def _how_to_print(paper: str, backs: bool) -> str:
    """What to tell the printer, so that backs lie behind their fronts and halves are halves."""
    two_up = "two up" in paper.casefold()
    sides = f"on both sides, turned over at the {'short' if two_up else 'long'} edge" if backs else "on one side"
    return f"Print {sides}, at actual size{', and cut along the dashed line' if two_up else ''}."


_output("booklet", "Write the phone booklet of a COURSE: a folder of pages that opens from disk and from any web server.")
_output("single", "Write the phone booklet of a COURSE as one HTML file, to pass round in a chat.")
_output("cards", "Write the judge cards of a COURSE as a PDF, one station a page.")
_output("wall", "Write a sheet for the wall: the code that leads to the booklet of a COURSE, and the rules of every station.")
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
    with open_library(root) as library, metered() as meter:
        if choosing:
            pipeline.show_faces(library, course, show_faces, who=who_of(by))
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
    with open_library(root) as library, metered() as meter:
        for language, file in translated:
            for problem in pipeline.keep_translation(library, course, language, file, who=who_of(by)):
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

    with open_library(root) as library, metered() as meter:
        said = pipeline.replay(library, course, station, clip, output, progress=meter)
        meter.end()
        click.echo(said)
