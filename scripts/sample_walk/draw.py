"""Draw the hall on the CPU (OpenGL without a screen): as a picture with light and shadow, or as a mask of object numbers.

Both passes take the same pose and the same solids, so a mask fits its picture to the pixel. Needs moderngl and Mesa's EGL.
"""

from __future__ import annotations

from collections.abc import Sequence

import moderngl
import numpy as np
from numpy.typing import NDArray

from scripts.sample_walk.camera import Lens, Pose, view_projection
from scripts.sample_walk.solids import BRICK, FABRIC, FLOOR, GLOW, NET, WOOD, Solid, Vectors
from scripts.sample_walk.textures import SIZE, layers

METRES_A_TILE = {WOOD: 0.8, BRICK: 1.0, FABRIC: 0.4, FLOOR: 1.6, NET: 0.8, GLOW: 1.0}
LIGHT = np.array([-0.32, 1.0, 0.50]) / np.linalg.norm([-0.32, 1.0, 0.50])
SHADOW_PX, SHADOW_M = 1536, 9.0

_VERTEX = """#version 330
uniform mat4 view; uniform mat4 shade;
in vec3 at; in vec3 normal; in vec2 uv; in vec3 colour; in float layer; in float number;
out vec3 n; out vec2 t; out vec3 c; out vec4 s; out float far_m; flat out int l; flat out int o;
void main() {
  gl_Position = view * vec4(at, 1.0); far_m = gl_Position.w;
  n = normal; t = uv; c = colour; l = int(layer + 0.5); o = int(number + 0.5); s = shade * vec4(at, 1.0);
}"""
_PICTURE = """#version 330
uniform sampler2DArray cloth; uniform sampler2DShadow shadow; uniform vec3 light;
in vec3 n; in vec2 t; in vec3 c; in vec4 s; in float far_m; flat in int l; flat in int o; out vec4 paint;
void main() {
  vec2 d = texture(cloth, vec3(t, float(l))).rg;
  if (d.g < 0.5) discard;
  if (l == 6) { paint = vec4(c, 1.0); return; }
  vec3 m = normalize(n);
  float facing = max(dot(m, light), 0.0);
  vec3 q = s.xyz;
  float lit = (q.x < 0.0 || q.x > 1.0 || q.y < 0.0 || q.y > 1.0) ? 1.0 : texture(shadow, q);
  vec3 sky = mix(vec3(0.34, 0.32, 0.30), vec3(0.52, 0.53, 0.56), m.y * 0.5 + 0.5) + vec3(0.06) * m.z;
  vec3 shine = c * (sky + vec3(0.60, 0.57, 0.52) * facing * (0.25 + 0.75 * lit)) * (d.r * 2.0);
  vec3 seen = mix(shine, vec3(0.62, 0.63, 0.64), clamp((far_m - 6.0) * 0.012, 0.0, 0.4));
  paint = vec4(mix(seen, sqrt(seen), 0.42), 1.0);
}"""
_MASK = """#version 330
flat in int o; in vec3 n; in vec2 t; in vec3 c; in vec4 s; in float far_m; flat in int l; out vec4 paint;
void main() { paint = vec4(float(o) / 255.0, 0.0, 0.0, 1.0); }"""
_DEPTH_VERTEX = """#version 330
uniform mat4 shade; in vec3 at; void main() { gl_Position = shade * vec4(at, 1.0); }"""
_DEPTH = """#version 330
void main() {}"""


def vertices_of(solids: Sequence[Solid]) -> NDArray[np.float32]:
    """(N, 13): place, normal, texture place, colour, texture number, object number; three rows a triangle, nearer furniture first."""
    rows: list[NDArray[np.float64]] = []
    for solid in sorted(solids, key=lambda solid: solid.far):
        scale = METRES_A_TILE.get(solid.texture, 0.5)
        for face in solid.faces:
            count = len(face.corners)
            flat = np.abs(face.normals.mean(axis=0))
            axis = int(flat.argmax())
            across = {0: (2, 1), 1: (0, 2), 2: (0, 1)}[axis]
            uv = face.corners[:, across] / scale
            if solid.texture == WOOD and axis == 0:
                uv = uv[:, ::-1]
            rest = np.tile([*solid.colour, solid.texture, face.thing], (count, 1))
            block = np.hstack([face.corners, face.normals, uv, rest])
            for k in range(1, count - 1):
                rows.append(block[[0, k, k + 1]])
    return np.concatenate(rows).astype(np.float32)


def _set(program: moderngl.Program, name: str, value: Vectors) -> None:
    """Hand a vector or a matrix (rows first) to a program."""
    uniform = program[name]
    assert isinstance(uniform, moderngl.Uniform)
    uniform.write(value.T.astype("f4").tobytes())


class Painter:
    """Draws one hall for one lens. Room stands for what never moves; `figure` is handed in with each picture."""

    def __init__(self, solids: Sequence[Solid], lens: Lens, supersample: float = 1.0) -> None:
        self.lens = lens
        self._context = moderngl.create_context(standalone=True, backend="egl")
        context = self._context
        context.enable(moderngl.DEPTH_TEST | moderngl.CULL_FACE)
        self._picture = context.program(vertex_shader=_VERTEX, fragment_shader=_PICTURE)
        self._mask = context.program(vertex_shader=_VERTEX, fragment_shader=_MASK)
        self._depth = context.program(vertex_shader=_DEPTH_VERTEX, fragment_shader=_DEPTH)
        self._still_rows = vertices_of(solids)
        self._loaded: tuple[Solid, ...] | None = None
        self._count = 0
        self._shaded_x: float | None = None
        self._room_rows = len(vertices_of([solid for solid in solids if solid.far]))
        self._size = (round(lens.width * supersample), round(lens.height * supersample))
        colour = context.texture(self._size, 3)
        self._target = context.framebuffer([colour], context.depth_renderbuffer(self._size))
        self._mask_target = context.framebuffer(
            [context.texture((lens.width, lens.height), 4)], context.depth_renderbuffer((lens.width, lens.height))
        )
        self._shadow = context.depth_texture((SHADOW_PX, SHADOW_PX))
        self._shadow.compare_func = "<="
        self._shadow_target = context.framebuffer(depth_attachment=self._shadow)
        pictures = layers()
        self._cloth = context.texture_array((SIZE, SIZE, len(pictures)), 2, pictures.tobytes())
        self._cloth.build_mipmaps()
        self._cloth.filter = (moderngl.LINEAR_MIPMAP_NEAREST, moderngl.LINEAR)
        self._store = context.buffer(reserve=self._still_rows.nbytes + 4_000_000)
        layout = [(self._store, "3f 3f 2f 3f 1f 1f", "at", "normal", "uv", "colour", "layer", "number")]
        self._draw_picture = context.vertex_array(self._picture, layout, skip_errors=True)
        self._draw_mask = context.vertex_array(self._mask, layout, skip_errors=True)
        self._draw_depth = context.vertex_array(self._depth, [(self._store, "3f 40x", "at")])

    def _load(self, figure: Sequence[Solid]) -> int:
        key = tuple(figure)
        if key != self._loaded:
            rows = self._still_rows if not figure else np.concatenate([vertices_of(figure), self._still_rows])
            self._store.write(rows.tobytes())
            self._loaded, self._count, self._shaded_x = key, len(rows), None
        return self._count

    def _shade(self, middle_x: float) -> Vectors:
        """Hall to shadow map: an upright box of light SHADOW_M each way about the stretch that the camera sees."""
        right = np.cross([0.0, 0.0, 1.0], LIGHT)
        right /= np.linalg.norm(right)
        axes = np.stack([right, np.cross(LIGHT, right), LIGHT])
        place = np.array([middle_x, 1.0, 0.0])
        matrix = np.eye(4)
        matrix[:3, :3] = axes / np.array([[SHADOW_M], [SHADOW_M / 1.6], [-12.0]])
        matrix[:3, 3] = -matrix[:3, :3] @ place
        return matrix

    def _cast_shadows(self, shade: Vectors, count: int) -> None:
        _set(self._depth, "shade", shade)
        self._shadow_target.use()
        self._shadow_target.clear(depth=1.0)
        self._context.cull_face = "front"
        self._draw_depth.render(vertices=count - self._room_rows)  # the room throws no shadow: the light comes through its roof
        self._context.cull_face = "back"

    def picture(self, pose: Pose, figure: Sequence[Solid] = ()) -> NDArray[np.uint8]:
        """(H, W, 3) RGB, upright."""
        count = self._load(figure)
        seen_x = round(float(pose.place[0] - pose.axes[2, 0] * 6.0))
        shade = self._shade(seen_x)
        if seen_x != self._shaded_x:
            self._cast_shadows(shade, count)
            self._shaded_x = seen_x
        half = np.array([[0.5, 0, 0, 0.5], [0, 0.5, 0, 0.5], [0, 0, 0.5, 0.4985], [0, 0, 0, 1]])
        _set(self._picture, "shade", (half @ shade))
        _set(self._picture, "view", view_projection(pose, self.lens))
        _set(self._picture, "light", LIGHT)
        self._cloth.use(0)
        self._shadow.use(1)
        self._picture["cloth"] = 0
        self._picture["shadow"] = 1
        self._target.use()
        self._target.clear(0.6, 0.6, 0.6, 1.0)
        self._draw_picture.render(vertices=count)
        width, height = self._size
        raw = np.frombuffer(self._target.read(components=3, alignment=1), np.uint8).reshape(height, width, 3)[::-1]
        if (width, height) == (self.lens.width, self.lens.height):
            return raw
        import cv2

        return np.asarray(cv2.resize(raw, (self.lens.width, self.lens.height), interpolation=cv2.INTER_AREA), np.uint8)

    def mask(self, pose: Pose, figure: Sequence[Solid] = ()) -> NDArray[np.uint8]:
        """(H, W) object numbers, upright; 0 where nothing stands."""
        count = self._load(figure)
        _set(self._mask, "view", view_projection(pose, self.lens))
        self._mask_target.use()
        self._mask_target.clear(0.0, 0.0, 0.0, 0.0)
        self._draw_mask.render(vertices=count)
        raw = np.frombuffer(self._mask_target.read(components=4), np.uint8)
        return raw.reshape(self.lens.height, self.lens.width, 4)[::-1, :, 0].copy()
