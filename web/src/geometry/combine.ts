/**
 * Shapes put together and cut: joined, with a hole, kept inside the picture, mended where they cross themselves.
 * Areas follow the same rules as the server's (annotator/marks/outlines.py): even-odd for an outline, flat ends and round corners for a bar.
 */

import { Clipper, ClipType, EndType, FillRule, JoinType, type PathsD, type PolyPathD, PolyTreeD } from "clipper2-ts";
import type { Size } from "./point";
import { type Bar, pathOf, type Ring, ringArea, type Shape, type Spot } from "./shape";

/** Outlines, each with its holes. */
export type Area = readonly (readonly Ring[])[];

const DECIMALS = 3;
const SMALLEST_PX2 = 0.5;

/** The area that a shape covers, mended. */
export function areaOf(shape: Shape): Area {
  if (shape.kind === "bar") return strip(shape);
  const [outline = [], ...holes] = shape.rings;
  const whole = op(ClipType.Union, [outline], []);
  return holes.length === 0 ? whole : op(ClipType.Difference, whole.flat(), op(ClipType.Union, holes, [], FillRule.NonZero).flat());
}

function strip(bar: Bar): Area {
  return nested(Clipper.inflatePathsD([paths(bar.line)], bar.width / 2, JoinType.Round, EndType.Butt, 2, DECIMALS, 0.05));
}

export function joined(one: Area, other: Area): Area {
  return op(ClipType.Union, [...one.flat()], [...other.flat()], FillRule.NonZero);
}

export function without(one: Area, other: Area): Area {
  return op(ClipType.Difference, [...one.flat()], [...other.flat()]);
}

export function shared(one: Area, other: Area): Area {
  return op(ClipType.Intersection, [...one.flat()], [...other.flat()]);
}

/** The picture as an area. */
export function frame({ width, height }: Size): Area {
  return [
    [
      [
        [0, 0],
        [width, 0],
        [width, height],
        [0, height],
      ],
    ],
  ];
}

/** Square pixels of an area. */
export function areaPx2(area: Area): number {
  return area.reduce((sum, rings) => sum + rings.reduce((own, ring, at) => (at === 0 ? ringArea(ring) : own - ringArea(ring)), 0), 0);
}

export function areaPath(area: Area): string {
  return pathOf(area.flat());
}

/** The path of what a shape covers: an outline as it is drawn, a bar as its strip. */
export function shapePath(shape: Shape): string {
  return shape.kind === "bar" ? areaPath(strip(shape)) : pathOf(shape.rings);
}

export type Tidied = Readonly<{ shapes: readonly Shape[]; clipped: boolean; mended: boolean; split: boolean }>;
/** Why nothing came of what was drawn. */
export type Refusal = "too few points" | "no area" | "outside";

/** What was drawn as shapes that can be kept: inside the picture, without crossings. Says what it had to change; largest first. */
export function tidied(shape: Shape, picture: Size): Tidied | Refusal {
  return shape.kind === "bar" ? tidyBar(shape, picture) : tidyOutline(shape.rings, picture);
}

function tidyOutline(rings: readonly Ring[], picture: Size): Tidied | Refusal {
  const [outline = [], ...holes] = rings.map((ring) => withoutRepeats(ring));
  if (outline.length < 3) return "too few points";
  const outside = outline.some(([x, y]) => x < 0 || y < 0 || x > picture.width || y > picture.height);
  const crossing = [outline, ...holes].some(crossesItself);
  if (!outside && !crossing && holes.length === 0)
    return ringArea(outline) < SMALLEST_PX2 ? "no area" : { shapes: [outlined([outline])], clipped: false, mended: false, split: false };
  const whole = areaOf(outlined([outline, ...holes]));
  if (areaPx2(whole) < SMALLEST_PX2) return "no area";
  const inside = large(outside ? shared(whole, frame(picture)) : whole);
  if (inside.length === 0) return "outside";
  return { shapes: inside.map(outlined), clipped: outside, mended: crossing, split: inside.length > 1 };
}

function tidyBar(bar: Bar, picture: Size): Tidied | Refusal {
  const line = withoutRepeats(bar.line, false);
  if (line.length < 2) return "too few points";
  const outside = line.some(([x, y]) => x < 0 || y < 0 || x > picture.width || y > picture.height);
  if (!outside) return { shapes: [{ ...bar, line }], clipped: false, mended: false, split: false };
  const pieces = Clipper.rectClipLines(rect(picture), [paths(line)], DECIMALS) as PathsD;
  const longest = pieces.map(spots).sort((one, other) => lengthOf(other) - lengthOf(one))[0];
  if (!longest || lengthOf(longest) < 1) return "outside";
  return { shapes: [{ ...bar, line: longest }], clipped: true, mended: false, split: false };
}

/** An area as shapes, largest first; what is smaller than half a pixel is left out. */
export function shapesOf(area: Area): readonly Shape[] {
  return large(area).map(outlined);
}

const outlined = (rings: readonly Ring[]): Shape => ({ kind: "outline", rings: [...rings] });
const large = (area: Area): Area =>
  area.filter((rings) => areaPx2([rings]) >= SMALLEST_PX2).toSorted((one, other) => areaPx2([other]) - areaPx2([one]));
const rect = ({ width, height }: Size) =>
  ({ left: 0, top: 0, right: width, bottom: height }) as Parameters<typeof Clipper.rectClipLines>[0];
const paths = (ring: readonly Spot[]) => ring.map(([x, y]) => ({ x, y }));
const spots = (path: PathsD[number]): Ring => path.map(({ x, y }) => [x, y]);

function lengthOf(line: Ring): number {
  let sum = 0;
  for (let at = 1; at < line.length; at += 1) {
    const [[x0, y0], [x1, y1]] = [line[at - 1] as Spot, line[at] as Spot];
    sum += Math.hypot(x1 - x0, y1 - y0);
  }
  return sum;
}

/** Without points that repeat the one before them, and without one that repeats the first where the ring is closed. */
export function withoutRepeats(ring: Ring, closed = true): Ring {
  const found = ring.filter(([x, y], at) => at === 0 || x !== ring[at - 1]?.[0] || y !== ring[at - 1]?.[1]);
  const [first, last] = [found[0], found.at(-1)];
  if (closed && found.length > 1 && first && last && first[0] === last[0] && first[1] === last[1]) found.pop();
  return found;
}

/** Whether two edges of a ring that are no neighbours meet, or neighbours run back over each other. */
export function crossesItself(ring: Ring): boolean {
  const count = ring.length;
  for (let one = 0; one < count; one += 1) {
    const [a, b] = [ring[one] as Spot, ring[(one + 1) % count] as Spot];
    for (let other = one + 1; other < count; other += 1) {
      const [c, d] = [ring[other] as Spot, ring[(other + 1) % count] as Spot];
      if (other === one + 1 || (one === 0 && other === count - 1)) {
        const [from, mid, to] = other === one + 1 ? [a, b, d] : [c, a, b];
        if (side(from, mid, to) === 0 && (mid[0] - from[0]) * (to[0] - mid[0]) + (mid[1] - from[1]) * (to[1] - mid[1]) < 0) return true;
      } else if (meet(a, b, c, d)) return true;
    }
  }
  return false;
}

const side = (a: Spot, b: Spot, c: Spot) => Math.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));

function meet(a: Spot, b: Spot, c: Spot, d: Spot): boolean {
  if (
    Math.max(a[0], b[0]) < Math.min(c[0], d[0]) ||
    Math.max(c[0], d[0]) < Math.min(a[0], b[0]) ||
    Math.max(a[1], b[1]) < Math.min(c[1], d[1]) ||
    Math.max(c[1], d[1]) < Math.min(a[1], b[1])
  )
    return false;
  return side(a, b, c) * side(a, b, d) <= 0 && side(c, d, a) * side(c, d, b) <= 0;
}

function op(kind: ClipType, subject: readonly Ring[], clip: readonly Ring[], rule = FillRule.EvenOdd): Area {
  const tree = new PolyTreeD();
  Clipper.booleanOpDWithPolyTree(kind, subject.map(paths), clip.map(paths), tree, rule, DECIMALS);
  const found: Ring[][] = [];
  const outer = (node: PolyPathD) => {
    const rings = [spots(node.poly ?? [])];
    for (let at = 0; at < node.count; at += 1) {
      const hole = node.child(at);
      rings.push(spots(hole.poly ?? []));
      for (let inner = 0; inner < hole.count; inner += 1) outer(hole.child(inner));
    }
    found.push(rings);
  };
  for (let at = 0; at < tree.count; at += 1) outer(tree.child(at));
  return found;
}

function nested(found: PathsD): Area {
  return op(ClipType.Union, found.map(spots), [], FillRule.NonZero);
}
