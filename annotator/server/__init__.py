"""The Flask app: staff pages, JSON API (described as OpenAPI), booklets and judge pages, and the work that takes longer than a request."""

from annotator.server.app import close, create_app, run
from annotator.server.config import Config

__all__ = ["Config", "close", "create_app", "run"]
