"""Take the demo walk to its first edition where the library is empty (or the demo was broken off), and say where the outputs lie.

The same commands as anybody would type, on the walk, names, decisions and marks in sample_media/.
"""

from __future__ import annotations

import sys
from pathlib import Path

from annotator.cli import default_library, main
from annotator.library import Library

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
from scripts.heard import same_words, use_kept

SAMPLE = Path(__file__).resolve().parent.parent / "sample_media"
TITLE = "Saltmarsh Lane Open, family course"


def run(*words: str | Path) -> None:
    """One command of ours, shown before it runs."""
    line = [str(word) for word in words]
    print("$ annotator " + " ".join(f'"{word}"' if " " in word else word for word in (_short(word) for word in line)), flush=True)
    status = main.main(line, standalone_mode=False)
    if status:
        print("\nThe demo stopped there. Mend what the line above says and run this again; it goes on where it was.", file=sys.stderr)
        sys.exit(status)


def _short(word: str) -> str:
    return str(Path(word).relative_to(SAMPLE.parent)) if word.startswith(str(SAMPLE)) else word


def take_demo_to_its_first_edition() -> None:
    """Add, mend, mark, accept, sign and publish, each as its command."""
    clips = sorted(path for path in SAMPLE.iterdir() if path.suffix in {".mp4", ".mov"})
    run("add", *clips, "--title", TITLE, "--names", SAMPLE / "truth" / "names.txt", "--by", "Robin")
    with Library(default_library()) as library:
        name = library.courses()[0].doc.name
        differs = not same_words(library, name)
        if differs:
            use_kept(library, clips)
    if differs:
        print(
            "This machine heard a few words otherwise than the one for which the demo's decisions were written down (other processors do)."
        )
        print("So that they fit, the demo goes on with that machine's words; a walk of your own is read from what is heard here.")
        run("add", *clips)
    with Library(default_library()) as library:
        mended = any(each.who == "Robin" for at in library.stations(name) for each in library.history(name, "station", at.doc.id))
    if not mended:
        run("mend", name, SAMPLE / "decisions.yaml")
    run("mark", name, SAMPLE / "marks.json", "--by", "Robin")
    run("accept", name, "--by", "Robin")
    run("sign", name, "--by", "Kim")
    run("publish", name, "--by", "Kim")


def where_things_are() -> None:
    """Print the outputs' folders of every course that has an edition."""
    with Library(default_library()) as library:
        for course in library.courses():
            for edition in library.editions(course.doc.name)[-1:]:
                folder = library.outputs(course.doc.name, edition.number)
                print(f"\n{course.doc.title}, edition {edition.number} ({edition.code}): the outputs lie in")
                print(f"  {folder}")
                for each in sorted(folder.iterdir()):
                    print(f"    {each.name}{'/' if each.is_dir() else ''}")


def begin() -> None:
    """The demo where nothing else is in the library, then where everything lies."""
    with Library(default_library()) as library:
        courses = library.courses()
        broken_off = [at.doc.title for at in courses] == [TITLE] and not library.editions(courses[0].doc.name)
    if not courses:
        print("The library is empty: taking in the demo walk, five minutes of video in two clips. This takes a few minutes.")
        take_demo_to_its_first_edition()
    elif broken_off:
        print("The demo walk was broken off the last time: going on with it.")
        take_demo_to_its_first_edition()
    else:
        held = "a course" if len(courses) == 1 else f"{len(courses)} courses"
        print(f"The library holds {held} already; the demo walk is left out.")
    where_things_are()


if __name__ == "__main__":
    begin()
