"""Where a film writes over its pictures: the label in its corner, and captions. Plates of zones stand elsewhere.

In: sizes. Out: rectangles in the pixels of the clip as filmed.
"""

from __future__ import annotations

from collections.abc import Sequence

from shapely.affinity import affine_transform
from shapely.geometry import Polygon, box

from annotator.captions.burnt import caption_box, corner_of
from annotator.captions.film import label_size

Size = tuple[int, int]


def written_over(canvas: Size, picture: Size, clip: Size, lines: Sequence[str], *, at_top: bool) -> tuple[Polygon, ...]:
    """The rectangles over which something is written, as far as they lie on the picture.

    Parameters
    ----------
    canvas
        Width and height of the film.
    picture
        Of the drawn picture, which stands in the canvas's middle.
    clip
        Of the clip as filmed, in whose pixels zones are described.
    lines
        Of the label.
    at_top
        Captions stand at the top. They are kept free where a player shows them too: that is where the caption files put them.

    Examples
    --------
    >>> label, captions = written_over((854, 480), (854, 480), (1708, 960), ("Station 2: swing rungs",), at_top=True)
    >>> label.bounds[:2], captions.bounds[1] > label.bounds[3], captions.centroid.x
    ((0.0, 0.0), True, 854.0)
    """
    left, top = corner_of(canvas, picture)
    across, down = clip[0] / picture[0], clip[1] / picture[1]
    frame = box(0, 0, *clip)
    found = []
    for place in (box(0, 0, *label_size(lines, canvas)), box(*caption_box(canvas, at_top=at_top))):
        there = affine_transform(place, (across, 0, 0, down, -left * across, -top * down)).intersection(frame)
        if isinstance(there, Polygon) and not there.is_empty:
            found.append(there)
    return tuple(found)
