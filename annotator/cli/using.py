"""Using what is there: ask for a ruling, pack and unpack a course, serve the pages, list the courses."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from annotator.cli.group import edition_option, existing, main, open_library, output_option
from annotator.errors import InputError


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

    with open_library(root) as library:
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

    with open_library(root) as library:
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
    with open_library(root) as library:
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

    with open_library(root) as library:
        run(library, host, port, weights=weights, staff_elsewhere=staff_elsewhere)


@main.command(name="list")
@click.pass_obj
def list_courses(root: Path) -> None:
    """List the courses of the library with their state and newest edition."""
    with open_library(root) as library:
        courses = library.courses()
        for at in courses:
            editions = library.editions(at.doc.name)
            newest = f"edition {editions[-1].number} ({editions[-1].code})" if editions else "no edition"
            click.echo(f"{at.doc.name}  {at.doc.state}  {newest}  {at.doc.title}")
        if not courses:
            there = " What was removed lies in the bin: annotator bin." if library.in_bin() else ""
            raise InputError(f"The library is empty. Take in a walk first: annotator add CLIP...{there}")
