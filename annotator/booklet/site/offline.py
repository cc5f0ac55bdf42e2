"""What keeps the booklet on a phone: the list for the service worker, and the small file that tells which edition an address serves.

In: what was written into the folder. Out: `worker.js` and `edition.json`. How it is kept is script/worker.js.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path

from annotator.booklet.pictures import Sizes
from annotator.booklet.site.weaving import WORKER, as_json, worker
from annotator.booklet.values import Booklet

EDITION = "edition.json"


def write_offline(
    booklet: Booklet, folder: Path, pages: Mapping[str, Mapping[str, str]], shared: Mapping[str, Sequence[str]], stills: Sequence[Sizes]
) -> None:
    """Write both files. A draft gets no worker: it changes under the same name, and nobody is to read it later.

    `pages` and `shared` are paths below the folder by language, pages with the SHA-256 of each; what all languages share is under "".
    """
    stamp = booklet.stamp
    told = {"number": stamp.number, "code": stamp.code, "date": stamp.at.date().isoformat()} if stamp else {"number": None, "code": None}
    _write(folder / EDITION, as_json({"title": booklet.title, **told}))
    if stamp is None:
        return
    kept = {
        "pages": {language: {path: digest[:16] for path, digest in paths.items()} for language, paths in pages.items()},
        "shared": shared,
        "pictures": [
            {kind: [[width, f"pictures/{name}"] for name, width in files] for kind, files in sizes.kinds.items()} for sizes in stills
        ],
    }
    code = f"{stamp.code}-{hashlib.sha256(as_json(kept).encode()).hexdigest()[:8]}"
    _write(folder / WORKER, worker({"code": code, **kept}))


def _write(path: Path, text: str) -> None:
    path.write_text(text, "utf-8", newline="\n")
