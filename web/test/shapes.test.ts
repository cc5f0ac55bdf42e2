import fc from "fast-check";
import { describe, expect, it, test } from "vitest";
import { areaOf, areaPx2, crossesItself, joined, tidied, without } from "../src/geometry/combine";
import {
  boxRing,
  covers,
  dotsOf,
  fieldsOf,
  movedBy,
  nearestEdge,
  nearestPoint,
  type Ring,
  ringArea,
  roundRing,
  type Shape,
  shapeOf,
  simplified,
  sizeOf,
  withNewPoint,
  withoutPoint,
  withPoint,
} from "../src/geometry/shape";
import { enlarged, fromBoard, kept, MOST_ENLARGED, shifted, showing, toBoard, whole } from "../src/geometry/view";
import byShapely from "./areas-by-shapely.json";

const picture = { width: 100, height: 100 };
const outline = (...rings: Ring[]): Shape => ({ kind: "outline", rings });
const square: Ring = [
  [10, 10],
  [50, 10],
  [50, 50],
  [10, 50],
];
const hole: Ring = [
  [20, 20],
  [30, 20],
  [30, 30],
];
const holed = outline(square, hole);
const bar: Shape = {
  kind: "bar",
  line: [
    [0, 50],
    [100, 50],
  ],
  width: 10,
};
const spot = fc.tuple(fc.integer({ min: -50, max: 150 }), fc.integer({ min: -50, max: 150 })) as fc.Arbitrary<[number, number]>;
const ring = fc.array(spot, { minLength: 3, maxLength: 14 });

describe("areas are those that shapely 2.2 finds (make_valid, union, difference, intersection, buffer; computed once, kept in the file)", () => {
  it.each(byShapely.map((each, at) => [at, each] as const))("case %i", (_, each) => {
    const [one, other] = [areaOf(outline(each.one as Ring)), areaOf(outline(each.other as Ring))];
    const within = (found: number, wanted: number) => expect(Math.abs(found - wanted)).toBeLessThan(Math.max(0.5, wanted * 0.001));
    within(areaPx2(one), each.area);
    within(areaPx2(joined(one, other)), each.joined);
    within(areaPx2(without(one, other)), each.less);
    within(areaPx2(areaOf({ kind: "bar", line: each.line as Ring, width: each.width })), each.strip);
    const kept = tidied(outline(each.one as Ring), picture);
    within(typeof kept === "string" ? 0 : kept.shapes.reduce((sum, shape) => sum + areaPx2(areaOf(shape)), 0), each.inside);
  });
});

describe("what is drawn becomes what can be kept", () => {
  const bowTie: Ring = [
    [0, 0],
    [40, 40],
    [40, 0],
    [0, 40],
  ];
  it.each([
    ["a plain outline stays as it is", outline(square), { clipped: false, mended: false, split: false, count: 1 }],
    ["a bow-tie becomes two triangles", outline(bowTie), { clipped: false, mended: true, split: true, count: 2 }],
    ["what reaches out is cut at the picture's edge", movedOut(), { clipped: true, mended: false, split: false, count: 1 }],
    ["a bar that reaches out ends at the edge", movedBy(bar, 30, 0), { clipped: true, mended: false, split: false, count: 1 }],
  ])("%s", (_, shape, { count, ...said }) => {
    const found = tidied(shape, picture);
    if (typeof found === "string") throw new Error(found);
    expect(found.shapes).toHaveLength(count);
    expect(found).toMatchObject(said);
  });
  it.each([
    ["one point", outline([[5, 5]]), "too few points"],
    [
      "three times the same point",
      outline([
        [5, 5],
        [5, 5],
        [5, 5],
      ]),
      "too few points",
    ],
    [
      "no area",
      outline([
        [5, 5],
        [50, 50],
        [95, 95],
      ]),
      "no area",
    ],
    ["all of it outside", movedBy(outline(square), 400, 0), "outside"],
    ["a bar outside", movedBy(bar, 0, 300), "outside"],
    ["a bar of one point", { ...bar, line: [[3, 3]] } as Shape, "too few points"],
  ])("%s is refused with its reason", (_, shape, reason) => {
    expect(tidied(shape, picture)).toBe(reason);
  });

  test("whatever is drawn, what is kept lies inside the picture, does not cross itself and has an area", () => {
    fc.assert(
      fc.property(ring, (points) => {
        const found = tidied(outline(points), picture);
        if (typeof found === "string") return;
        for (const shape of found.shapes) {
          if (shape.kind !== "outline") throw new Error("an outline stays an outline");
          const [outer = []] = shape.rings;
          expect(outer.length).toBeGreaterThanOrEqual(3);
          expect(ringArea(outer)).toBeGreaterThan(0);
          for (const [x, y] of outer) expect(x >= 0 && y >= 0 && x <= 100 && y <= 100).toBe(true);
        }
      }),
    );
  });

  function movedOut(): Shape {
    return movedBy(outline(square), 70, 0);
  }
});

describe("points of a shape", () => {
  test("a mark becomes a shape and the same mark again", () => {
    for (const shape of [holed, bar]) expect(shapeOf(fieldsOf(shape))).toEqual(shape);
  });
  test("are found within reach, moved, added and taken away", () => {
    expect(nearestPoint(holed, { x: 29, y: 21 }, 5)).toEqual({ ring: 1, at: 1 });
    expect(nearestPoint(holed, { x: 40, y: 40 }, 5)).toBeNull();
    const edge = nearestEdge(holed, { x: 30, y: 8 }, 5);
    expect(edge).toEqual({ place: { ring: 0, at: 0 }, spot: [30, 10], distance: 2 });
    const more = withNewPoint(holed, { ring: 0, at: 0 }, [30, 5]);
    expect(more.kind === "outline" && more.rings[0]).toEqual([[10, 10], [30, 5], ...square.slice(1)]);
    expect(withPoint(bar, { ring: 0, at: 1 }, [90, 60])).toMatchObject({
      line: [
        [0, 50],
        [90, 60],
      ],
    });
  });
  test("a hole that loses its third point goes, an outline or a bar keeps its last ones", () => {
    expect(withoutPoint(holed, { ring: 1, at: 0 })).toEqual(outline(square));
    expect(withoutPoint(outline(hole), { ring: 0, at: 0 })).toBeNull();
    expect(withoutPoint(bar, { ring: 0, at: 0 })).toBeNull();
  });
  test("a hole is not on the shape, a bar's strip is", () => {
    expect(covers(holed, { x: 28, y: 22 })).toBe(false);
    expect(covers(holed, { x: 12, y: 45 })).toBe(true);
    expect(covers(bar, { x: 50, y: 54 })).toBe(true);
    expect(covers(bar, { x: 50, y: 56 })).toBe(false);
  });
  test("boxes and round shapes stand on two corners, however they were drawn", () => {
    expect(boxRing({ x: 50, y: 10 }, { x: 10, y: 50 })).toEqual(square);
    expect(ringArea(roundRing({ x: 0, y: 0 }, { x: 20, y: 10 }))).toBeCloseTo(Math.PI * 50, -1);
    expect(crossesItself(roundRing({ x: 0, y: 0 }, { x: 20, y: 10 }))).toBe(false);
    expect(sizeOf(bar)).toBe(1000);
    expect(dotsOf([[1, 2.005]])).toBe("M1 2.01h0");
  });
  test("a simplified line never strays farther than told from what was drawn", () => {
    fc.assert(
      fc.property(fc.array(spot, { minLength: 2, maxLength: 40 }), (points) => {
        const fewer = simplified(points, 3);
        expect(fewer[0]).toEqual(points[0]);
        expect(fewer.at(-1)).toEqual(points.at(-1));
        for (const [x, y] of points)
          expect(nearestEdge({ kind: "bar", line: fewer, width: 1 }, { x, y }, 3.0001) ?? fewer.length === 1).toBeTruthy();
      }),
    );
  });
});

describe("the view of a still", () => {
  const [board, still] = [
    { width: 800, height: 450 },
    { width: 1920, height: 1080 },
  ];
  const start = whole(board, still);
  test("a place stays under the fingers while it is enlarged about it", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 5, noNaN: true }),
        fc.integer({ min: 0, max: 800 }),
        fc.integer({ min: 0, max: 450 }),
        (by, x, y) => {
          const there = fromBoard(start, { x, y });
          const back = toBoard(enlarged(start, by, { x, y }, board, still), there);
          expect(back.x).toBeCloseTo(x, 6);
          expect(back.y).toBeCloseTo(y, 6);
        },
      ),
    );
  });
  test("never shows anything but the still, and never more than so much enlarged", () => {
    const far = shifted(enlarged(start, 1e9, { x: 3, y: 3 }, board, still), { x: 1e6, y: -1e9 }, board, still);
    expect(far.scale).toBeCloseTo(start.scale * MOST_ENLARGED);
    expect(far.dx).toBe(0);
    expect(far.dy).toBeCloseTo(450 - 1080 * far.scale);
    expect(kept({ scale: Number.NaN, dx: Number.NaN, dy: 0 }, board, still)).toEqual(start);
  });
  test("follows the cross to where it goes", () => {
    const near = enlarged(start, 4, { x: 0, y: 0 }, board, still);
    const there = toBoard(showing(near, { x: 1900, y: 1000 }, board, still), { x: 1900, y: 1000 });
    expect(there.x).toBeLessThanOrEqual(800);
    expect(there.y).toBeLessThanOrEqual(450);
  });
});
