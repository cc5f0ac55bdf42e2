"""Where courses live: documents with history, files by content, editions, and what stages have done. The only folder that knows SQL."""

from annotator.library.canon import canonical, slug, stage_key
from annotator.library.documents import Revised
from annotator.library.store import Library

__all__ = ["Library", "Revised", "canonical", "slug", "stage_key"]
