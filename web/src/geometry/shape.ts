/** Outlines with holes, and lines with a width, in pixels of the still: where their points are and how a hand changes them. Pure. */

import type { Point } from "./point";

/** A place as the course has it: x, then y. */
export type Spot = [number, number];
export type Ring = Spot[];
/** An outline first, then its holes; no ring repeats its first point. */
export type Outline = Readonly<{ kind: "outline"; rings: readonly Ring[] }>;
/** A line along a thin thing, with the thing's width. */
export type Bar = Readonly<{ kind: "bar"; line: Ring; width: number }>;
export type Shape = Outline | Bar;
/** A point of a shape: which ring (a bar has one), and which point of it. As an edge: from this point to the next. */
export type Place = Readonly<{ ring: number; at: number }>;
export type Bounds = Readonly<{ left: number; top: number; right: number; bottom: number }>;

type MarkShape = Readonly<{ rings: Ring[] | null; line: Ring | null; width: number | null }>;

export function shapeOf(mark: MarkShape): Shape {
  if (mark.line !== null) return { kind: "bar", line: mark.line, width: mark.width ?? 1 };
  return { kind: "outline", rings: mark.rings ?? [] };
}

/** A shape as the fields of a mark, to a hundredth of a pixel. */
export function fieldsOf(shape: Shape): { rings: Ring[] | null; line: Ring | null; width: number | null } {
  if (shape.kind === "bar") return { rings: null, line: rounded(shape.line), width: Math.max(0.1, hundredth(shape.width)) };
  return { rings: shape.rings.map(rounded), line: null, width: null };
}

const hundredth = (value: number) => Math.round(value * 100) / 100;
const rounded = (ring: Ring): Ring => ring.map(([x, y]) => [hundredth(x), hundredth(y)]);

/** The rings of an outline, or the one line of a bar. */
export function ringsOf(shape: Shape): readonly Ring[] {
  return shape.kind === "bar" ? [shape.line] : shape.rings;
}

function withRing(shape: Shape, ring: number, change: (points: Ring) => Ring): Shape {
  if (shape.kind === "bar") return { ...shape, line: change(shape.line) };
  return { ...shape, rings: shape.rings.map((each, at) => (at === ring ? change(each) : each)) };
}

export function pointAt(shape: Shape, place: Place): Spot | null {
  return ringsOf(shape)[place.ring]?.[place.at] ?? null;
}

export function withPoint(shape: Shape, place: Place, to: Spot): Shape {
  return withRing(shape, place.ring, (points) => points.map((each, at) => (at === place.at ? to : each)));
}

/** With one more point on the edge that begins at `edge`; it is the point after it. */
export function withNewPoint(shape: Shape, edge: Place, spot: Spot): Shape {
  return withRing(shape, edge.ring, (points) => [...points.slice(0, edge.at + 1), spot, ...points.slice(edge.at + 1)]);
}

/** Without a point; a hole that is left with two goes with it. Null where the shape cannot do without it. */
export function withoutPoint(shape: Shape, place: Place): Shape | null {
  const ring = ringsOf(shape)[place.ring];
  if (!ring || place.at >= ring.length) return null;
  if (ring.length > (shape.kind === "bar" ? 2 : 3))
    return withRing(shape, place.ring, (points) => points.filter((_, at) => at !== place.at));
  if (shape.kind === "bar" || place.ring === 0) return null;
  return { ...shape, rings: shape.rings.filter((_, at) => at !== place.ring) };
}

export function movedBy(shape: Shape, dx: number, dy: number): Shape {
  const move = (ring: Ring): Ring => ring.map(([x, y]) => [x + dx, y + dy]);
  return shape.kind === "bar" ? { ...shape, line: move(shape.line) } : { ...shape, rings: shape.rings.map(move) };
}

export function boundsOf(shape: Shape): Bounds {
  const room = shape.kind === "bar" ? shape.width / 2 : 0;
  let [left, top, right, bottom] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of ringsOf(shape)[0] ?? []) {
    left = Math.min(left, x - room);
    right = Math.max(right, x + room);
    top = Math.min(top, y - room);
    bottom = Math.max(bottom, y + room);
  }
  return { left, top, right, bottom };
}

/** Whether a spot lies on a shape: inside by the even-odd rule, or on a bar's strip. */
export function covers(shape: Shape, spot: Point): boolean {
  if (shape.kind === "bar")
    return edges(shape).some((edge) => nearestOn(edge.from, edge.to, spot).distance <= Math.max(shape.width / 2, 0.5));
  let inside = false;
  for (const { from, to } of edges(shape)) {
    if (from[1] > spot.y !== to[1] > spot.y && spot.x < from[0] + ((spot.y - from[1]) / (to[1] - from[1])) * (to[0] - from[0]))
      inside = !inside;
  }
  return inside;
}

/** Square pixels that a ring encloses; what a crossing ring encloses twice the other way round counts against it. */
export function ringArea(ring: Ring): number {
  let twice = 0;
  for (let at = 0; at < ring.length; at += 1) {
    const [x0, y0] = ring[at] as Spot;
    const [x1, y1] = ring[(at + 1) % ring.length] as Spot;
    twice += x0 * y1 - x1 * y0;
  }
  return Math.abs(twice) / 2;
}

/** About how much a shape covers, to tell small ones from large ones. */
export function sizeOf(shape: Shape): number {
  if (shape.kind === "bar")
    return shape.width * edges(shape).reduce((sum, { from, to }) => sum + Math.hypot(to[0] - from[0], to[1] - from[1]), 0);
  return ringArea(shape.rings[0] ?? []);
}

type Edge = Readonly<{ place: Place; from: Spot; to: Spot }>;

function edges(shape: Shape): readonly Edge[] {
  const found: Edge[] = [];
  const open = shape.kind === "bar";
  ringsOf(shape).forEach((points, ring) => {
    for (let at = 0; at < points.length - (open ? 1 : 0); at += 1)
      found.push({ place: { ring, at }, from: points[at] as Spot, to: points[(at + 1) % points.length] as Spot });
  });
  return found;
}

export function nearestOn([x0, y0]: Spot, [x1, y1]: Spot, { x, y }: Point): { spot: Spot; distance: number } {
  const length = (x1 - x0) ** 2 + (y1 - y0) ** 2;
  const along = length === 0 ? 0 : Math.min(1, Math.max(0, ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / length));
  const spot: Spot = [x0 + along * (x1 - x0), y0 + along * (y1 - y0)];
  return { spot, distance: Math.hypot(x - spot[0], y - spot[1]) };
}

/** The nearest point of a shape, if one is within reach. */
export function nearestPoint(shape: Shape, spot: Point, reach: number): Place | null {
  let [best, place]: [number, Place | null] = [reach, null];
  ringsOf(shape).forEach((points, ring) => {
    points.forEach(([x, y], at) => {
      const distance = Math.hypot(x - spot.x, y - spot.y);
      if (distance <= best) [best, place] = [distance, { ring, at }];
    });
  });
  return place;
}

/** The nearest edge of a shape and the spot on it, if one is within reach. */
export function nearestEdge(shape: Shape, spot: Point, reach: number): { place: Place; spot: Spot } | null {
  let best: { place: Place; spot: Spot; distance: number } | null = null;
  for (const { place, from, to } of edges(shape)) {
    const found = nearestOn(from, to, spot);
    if (found.distance <= (best?.distance ?? reach)) best = { place, ...found };
  }
  return best;
}

/** The places half way along each edge, where a point can be added. */
export function middlesOf(shape: Shape): readonly Spot[] {
  return edges(shape).map(({ from, to }) => [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2]);
}

export function boxRing(one: Point, other: Point): Ring {
  const [left, right] = [Math.min(one.x, other.x), Math.max(one.x, other.x)];
  const [top, bottom] = [Math.min(one.y, other.y), Math.max(one.y, other.y)];
  return [
    [left, top],
    [right, top],
    [right, bottom],
    [left, bottom],
  ];
}

const ROUND_POINTS = 24;

/** The ellipse inside a box, as points. */
export function roundRing(one: Point, other: Point): Ring {
  const [cx, cy] = [(one.x + other.x) / 2, (one.y + other.y) / 2];
  const [rx, ry] = [Math.abs(other.x - one.x) / 2, Math.abs(other.y - one.y) / 2];
  return Array.from({ length: ROUND_POINTS }, (_, at) => {
    const turn = (2 * Math.PI * at) / ROUND_POINTS;
    return [cx + rx * Math.cos(turn), cy + ry * Math.sin(turn)];
  });
}

/** Without the points that lie within `tolerance` of the line through their neighbours (Ramer 1972, Douglas and Peucker 1973). */
export function simplified(points: Ring, tolerance: number): Ring {
  const keep = new Set([0, points.length - 1]);
  const spans: [number, number][] = [[0, points.length - 1]];
  for (let span = spans.pop(); span; span = spans.pop()) {
    const [first, last] = span;
    let [worst, at] = [tolerance, -1];
    for (let each = first + 1; each < last; each += 1) {
      const [x, y] = points[each] as Spot;
      const { distance } = nearestOn(points[first] as Spot, points[last] as Spot, { x, y });
      if (distance > worst) [worst, at] = [distance, each];
    }
    if (at < 0) continue;
    keep.add(at);
    spans.push([first, at], [at, last]);
  }
  return points.filter((_, at) => keep.has(at));
}

/** The rings as an SVG path; `closed` joins each ring's end to its beginning. */
export function pathOf(rings: readonly (readonly Spot[])[], closed = true): string {
  return rings
    .filter((ring) => ring.length > 0)
    .map((ring) => `M${ring.map(([x, y]) => `${short(x)} ${short(y)}`).join("L")}${closed ? "Z" : ""}`)
    .join(" ");
}

/** Each spot as a line of no length: drawn with round ends it is a dot that keeps its size at every zoom. */
export function dotsOf(spots: readonly Spot[]): string {
  return spots.map(([x, y]) => `M${short(x)} ${short(y)}h0`).join("");
}

const short = (value: number) => String(Math.round(value * 100) / 100);
