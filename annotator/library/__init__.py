"""Where courses live: documents with history, files by content, editions, and what stages have done. The only folder that knows SQL."""

from annotator.library.binned import KEPT as KEPT_IN_BIN
from annotator.library.binned import Binned, Judge, Keeps
from annotator.library.canon import canonical, slug, stage_key
from annotator.library.decisions import Decisions, read_decisions
from annotator.library.documents import Revised
from annotator.library.editions import Edition, content_hash, same_for_readers, short_code
from annotator.library.pack import Packed
from annotator.library.store import Library

__all__ = [
    "KEPT_IN_BIN",
    "Binned",
    "Decisions",
    "Edition",
    "Judge",
    "Keeps",
    "Library",
    "Packed",
    "Revised",
    "canonical",
    "content_hash",
    "read_decisions",
    "same_for_readers",
    "short_code",
    "slug",
    "stage_key",
]
