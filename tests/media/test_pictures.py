"""Pictures come in upright and leave with nothing in them but the picture. Peer: Pillow's own reader of EXIF."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image as Pillow

from annotator.errors import InputError
from annotator.media import read_picture, write_picture
from annotator.media.upright import Turn, turn_from_matrix
from tests.media.makers import picture

GPS = 0x8825
ORIENTATION = 0x0112


def with_exif(path: Path, orientation: int) -> Path:
    """A photo with a place, a make and a date in it."""
    exif = Pillow.Exif()
    exif[0x010F], exif[0x0132], exif[ORIENTATION] = "Invented Phones", "2026:03:01 10:00:00", orientation
    exif.get_ifd(GPS)[1], exif.get_ifd(GPS)[2] = "N", (37.0, 20.0, 5.6)
    Pillow.fromarray(picture(3)).save(path, exif=exif, quality=95)
    return path


@pytest.mark.parametrize(
    ("orientation", "turned"),
    [
        (1, lambda a: a),
        (3, lambda a: np.rot90(a, 2)),
        (6, lambda a: np.rot90(a, 3)),
        (8, lambda a: np.rot90(a, 1)),
        (2, lambda a: a[:, ::-1]),
    ],
    ids=["upright", "180", "90-clockwise", "90-counter-clockwise", "mirrored"],
)
def test_a_photo_is_read_upright(tmp_path: Path, orientation: int, turned: object) -> None:
    """Meaning of the values: EXIF 2.32, 4.6.4 A, tag 0x0112."""
    image = read_picture(with_exif(tmp_path / "a.jpg", orientation))
    wanted = turned(picture(3))  # type: ignore[operator]
    assert image.shape == wanted.shape and image.dtype == np.uint8
    assert np.abs(image.astype(int) - wanted.astype(int)).mean() < 12


@pytest.mark.parametrize("suffix", [".png", ".jpg", ".jpeg", ".webp", ".JPG"])
def test_a_picture_is_written_without_metadata_and_comes_back(tmp_path: Path, suffix: str) -> None:
    image = read_picture(with_exif(tmp_path / "a.jpg", 6))
    data = write_picture(image, suffix, quality=95)
    with Pillow.open(io.BytesIO(data)) as read:
        assert dict(read.getexif()) == {}
        assert set(read.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", "loop", "background", "timestamp", "duration"}
    assert [mark for mark in (b"Exif", b"Invented", b"2026:", b"GPS", b"tEXt", b"eXIf", b"xmp") if mark in data] == []
    out = tmp_path / f"b{suffix}"
    out.write_bytes(data)
    again = read_picture(out)
    assert again.shape == image.shape
    assert np.array_equal(again, image) if suffix == ".png" else np.abs(again.astype(int) - image.astype(int)).mean() < 20


def test_the_same_picture_has_the_same_bytes() -> None:
    assert write_picture(picture(5), ".png") == write_picture(picture(5), ".png")


@pytest.mark.parametrize(
    ("image", "suffix", "words"),
    [
        pytest.param(picture(1), ".gif", "no picture format", id="unknown-format"),
        pytest.param(picture(1)[..., 0], ".png", "uint8", id="one-plane"),
        pytest.param(picture(1).astype(float), ".png", "uint8", id="floats"),
    ],
)
def test_what_cannot_be_written_is_refused(image: object, suffix: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        write_picture(image, suffix)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        pytest.param(None, "no picture 'a.png'", id="missing"),
        pytest.param(b"", "as a picture", id="empty"),
        pytest.param(b"plain words", "as a picture", id="text"),
        pytest.param(write_picture(picture(1), ".png")[:150], "as a picture", id="cut-off"),
    ],
)
def test_what_is_no_picture_is_refused_with_its_reason(tmp_path: Path, data: bytes | None, words: str) -> None:
    path = tmp_path / "a.png"
    if data is not None:
        path.write_bytes(data)
    with pytest.raises(InputError, match=words):
        read_picture(path)


@pytest.mark.parametrize("side", [15_000, 30_000])
def test_a_picture_larger_than_any_camera_makes_is_not_decoded(tmp_path: Path, side: int) -> None:
    """A few kilobytes that would take up to gigabytes of memory."""
    path = tmp_path / "bomb.png"
    Pillow.new("1", (side, side)).save(path)
    with pytest.raises(InputError, match="more pixels than a camera makes"):
        read_picture(path)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("quarters", range(4))
def test_a_turn_comes_back_from_its_display_matrix(quarters: int, mirrored: bool) -> None:
    assert turn_from_matrix(Turn(quarters, mirrored).matrix()) == Turn(quarters, mirrored)


def test_a_matrix_that_turns_a_little_or_not_at_all_is_upright() -> None:
    assert turn_from_matrix((65000, 5000, 0, -5000, 65000, 0, 0, 0, 1 << 30)) == Turn()
    assert turn_from_matrix((0,) * 9) == Turn()
