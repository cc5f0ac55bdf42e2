import { describe, expect, it, test } from "vitest";
import { clock } from "../src/geometry/clock";
import { clamp, stepped, toStill } from "../src/geometry/point";

const still = { width: 1920, height: 1080 };

describe("a place on the screen", () => {
  const shown = { left: 100, top: 50, width: 960, height: 540 };
  it.each([
    ["top left corner", { x: 100, y: 50 }, { x: 0, y: 0 }],
    ["middle", { x: 580, y: 320 }, { x: 960, y: 540 }],
    ["bottom right corner", { x: 1060, y: 590 }, { x: 1920, y: 1080 }],
    ["outside, to the left and below", { x: 0, y: 900 }, { x: 0, y: 1080 }],
  ])("is found on the still: %s", (_, screen, expected) => {
    expect(toStill(screen, shown, still)).toEqual(expected);
  });

  test("on a still that is not drawn yet is its corner, never a number that is none", () => {
    expect(toStill({ x: 5, y: 5 }, { left: 5, top: 5, width: 0, height: 0 }, still)).toEqual({ x: 0, y: 0 });
  });
});

test("whatever comes in, a clamped point lies on the still", () => {
  for (const x of [-1e9, -0.1, 0, 3.5, 1920, 1e9, Number.NaN, Infinity])
    for (const y of [-5, 0, 1080, 2000, Number.NaN]) {
      const point = clamp({ x, y }, still);
      expect(point.x).toBeGreaterThanOrEqual(0);
      expect(point.x).toBeLessThanOrEqual(still.width);
      expect(point.y).toBeGreaterThanOrEqual(0);
      expect(point.y).toBeLessThanOrEqual(still.height);
    }
});

test("arrow keys move by a fiftieth of the width, by one pixel with Shift, and stop at the edge", () => {
  expect(stepped({ x: 100, y: 100 }, "ArrowRight", false, still)).toEqual({ x: 138.4, y: 100 });
  expect(stepped({ x: 100, y: 100 }, "ArrowUp", true, still)).toEqual({ x: 100, y: 99 });
  expect(stepped({ x: 0, y: 0 }, "ArrowLeft", true, still)).toEqual({ x: 0, y: 0 });
  expect(stepped({ x: 0, y: 0 }, "a", false, still)).toBeNull();
});

test.each([
  [0, "0:00"],
  [252.9, "4:12"],
  [3671, "1:01:11"],
  [-3, "0:00"],
])("a time of the walk: %f s is %s", (seconds, words) => {
  expect(clock(seconds)).toBe(words);
});
