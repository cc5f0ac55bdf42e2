"""A picture as a film of it shows it: what fits weights of snapping learns from pictures that lost what film loses.

In and out: RGB pictures. Needs nothing but PyAV, unlike what draws the halls.
"""

from __future__ import annotations

import io

import av
import numpy as np
from numpy.typing import NDArray


def through_film(picture: NDArray[np.uint8], crf: int) -> NDArray[np.uint8]:
    """A picture as a film of it is decoded: H.264 of the clips' colours (reel.py), which it keeps at half size.

    `crf` is x264's constant rate factor: 18 is hardly told from the picture, 32 is coarse.
    """
    height, width = picture.shape[:2]
    held = io.BytesIO()
    with av.open(held, "w", format="mp4") as made:
        track = made.add_stream("libx264", rate=15)
        track.width, track.height, track.pix_fmt = width, height, "yuv420p"
        track.options = {"crf": str(crf), "preset": "fast", "x264-params": "colorprim=bt709:transfer=bt709:colormatrix=bt709"}
        track.codec_context.thread_count = 1
        frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(picture), format="rgb24")
        for packet in (*track.encode(frame.reformat(format="yuv420p", dst_colorspace="ITU709")), *track.encode(None)):
            made.mux(packet)
    held.seek(0)
    with av.open(held, "r") as kept:
        return np.asarray(next(kept.decode(video=0)).reformat(format="rgb24").to_ndarray(), np.uint8)
