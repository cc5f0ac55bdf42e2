"""What differs from edition to edition on pages whose rules stay as they were. Such pages are kept without it, and it is woven in last.

In: a language of the phone booklet. Out: the same with marks in place of the edition's line and number, of the address and of the list that
the find window fetches; and the text of a page with what the marks stand for. Marks are letters and digits only: they are the same text in
HTML, in an attribute and in a script.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace

from markupsafe import escape

from annotator.booklet.site.told import PhoneSite
from annotator.booklet.values import Stamp

LINE = "editionLine5b0f3dc2a9e1"
ROOT = "editionRoot5b0f3dc2a9e1"
FIND = "editionFind5b0f3dc2a9e1"
NUMBER = 730519824601357  # below 2**53, so that it is the same number in a script
_STAMP = Stamp(NUMBER, "editionCode5b0f3dc2a9e1", dt.datetime(1, 1, 1, tzinfo=dt.UTC))
"""Its code and day stand on pages only within the line; pages with them would be seen at once."""


def unstamped(site: PhoneSite) -> PhoneSite:
    """The language with marks where its pages name the edition."""
    booklet = replace(site.booklet, stamp_line=LINE, stamp=None if site.booklet.stamp is None else _STAMP)
    assets = {key: FIND if key.startswith("find-") else name for key, name in site.assets.items()}
    return replace(site, booklet=booklet, assets=assets, root=None if site.root is None else ROOT)


def stamper(site: PhoneSite) -> Callable[[bytes], bytes]:
    """Puts what the marks stand for into one of the language's pages, in UTF-8."""
    stamp = site.booklet.stamp
    told = {
        LINE: str(escape(site.booklet.stamp_line)),
        FIND: str(escape(site.assets[f"find-{site.here.code}"])),
        str(NUMBER): "null" if stamp is None else str(stamp.number),
        ROOT: "" if site.root is None else str(escape(site.root.rstrip("/"))),  # last: staff may write what they like into it
    }

    written = [(mark.encode(), stands_for.encode()) for mark, stands_for in told.items()]

    def stamped(text: bytes) -> bytes:
        for mark, stands_for in written:  # several times as quick as one pattern of all of them
            text = text.replace(mark, stands_for)
        return text

    return stamped
