"""The hall, the camera and the marks: geometry against shapely, a mask against its own outlines, human error within its bounds."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scripts.sample_walk.camera import Key, Lens, Path, project, view_projection
from scripts.sample_walk.figure import body_in, shirt_of, solids_of
from scripts.sample_walk.hall import build_hall
from scripts.sample_walk.plan import FRAME_TICKS, LENSES, STATION_AWAY, STATION_X, STATION_Y, frame_ticks
from scripts.sample_walk.solids import Solid, ball, bar, box, hoop, wedge
from scripts.sample_walk.staff import CORNER_ERROR_PX, look_at, mark_surface

HALL = build_hall()
SOLIDS = [
    pytest.param(box((0, 1, 0), (1, 2, 0.5), 1, (1, 0, 0)), 2 * (2 + 0.5 + 1), id="box"),
    pytest.param(box((0, 1, 0), (1, 2, 0.5), 1, (1, 0, 0), tilt_deg=35), 2 * (2 + 0.5 + 1), id="tilted-box"),
    pytest.param(wedge(0, 3, 4, 0, 1, 1, (1, 0, 0)), 3 + 4 + 5 + 2 * 6, id="wedge"),
    pytest.param(bar((0, 0, 0), (0, 3, 0), 0.5, 1, (1, 0, 0), sides=96), 2 * np.pi * 0.5 * 3.5, id="bar"),
    pytest.param(ball((0, 0, 0), 1.0, 1, (1, 0, 0), rows=32, sides=48), 4 * np.pi, id="ball"),
    pytest.param(hoop((0, 0, 0), 1.0, 0.2, 1, (1, 0, 0), steps=48, sides=24), 4 * np.pi**2 * 0.2, id="hoop"),
]


@pytest.mark.parametrize(("solid", "surface_m2"), SOLIDS)
def test_a_solid_has_the_surface_that_geometry_says_and_faces_outward(solid: Solid, surface_m2: float) -> None:
    total, volume = 0.0, 0.0
    for face in solid.faces:
        c = face.corners
        normals = [np.cross(c[i] - c[0], c[i + 1] - c[0]) / 2 for i in range(1, len(c) - 1)]
        total += float(np.linalg.norm(sum(normals)))
        volume += sum(float(c[0] @ n) for n in normals) / 3
    assert total == pytest.approx(surface_m2, rel=0.02)
    assert volume > 0  # divergence theorem: positive only where faces look out


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])  # busy machines draw slowly
@given(st.floats(0, 200), st.lists(st.tuples(*[st.floats(-5, 5)] * 3), min_size=1, max_size=5))
def test_projection_agrees_with_the_matrix_that_draws(time_s: float, points: list[tuple[float, float, float]]) -> None:
    lens = LENSES["portrait"]
    pose = Path([Key(0, 0, (1.0, 1.7, 12.0), (0.0, 1.0, 0.0))], seed=3).pose(time_s)
    spots = np.array(points)
    pixels, depth = project(spots, pose, lens)
    clip = np.hstack([spots, np.ones((len(spots), 1))]) @ view_projection(pose, lens).T
    drawn = np.stack([(clip[:, 0] / clip[:, 3] + 1) * lens.width / 2, (1 - clip[:, 1] / clip[:, 3]) * lens.height / 2], axis=1)
    assert np.allclose(pixels, drawn, atol=1e-6)
    assert np.allclose(depth, clip[:, 3])


def test_a_camera_at_rest_only_sways_a_little() -> None:
    path = Path([Key(0, 0, (0, 1.7, 5), (0, 1, 0)), Key(10, 3, (6, 1.7, 5), (6, 1, 0))], seed=3)
    places = np.array([path.pose(t).place for t in np.arange(14, 30, 0.1)])
    assert np.abs(places - places.mean(axis=0)).max() < 0.03
    assert path.speed(11.5) > 1.0
    assert path.speed(20.0) == 0.0


@pytest.mark.parametrize("seed", range(5))
def test_uneven_frames_keep_their_order_and_lose_some(seed: int) -> None:
    ticks = frame_ticks(600 * 60, steady=False, seed=seed)
    assert ticks[0] == 0
    assert all(b - a >= FRAME_TICKS - 12 for a, b in pairwise(ticks))
    assert 0.8 < len(ticks) / 900 < 0.95


@pytest.mark.parametrize("act", ["rungs clear", "rings fail"])
def test_a_demonstrator_keeps_its_size_and_moves_without_jumps(act: str) -> None:
    bodies = [body_in(act, share) for share in np.linspace(0, 1, 400)]
    steps = [np.linalg.norm(b.hip - a.hip) for a, b in pairwise(bodies)]
    assert max(steps) < 0.12
    for body in bodies[::40]:
        corners = np.concatenate([f.corners for s in solids_of(body, 1, shirt_of(act)) for f in s.faces])
        assert 1.2 < np.ptp(corners[:, 1]) < 2.6
        assert corners[:, 1].min() > -0.03


def test_object_numbers_fit_a_byte_and_are_given_once() -> None:
    assert [t.number for t in HALL.things] == list(range(1, len(HALL.things) + 1))
    assert len(HALL.things) < 255
    assert len({(t.name, t.part) for t in HALL.things}) == len(HALL.things)


def test_marks_stay_within_human_error_of_the_true_outline() -> None:
    lens = LENSES["landscape"]
    pose = Path([Key(0, 0, (3.2, 1.75, 5.7), (3.2, 0.75, 0.0))], seed=1).pose(0.0)
    seen = [s for s in (look_at(solid, pose, lens) for solid in HALL.solids if not solid.far) if s is not None]
    mat = HALL.thing("red mat")
    true = next(s.regions[mat] for s in seen if mat in s.regions)
    assert isinstance(true, shapely.Polygon)
    for seed in range(8):
        (shape,) = mark_surface(("red mat", None), seen, HALL, pose, lens, np.random.default_rng(seed))
        drawn = shapely.Polygon(shape["rings"][0])
        off = shapely.hausdorff_distance(drawn.exterior, true.exterior, densify=0.02)
        assert 1.0 < off <= CORNER_ERROR_PX[1] + 1.5


def test_what_stands_in_front_is_cut_out_of_a_mark() -> None:
    lens = Lens(640, 480, 500.0)
    pose = Path([Key(0, 0, (0, 1.0, 5), (0, 1, 0))], seed=1).pose(0.0)
    hall = build_hall()
    wall, crate = hall.thing("test wall"), hall.thing("crate")
    solids = [box((0, 1, 0), (2, 2, 0.1), wall, (1, 1, 1)), box((0, 1, 1), (0.5, 0.5, 0.5), crate, (1, 0, 0))]
    seen = [s for s in (look_at(solid, pose, lens) for solid in solids) if s is not None]
    (shape,) = mark_surface(("test wall", None), seen, hall, pose, lens, np.random.default_rng(0))
    assert len(shape["rings"]) == 2  # an outline and a hole
    drawn = shapely.Polygon(shape["rings"][0], shape["rings"][1:])
    middle = project(np.array([[0.0, 1.0, 1.25]]), pose, lens)[0][0]
    corner = project(np.array([[0.8, 1.8, 0.05]]), pose, lens)[0][0]
    assert not drawn.contains(shapely.Point(middle))
    assert drawn.contains(shapely.Point(corner))


def test_a_drawn_mask_covers_what_the_outlines_say() -> None:
    pytest.importorskip("moderngl", reason="the drawing library is not installed: pip install moderngl")
    from scripts.sample_walk.draw import Painter

    lens = LENSES["landscape"]
    try:
        painter = Painter(HALL.solids, lens)
    except Exception as exc:  # whatever a machine without EGL raises
        pytest.skip(f"no OpenGL without a screen here ({exc}): apt install libegl1")
    for station in (1, 4, 6):
        x, y, away = STATION_X[station - 1], STATION_Y[station - 1], STATION_AWAY[station - 1]
        pose = Path([Key(0, 0, (x, 1.75, away), (x, y, 0.0))], seed=station).pose(1.0)
        mask = painter.mask(pose)
        seen = [s for s in (look_at(solid, pose, lens) for solid in HALL.solids if not solid.far) if s is not None]
        for thing in {number for one in seen for number in one.regions}:
            outline = shapely.union_all([one.regions[thing] for one in seen if thing in one.regions]).buffer(1.0)
            shapely.prepare(outline)
            ys, xs = np.nonzero(mask == thing)
            assert shapely.contains_xy(outline, xs + 0.5, ys + 0.5).all(), HALL.things[thing - 1]
