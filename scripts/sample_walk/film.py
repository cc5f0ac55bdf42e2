"""Film the demo walk: draw every frame, write the clips, and keep the truth of the stills.

In: a walk with clips, and what was spoken. Out: files in a folder. This is the slow part; everything it decides was decided in plan.py.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import av
import numpy as np
from PIL import Image

from scripts.sample_walk.answers import write_answers, write_json
from scripts.sample_walk.camera import Path as CameraPath
from scripts.sample_walk.draw import Painter
from scripts.sample_walk.hall import Hall, build_hall
from scripts.sample_walk.plan import TICKS_A_SECOND, Shoot, figure_at, plan_clip
from scripts.sample_walk.reel import TRACK_TICKS, Reel
from scripts.sample_walk.speech import Take
from scripts.sample_walk.staff import draw_marks
from scripts.sample_walk.walkfile import Walk

SUPERSAMPLE = 1.25
CLIP_BYTES = 7_400_000
"""What a clip may weigh, its sound included."""
SOUND_BITS_A_SECOND = 52_000
ROOM_TONE = 0.0012


def film_walk(walk: Walk, takes: Sequence[Take], out: Path, only_s: float | None = None, keep_films: bool = False) -> None:
    """Write clips, truth and marks into `out`. `only_s` films the first seconds of a clip only, for a trial; `keep_films` films nothing."""
    hall = build_hall()
    demonstrator = hall.thing("demonstrator")
    shoots = [plan_clip(walk, take, hall) for take in takes]
    out.mkdir(parents=True, exist_ok=True)
    for shoot, take in zip(shoots, takes, strict=True):
        if keep_films:
            continue
        _film(walk, shoot, take, hall, demonstrator, out / walk.clips[shoot.clip - 1].file, only_s)
    lengths = {shoot.clip: length_of(out / walk.clips[shoot.clip - 1].file) for shoot in shoots}
    keep_truth(walk, takes, shoots, hall, lengths, out)


def length_of(file: Path) -> float:
    """How long a clip is, as its container says."""
    with av.open(str(file)) as opened:
        return float(opened.duration or 0) / av.time_base


def keep_truth(walk: Walk, takes: Sequence[Take], shoots: Sequence[Shoot], hall: Hall, lengths: Mapping[int, float], out: Path) -> None:
    """Masks, answers and marks; `lengths` are those of the clip files in seconds, for one begins where the one before ends."""
    demonstrator = hall.thing("demonstrator")
    truth = out / "truth"
    truth.mkdir(parents=True, exist_ok=True)
    starts, clips, at = {}, [], 0.0
    for shoot in shoots:
        file = walk.clips[shoot.clip - 1].file
        length = lengths[shoot.clip]
        starts[shoot.clip] = at
        clips.append({"number": shoot.clip, "file": file, "start_s": round(at, 6), "duration_s": round(length, 6)})
        at += length
    stills: list[dict[str, Any]] = []
    for shoot in shoots:
        painter = Painter(hall.solids, shoot.lens)
        path = CameraPath(shoot.keys, walk.seed + shoot.clip)
        for still in shoot.stills:
            tick, following = shoot.ticks[still.frame], shoot.ticks[still.frame + 1]
            moment = tick / TICKS_A_SECOND
            pose = path.pose(moment)
            mask = painter.mask(pose, figure_at(shoot, moment, demonstrator, float(pose.place[0])))
            name = f"{still.id}.png"
            Image.fromarray(mask).save(truth / name, optimize=True)
            seen = {t.number: t for t in hall.things if (mask == t.number).any()}
            stills.append(
                {
                    "still": still.id,
                    "station": still.station,
                    "time_s": round(starts[shoot.clip] + (tick + following) / 2 / TICKS_A_SECOND, 4),
                    "clip": shoot.clip,
                    "clip_time_s": round(moment, 6),
                    "pts": tick * TRACK_TICKS // TICKS_A_SECOND,
                    "width": shoot.lens.width,
                    "height": shoot.lens.height,
                    "file": name,
                    "objects": {str(n): {"name": t.name, "part": t.part} for n, t in sorted(seen.items())},
                }
            )
    write_json(truth / "stills.json", {"time_base": f"1/{TRACK_TICKS}", "clips": clips, "stills": stills})
    write_answers(walk, takes, starts, at, truth)
    write_json(out / "marks.json", draw_marks(walk, shoots, hall, {s["still"]: s["time_s"] for s in stills}))


def _film(walk: Walk, shoot: Shoot, take: Take, hall: Hall, demonstrator: int, file: Path, only_s: float | None) -> None:
    painter = Painter(hall.solids, shoot.lens, SUPERSAMPLE)
    path = CameraPath(shoot.keys, walk.seed + shoot.clip)
    portrait = walk.clips[shoot.clip - 1].shape == "portrait"
    ticks = [t for t in shoot.ticks if only_s is None or t < only_s * TICKS_A_SECOND]
    rng = np.random.default_rng(walk.seed)
    began = time.monotonic()
    bits = round(CLIP_BYTES * 8 / take.duration_s) - SOUND_BITS_A_SECOND
    with Reel(file, shoot.lens.width, shoot.lens.height, portrait, bits) as reel:
        sound = take.samples if only_s is None else take.samples[: round(only_s * take.sample_rate)]
        sound = 0.9 * sound + rng.normal(0, ROOM_TONE, len(sound)).astype(np.float32)
        reel.add_sound(sound.astype(np.float32), take.sample_rate)
        for done, tick in enumerate(ticks, start=1):
            moment = tick / TICKS_A_SECOND
            pose = path.pose(moment)
            reel.add(painter.picture(pose, figure_at(shoot, moment, demonstrator, float(pose.place[0]))), tick)
            if done % 30 == 0 or done == len(ticks):
                rate = done / (time.monotonic() - began)
                left = (len(ticks) - done) / rate
                print(
                    f"\r{file.name}: {done}/{len(ticks)} frames, {rate:.1f} a second, {left:.0f} s left   ",
                    end="",
                    file=sys.stderr,
                    flush=True,
                )
    print(file=sys.stderr)
