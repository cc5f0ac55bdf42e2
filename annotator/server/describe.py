"""Write the OpenAPI description of the API: `python -m annotator.server.describe > web/openapi.json`, then `npm run types` in web/.

The staff pages take their types from it; a test holds the committed copy against the app.
"""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path

from annotator.library import Library
from annotator.server.app import close, create_app
from annotator.server.config import Config


def description() -> str:
    """The description as JSON with sorted keys, so that a change shows as what it is."""
    with tempfile.TemporaryDirectory() as folder, Library(Path(folder)) as library:
        app = create_app(Config(library, work=False))
        try:
            return json.dumps(app.api_doc, indent=1, ensure_ascii=False, sort_keys=True) + "\n"
        finally:
            close(app)


if __name__ == "__main__":
    sys.stdout.write(description())
