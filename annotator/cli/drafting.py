"""From a walk to an edition: add, draft, check, accept, sign, mend, mark, carry, publish.

Each command reads its arguments, calls one function, and says what came of it.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from annotator.cli.group import by_option, existing, main, open_library, who_of
from annotator.cli.meter import metered


@main.command()
@click.argument("clips", nargs=-1, required=True, type=existing)
@click.option("--to", "course", metavar="COURSE", help="Add the clips to this course, behind those that it has, instead of making one.")
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
    course: str | None,
    title: str | None,
    names: Path | None,
    captions: tuple[Path, ...],
    weights: str | None,
    no_proxy: bool,
    by: str | None,
) -> None:
    """Take in a walk (its CLIPS in order), or further clips of one, and bring it to a drafted course; prints the course's name."""
    from annotator import pipeline
    from annotator.speech import read_names, read_timed_text

    if course and title:
        raise click.UsageError("--title goes with a new course; this one has its own.")
    with open_library(root) as library, metered() as meter:
        listed = read_names(names) if names else ()
        for problem in (problem for path in captions for problem in read_timed_text(path).problems):
            click.echo(problem, err=True)
        known = course or pipeline.duplicate_of(library, clips)
        for sentence in filter(None, map(pipeline.cut_off, clips)):
            click.echo(sentence, err=True)
        if known is None:
            name = pipeline.take_in(library, clips, title=title, names=listed, captions=captions, who=who_of(by))
        elif course is None:
            name = known
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
        else:
            name = course
            added = pipeline.add_clips(library, name, clips, names=listed, captions=captions, who=who_of(by))
            if added < len(clips):
                click.echo(f"{len(clips) - added} of these clips were in {name!r} already; they stay as they are.", err=True)
        pipeline.draft_course(library, name, weights=weights, progress=meter)
        meter.end()
        click.echo(name)
        if not no_proxy:
            pipeline.make_proxies(library, name, progress=meter)
            pipeline.make_sizes(library, name, progress=meter)


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

    with open_library(root) as library:
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

    with open_library(root) as library:
        pipeline.accept(library, course, station=station, who=who_of(by))
        click.echo(f"Accepted: {f'station {station}' if station else 'all stations'} of {course}.")


@main.command()
@click.argument("course")
@click.option("--station", type=int, help="Only this station.")
@click.option("--by", required=True, help="Who signs: somebody else than who accepted.")
@click.pass_obj
def sign(root: Path, course: str, station: int | None, by: str) -> None:
    """Sign a COURSE's accepted stations, as the second person."""
    from annotator import pipeline

    with open_library(root) as library:
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

    with open_library(root) as library:
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
    with open_library(root) as library:
        if marks is None:
            count = pipeline.propose_marks(library, course, station=station, who=who_of(by))
            click.echo(f"{count} marks are proposed in {course}, as drafts. Look at each: a proposal is a guess from its colour.")
        else:
            stills, outlines = pipeline.marks_from(library, course, marks, who=who_of(by))
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

    with open_library(root) as library, metered() as meter:
        results = pipeline.carry_over(library, course, station, from_still, to_stills, who=who_of(by), progress=meter)
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

    with open_library(root) as library, metered() as meter:
        edition = pipeline.publish(library, course, who=who_of(by), address=address, progress=meter)
        meter.end()
        click.echo(f"Edition {edition.number}, code {edition.code}")
        click.echo(library.outputs(course, edition.number))
