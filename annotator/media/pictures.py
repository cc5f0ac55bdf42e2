"""Still pictures: read them upright, write them with nothing in them but the picture (no place, no device, no date).

In: a file or an array. Out: an array or the bytes of a file. Where the bytes are kept is the library's business.
"""

from __future__ import annotations

import io
import warnings
from pathlib import Path

import numpy as np
from PIL import Image as Pillow
from PIL import ImageOps

from annotator.errors import InputError
from annotator.media.upright import Image

FORMATS = {".png": "PNG", ".jpg": "JPEG", ".jpeg": "JPEG", ".webp": "WEBP"}
MOST_PIXELS = 200_000_000


def write_picture(image: Image, suffix: str, quality: int = 85) -> bytes:
    """The bytes of a picture file in the format of its suffix, without any metadata.

    Parameters
    ----------
    image : (H, W, 3) uint8 RGB, upright
    suffix : ".png" (lossless), ".jpg", ".jpeg" or ".webp"
    quality : 1 to 95, for JPEG and WebP

    Raises
    ------
    ValueError
        The suffix is none of these, or the array is no RGB picture.

    Examples
    --------
    >>> write_picture(np.zeros((2, 3, 3), np.uint8), ".png")[1:4]
    b'PNG'
    """
    kind = FORMATS.get(suffix.lower())
    if kind is None:
        raise ValueError(f"no picture format for {suffix!r}; use one of {', '.join(FORMATS)}")
    if image.dtype != np.uint8 or image.ndim != 3 or image.shape[2] != 3:
        raise ValueError(f"the array is {image.dtype} {image.shape}; a picture is uint8 (height, width, 3)")
    out = io.BytesIO()
    picture = Pillow.fromarray(np.ascontiguousarray(image), "RGB")
    if kind == "PNG":
        picture.save(out, kind, compress_level=4)
    else:
        picture.save(out, kind, quality=quality)
    return out.getvalue()


def read_picture(path: Path) -> Image:
    """A picture file as an upright (H, W, 3) uint8 RGB array; the turn that its EXIF data ask for is applied.

    Raises
    ------
    InputError
        The file is missing, no picture, damaged, or larger than a camera makes.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Pillow.DecompressionBombWarning)  # we measure before we decode
            with Pillow.open(path) as picture:
                if picture.width * picture.height > MOST_PIXELS:
                    raise _too_large(path)
                return np.array(ImageOps.exif_transpose(picture).convert("RGB"))
    except FileNotFoundError as exc:
        raise InputError(f"There is no picture {Path(path).name!r}. Check the name and the folder.") from exc
    except Pillow.DecompressionBombError as exc:
        raise _too_large(path) from exc
    except (OSError, SyntaxError) as exc:
        raise InputError(f"Cannot read {Path(path).name!r} as a picture: {exc}. Export it as PNG or JPEG and try again.") from exc


def _too_large(path: Path) -> InputError:
    return InputError(f"{Path(path).name!r} has more pixels than a camera makes. Make it smaller and try again.")
