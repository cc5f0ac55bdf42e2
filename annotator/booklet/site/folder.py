"""The booklet for phones as a folder: static pages that open from a folder and from any web server, with nothing loaded from elsewhere.

In: a `Booklet`, its other languages and the published pictures. Out: `index.html`, `station-N.html`, each other language in a folder of its
own, one style sheet, one small script, fonts and pictures that all of them share. The words are pages.py's.
"""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from annotator.booklet.keeping import kept_lately, stage_name
from annotator.booklet.pictures import Pictures, Sizes, write_sizes
from annotator.booklet.site.judge import judge_site, judge_style
from annotator.booklet.site.offline import write_offline
from annotator.booklet.site.stamping import stamper, unstamped
from annotator.booklet.site.told import FIRST_PAGE, Language, PhoneSite, Shown, WalkClip, page_name
from annotator.booklet.site.weaving import STATIC, Asset, as_json, asset, environment, fonts, icon, script_asset, style
from annotator.booklet.values import Booklet, Rule, StationPage
from annotator.booklet.wording import capital
from annotator.recent import Recent
from annotator.units import Progress

MIME = {"avif": "image/avif", "webp": "image/webp"}
SHOWN_AT = "(min-width: 60rem) 38rem, calc(100vw - 2rem)"
_EVERYWHERE = ("latin-400", "latin-700")
"""The fonts that each language's letters need; the others are fetched where a name asks for them."""


_shown_first: Recent[str] = Recent(400)
"""By the station's key: a first page is looked up by what it shows of all of them."""


def write_site(
    booklet: Booklet,
    pictures: Pictures,
    out_dir: Path,
    *,
    others: Sequence[Booklet] = (),
    walk: Mapping[int, WalkClip] | None = None,
    address: str | None = None,
    cache: Path | None = None,
    linked: bool = False,
    progress: Progress | None = None,
) -> Path:
    """Write the phone booklet into a folder and return its first page.

    Parameters
    ----------
    booklet : Booklet
    pictures : Pictures
        Published JPEGs; smaller sizes are made here, kept in `cache` where one is given.
    out_dir : Path
        Made where missing; files of the same names are replaced, others are left alone.
    others : sequence of Booklet
        The same course and edition in other languages, each written into the folder of its code ("es/").
    walk : mapping of clip number to WalkClip, optional
        Clips that lie beside the pages; without it the time in the walk is told, but not linked.
    address : str, optional
        Where the booklet will be read; becomes the canonical link.
    linked : bool
        Nobody will write in the folder: pictures may be those of `cache` by another name, which takes no room and hardly any time.

    Raises
    ------
    StageError
        A picture is missing or damaged; the message names it.
    """
    (out_dir / "pictures").mkdir(parents=True, exist_ok=True)
    sizes: dict[str, Sizes] = {}
    for done, page in enumerate(booklet.stations, start=1):
        for at, still in enumerate(page.stills, start=1):
            stem = f"station-{page.number}-{at}"
            sizes[still.id] = write_sizes(pictures.jpeg(still.id), stem, out_dir / "pictures", cache, linked=linked)
        if progress is not None:
            progress(done / (len(booklet.stations) + 1))
    every = languages((booklet, *others))
    sites = [
        PhoneSite(
            booklet=each,
            here=here,
            every=every,
            pictures={still: _shown(made, "../" if here.folder else "") for still, made in sizes.items()},
            walk=_from(walk or {}, "../" if here.folder else ""),
            root=address,
            worker=booklet.stamp is not None,
        )
        for each, here in zip((booklet, *others), every, strict=True)
    ]
    assets, shared = _write_assets(sites, out_dir / "assets")
    for site in sites:
        site.assets.update(assets)
    pages = {site.here.code: _write_pages(site, out_dir, cache) for site in sites}
    write_offline(booklet, out_dir, pages, shared, list(sizes.values()))
    if progress is not None:
        progress(1.0)
    return out_dir / FIRST_PAGE


def languages(booklets: Sequence[Booklet]) -> tuple[Language, ...]:
    """The languages of a booklet, the first one at its root."""
    return tuple(
        Language(each.wording.language, capital(each.wording.own_name), "" if at == 0 else f"{each.wording.language}/")
        for at, each in enumerate(booklets)
    )


def _shown(sizes: Sizes, up: str) -> tuple[Shown, Shown]:
    """A still as the pages name it: the thumbnail, then all sizes."""

    def listed(files: Sequence[tuple[str, int]]) -> str:
        return ", ".join(f"{up}pictures/{name} {width}w" for name, width in files)

    small = Shown(
        f"{up}pictures/{sizes.jpeg[0][0]}", tuple((MIME[kind], f"{up}pictures/{sizes.kinds[kind][0][0]}") for kind in ("avif", "webp"))
    )
    large = Shown(
        f"{up}pictures/{sizes.middle}",
        tuple((MIME[kind], listed(sizes.kinds[kind])) for kind in ("avif", "webp")),
        listed(sizes.jpeg),
        SHOWN_AT,
    )
    return small, large


def _from(walk: Mapping[int, WalkClip], up: str) -> dict[int, WalkClip]:
    return {number: WalkClip(up + clip.video, clip.captions and up + clip.captions) for number, clip in walk.items()}


def _write_assets(sites: Sequence[PhoneSite], folder: Path) -> tuple[dict[str, str], dict[str, list[str]]]:
    """What the pages share, written; how it is called, and for each language ("": all) what a phone keeps."""
    folder.mkdir(exist_ok=True)
    named = {"style": style(), "script": script_asset(), "icon": icon(), "judge": judge_style()}
    found = {
        f"find-{site.here.code}": asset(f"find-{site.here.code}.js", f"bookletIndex={as_json(site.entries())};\n".encode())
        for site in sites
    }
    for each in (*named.values(), *found.values(), *fonts()):
        (folder / each.name).write_bytes(each.data)
    shutil.copyfile(STATIC / "OFL.txt", folder / "OFL.txt")
    always: list[Asset] = [*named.values(), *(font for font in fonts() if any(name in font.name for name in _EVERYWHERE))]
    shared = {"": [f"assets/{each.name}" for each in always]}
    shared |= {site.here.code: [f"assets/{found[f'find-{site.here.code}'].name}"] for site in sites}
    early = {f"font {at}": font for at, font in enumerate(always[len(named) :])}
    return {key: each.name for key, each in (named | found | early).items()}, shared


def _write_pages(site: PhoneSite, out_dir: Path, cache: Path | None) -> dict[str, str]:
    """The pages of one language, the readers' and the judge's; the SHA-256 of each by its path below the booklet's folder."""
    stamped = stamper(site)
    bare = unstamped(site)
    paths = {}
    for template, each in (("phone.html", bare), ("judge.html", judge_site(bare))):
        folder = out_dir / each.folder
        folder.mkdir(parents=True, exist_ok=True)
        for page in (None, *site.booklet.stations):
            name = FIRST_PAGE if page is None else page_name(page)
            data = stamped(kept_lately(kept_pages(cache), page_key(each, page, template), partial(_rendered, template, each, page, name)))
            (folder / name).write_bytes(data)
            paths[f"{each.folder}{name}"] = hashlib.sha256(data).hexdigest()
    return paths


def _rendered(template: str, site: PhoneSite, page: StationPage | None, name: str) -> bytes:
    if page is None:
        site = replace(site, booklet=replace(site.booklet, stations=tuple(map(_for_first_page, site.booklet.stations))))
    return environment().get_template(template).render(site=site, page=page, name=name).encode()


def page_key(site: PhoneSite, page: StationPage | None, template: str) -> str:
    """Changes with all that a page shows but the edition: its station, its neighbours' names, its pictures, and what all pages share."""
    stations = site.booklet.stations
    if page is None:
        shown: object = [repr((site.booklet.sections, site.booklet.divided)), [_on_first_page(each) for each in stations]]
        stills = [still.id for each in stations for still in each.stills[:1]]
    else:
        shown = [page.key, *([each.number, each.name] if each else None for each in site.booklet.neighbours(page))]
        stills = [still.id for still in page.stills]
    return stage_name(template, shown, [[size.told for size in site.pictures[still]] for still in stills], site.shared_key)


def _on_first_page(page: StationPage) -> str:
    """All that a first page may show of a station; it is given nothing else of it."""
    return _shown_first.get(page.key, lambda: _told_first(page)) if page.key else _told_first(page)


def _told_first(page: StationPage) -> str:
    first = _for_first_page(page)
    stills = [(still.id, still.width, still.height) for still in first.stills]
    return repr((first.id, first.number, first.name, first.name_spans, first.title_spans, first.limbs, first.divided, stills))


def _for_first_page(page: StationPage) -> StationPage:
    named = {one.division: replace(one, rule=Rule("")) for one in page.divided}
    return replace(page, sections=(), heard=(), divided=tuple(named.values()), stills=page.stills[:1])


def kept_pages(cache: Path | None) -> Path | None:
    """Where pages without their edition are kept, beside the pictures."""
    return None if cache is None else cache / "pages"
