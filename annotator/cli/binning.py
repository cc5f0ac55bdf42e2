"""Taking a course out: into the bin, back from it, or for good."""

from __future__ import annotations

from pathlib import Path

import click

from annotator.cli.group import by_option, main, open_library, who_of


@main.command()
@click.argument("course")
@click.option("--for-good", is_flag=True, help="Delete it from this machine with its films, also where it is in the bin already.")
@click.option("--yes", is_flag=True, help="With --for-good: do not ask again.")
@by_option
@click.pass_obj
def remove(root: Path, course: str, for_good: bool, yes: bool, by: str | None) -> None:
    """Put a COURSE in the bin, from which it can be brought back for 30 days; or remove it for good."""
    from annotator import pipeline

    if yes and not for_good:
        raise click.UsageError("--yes goes with --for-good; what is in the bin can be brought back.")
    with open_library(root) as library:
        there = next((each for each in library.in_bin() if each.course.name == course), None)
        if not for_good:
            there = library.put_in_bin(course, who_of(by))
            click.echo(f"{course} is in the bin until {there.until:%Y-%m-%d}. Bring it back with: annotator bring-back {course}")
            return
        doc = library.course(course).doc if there is None else there.course
        if not yes:
            click.confirm(
                f"Delete {doc.title!r} for good: {len(doc.clips)} clips, {len(doc.order)} stations, all editions? Nothing brings it back.",
                abort=True,
            )
        if there is None:
            library.put_in_bin(course, who_of(by))
        pipeline.remove_for_good(library, course)
        click.echo(f"{course} is removed for good. Packs, papers and phones keep what they hold.")


@main.command(name="bin")
@click.pass_obj
def in_bin(root: Path) -> None:
    """List what is in the bin, and until when it can be brought back."""
    with open_library(root) as library:
        for each in library.in_bin():
            click.echo(f"{each.course.name}  until {each.until:%Y-%m-%d}  put there by {each.who}  {each.course.title}")


@main.command()
@click.argument("course")
@click.pass_obj
def bring_back(root: Path, course: str) -> None:
    """Bring a COURSE back from the bin, as it was."""
    with open_library(root) as library:
        library.bring_back(course)
        click.echo(course)
