"""The booklet for phones: a folder of static pages, or one file to pass round; pages, pictures, script and what works without a network."""

from annotator.booklet.site.folder import write_site
from annotator.booklet.site.single import write_single
from annotator.booklet.site.told import WalkClip, page_name
from annotator.booklet.site.weaving import STATIC, as_script_data, environment

__all__ = ["STATIC", "WalkClip", "as_script_data", "environment", "page_name", "write_single", "write_site"]
