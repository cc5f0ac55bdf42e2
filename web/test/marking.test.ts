import { describe, expect, it, test } from "vitest";
import type { BlanketRule } from "../src/api";
import type { Hand } from "../src/marking/hand";
import { placed } from "../src/marking/plates";
import { thingsOf } from "../src/marking/things";
import { strings } from "../src/strings";
import {
  at,
  BOX,
  base,
  drag,
  keys,
  mark,
  marking,
  nothingSeen,
  REACH,
  shifted,
  still,
  surface,
  tap,
  times,
  undoing,
  withMarks,
} from "./marking-hands";

const s = strings.marking.says;
nothingSeen();

describe("drawing", () => {
  it.each<[string, "box" | "around" | "round" | "bar", (hand: Hand) => void, number]>([
    ["a box in one drag", "box", (hand) => drag(hand, [100, 100], [150, 120], [200, 180]), 8000],
    ["a box by two taps", "box", (hand) => tap(hand, [100, 100], [200, 180]), 8000],
    ["corners, closed at the first", "around", (hand) => tap(hand, [100, 100], [200, 100], [200, 180], [100, 180], [103, 102]), 8000],
    ["corners, closed at the last", "around", (hand) => tap(hand, [100, 100], [200, 100], [200, 180], [100, 180], [100, 180]), 8000],
    ["in one go", "around", (hand) => drag(hand, [100, 100], [150, 100], [200, 100], [200, 180], [100, 180], [100, 101]), 8000],
    ["a round shape", "round", (hand) => drag(hand, [100, 100], [200, 180]), (Math.PI * 100 * 80) / 4],
  ])("%s", (_, way, draw, px2) => {
    const { model, hand } = marking();
    model.way.value = way;
    draw(hand);
    expect(model.marks.value).toHaveLength(1);
    const [mark] = model.marks.value;
    expect(mark).toMatchObject({ surface: "u1", still: "s1", origin: "drawn" });
    expect(Math.abs(areaOf(mark?.rings?.[0] ?? []) - px2)).toBeLessThan(px2 * 0.02);
    expect(model.inHand.value).toBeNull();
  });

  test("a bar is one drag, or taps that end at the last bend again, and keeps its width", () => {
    const { model, hand } = marking();
    model.aimAt("u2", "bar");
    drag(hand, [100, 300], [300, 320]);
    tap(hand, [400, 300], [500, 300], [500, 400], [500, 400]);
    expect(model.marks.value.map((mark) => mark.line)).toEqual([
      [
        [100, 300],
        [300, 320],
      ],
      [
        [400, 300],
        [500, 300],
        [500, 400],
      ],
    ]);
    expect(model.marks.value[0]?.width).toBe(12);
  });

  test("a bar follows the stroke around its bends, and a loop that ends where it began is closed", () => {
    const { model, hand } = marking();
    model.aimAt("u2", "bar");
    drag(hand, [100, 300], [101, 200], [100, 101], [200, 99], [300, 100], [301, 200], [300, 300]);
    drag(hand, [500, 100], [700, 101], [700, 300], [501, 299], [503, 104]);
    expect(model.marks.value.map((mark) => mark.line)).toEqual([
      [
        [100, 300],
        [100, 101],
        [300, 100],
        [300, 300],
      ],
      [
        [500, 100],
        [700, 101],
        [700, 300],
        [501, 299],
        [500, 100],
      ],
    ]);
  });

  test("a thing that is thin by its name is drawn as a bar, and the way of others stays", () => {
    const { model } = marking({ ...base, surfaces: [surface("u1", "blue platform"), surface("u2", "yellow rungs")] } as never);
    model.draws("around");
    model.aimAt("u2");
    expect(model.way.value).toBe("bar");
    model.aimAt("u1");
    expect(model.way.value).toBe("around");
  });

  test("goes on to the next thing, stays with things of which there are several, and ends when all is marked", () => {
    const { model, hand } = marking();
    expect(model.aimed.value?.id).toBe("u1");
    drag(hand, [100, 100], [200, 180]);
    expect(model.aimed.value?.id).toBe("u2");
    drag(hand, [300, 100], [350, 180]);
    expect(model.aimed.value?.id).toBe("u2");
    model.aimAt("u3");
    drag(hand, [600, 100], [750, 180]);
    expect(model.said.value).toContain(s.allMarked);
    expect(model.more.value).toBe(true);
  });

  test("once all is marked a drag draws one more piece of the last thing, and a tap only chooses what is to be changed", () => {
    const { model, hand, edits } = marking({ ...base, surfaces: [surface("u1", "blue platform"), surface("u3", "red frame")] } as never);
    drag(hand, [100, 100], [200, 180]);
    drag(hand, [600, 100], [750, 180]);
    drag(hand, [600, 300], [750, 380]);
    expect(model.marks.value.map((mark) => mark.surface)).toEqual(["u1", "u3", "u3"]);
    drag(hand, [752, 382], [752, 420], [800, 450]);
    expect(model.marks.value).toHaveLength(4); // things touch: a drag near the last one is one more
    tap(hand, [700, 340]);
    drag(hand, [752, 378], [772, 398]);
    expect(model.chosen.value?.rings?.[0]?.[2]).toEqual([770, 400]);
    const before = edits.length;
    tap(hand, [150, 140]);
    expect([model.chosenId.value, model.inHand.value]).toEqual([model.marks.value[0]?.id, null]);
    tap(hand, [450, 450]);
    expect([model.chosenId.value, model.inHand.value]).toEqual([null, null]);
    expect(edits).toHaveLength(before);
  });

  test("what it is can be said afterwards", () => {
    const { model, hand } = marking();
    model.aimAt(null, "box");
    drag(hand, [100, 100], [200, 180]);
    expect(model.marks.value).toHaveLength(0);
    model.name("u3");
    expect(model.marks.value[0]).toMatchObject({ surface: "u3", rings: [BOX] });
  });

  it.each<[string, (hand: Hand) => void, string]>([
    ["out of the picture is cut and told", (hand) => drag(hand, [900, 400], [1200, 700]), s.clipped],
    ["crossing itself is mended and told", (hand) => tap(hand, [100, 100], [200, 200], [200, 100], [100, 200], [100, 200]), s.mended],
    ["with no area is refused", (hand) => tap(hand, [100, 100], [200, 100], [300, 100], [300, 100]), s["no area"]],
    ["outside is refused", (hand) => tap(hand, [1100, 100], [1200, 100], [1200, 200], [1200, 200]), s.outside],
  ])("an outline %s", (_, draw, told) => {
    const { model, hand } = marking();
    model.way.value = told === s.clipped ? "box" : "around";
    draw(hand);
    expect(model.said.value).toContain(told);
    for (const mark of model.marks.value)
      for (const [x, y] of mark.rings?.[0] ?? []) expect(x >= 0 && y >= 0 && x <= 1000 && y <= 500).toBe(true);
  });

  test("left in the middle leaves everything as it was; a lost pointer keeps the corners before it", () => {
    const { model, hand, edits } = marking();
    model.way.value = "around";
    tap(hand, [100, 100], [200, 100]);
    hand.down({ x: 300, y: 300 }, REACH);
    hand.leave(false);
    expect(model.inHand.value).toMatchObject({ points: [at([100, 100]), at([200, 100])] });
    hand.leave();
    expect(model.inHand.value).toBeNull();
    expect(edits).toEqual([]);
  });

  test("an outline that was begun is there again after the tab was closed", () => {
    const { model, hand } = marking();
    model.aimAt("u3", "around");
    tap(hand, [100, 100], [200, 100], [200, 200]);
    const next = marking();
    next.model.restore();
    tap(next.hand, [100, 200], [100, 200]);
    expect(next.model.marks.value[0]).toMatchObject({ surface: "u3" });
    expect(next.model.marks.value[0]?.rings?.[0]).toHaveLength(4);
    const after = marking();
    after.model.restore();
    expect(after.model.inHand.value).toBeNull();
  });
});

describe("changing the chosen mark", () => {
  test("a point is moved, another added on an edge, and taken away again", () => {
    const { model, hand } = withMarks(mark("m1", BOX));
    model.choose("m1");
    drag(hand, [202, 178], [220, 200], [242, 208]);
    expect(model.marks.value[0]?.rings?.[0]?.[2]).toEqual([240, 210]);
    drag(hand, [150, 101], [150, 60]);
    expect(model.marks.value[0]?.rings?.[0]).toHaveLength(5);
    model.takePointAway();
    expect(model.marks.value[0]?.rings?.[0]).toHaveLength(4);
    expect(model.said.value).toBe(s.pointGone);
  });

  test("the whole is moved where nothing is drawn, and a drag that is left changes nothing", () => {
    const { model, hand, edits } = withMarks(mark("m1", BOX));
    model.way.value = null;
    hand.tap({ x: 150, y: 140 }, REACH);
    hand.down({ x: 150, y: 140 }, REACH);
    hand.move({ x: 250, y: 140 }, 3);
    hand.leave();
    expect(edits).toEqual([]);
    drag(hand, [150, 140], [250, 140]);
    expect(model.marks.value[0]?.rings?.[0]).toEqual(shifted(100));
  });

  test("a hole is cut, one beside it is refused, and one over all of it too", () => {
    const { model, hand } = withMarks(mark("m1", BOX));
    model.choose("m1");
    model.startHole();
    model.way.value = "box";
    drag(hand, [400, 400], [450, 450]);
    expect(model.said.value).toBe(s.holeOutside);
    model.startHole();
    model.way.value = "box";
    drag(hand, [50, 50], [450, 450]);
    expect(model.said.value).toBe(s.holeAll);
    model.startHole();
    model.way.value = "box";
    drag(hand, [130, 120], [170, 160]);
    expect(model.marks.value[0]?.rings).toHaveLength(2);
    expect(model.said.value).toContain(s.hole);
  });

  test("two that touch are joined, two that do not stay two", () => {
    const { model } = withMarks(mark("m1", BOX), mark("m2", shifted(50)), mark("m3", shifted(400)));
    model.choose("m1");
    model.join("m3");
    expect(model.said.value).toBe(s.apart);
    model.join("m2");
    expect(model.marks.value.map((each) => each.id).toSorted()).toEqual(["m1", "m3"]);
    const joined = model.marks.value.find((each) => each.id === "m1");
    expect(areaOf(joined?.rings?.[0] ?? [])).toBeCloseTo(150 * 80);
  });

  test("it becomes another thing's, is copied, and taken away", () => {
    const { model, edits } = withMarks(mark("m1", BOX));
    model.choose("m1");
    model.is("u3");
    expect(model.marks.value[0]).toMatchObject({ id: "m1", surface: "u3" });
    model.rule("in");
    expect(edits.at(-1)).toEqual([{ do: "change-surface", station: 1, surface: "u3", set: { ruling: "in" } }]);
    model.copy();
    expect(model.marks.value).toHaveLength(2);
    expect(model.chosenId.value).not.toBe("m1");
    model.takeAway();
    expect(model.marks.value.map((each) => each.id)).toEqual(["m1"]);
  });

  test("a tap chooses the smallest mark, the next tap the one around it, a tap beside them none", () => {
    const large: [number, number][] = [
      [0, 0],
      [400, 0],
      [400, 400],
      [0, 400],
    ];
    const { model, hand } = withMarks(mark("m1", large), mark("m2", BOX));
    model.way.value = null;
    hand.tap({ x: 150, y: 140 }, REACH);
    expect(model.chosenId.value).toBe("m2");
    hand.tap({ x: 150, y: 140 }, REACH);
    expect(model.chosenId.value).toBe("m1");
    hand.tap({ x: 900, y: 450 }, REACH);
    expect(model.chosenId.value).toBeNull();
  });
});

describe("keys alone", () => {
  test("draw a box from corner to corner", () => {
    const { model, hand } = marking();
    keys(model, hand, "Enter", ...times(5, "ArrowRight"), ...times(4, "ArrowDown"), "Enter");
    expect(model.marks.value[0]?.rings?.[0]).toEqual([
      [500, 250],
      [600, 250],
      [600, 330],
      [500, 330],
    ]);
  });
  test("take hold of a point, move it by single pixels and let go", () => {
    const { model, hand } = withMarks(mark("m1", BOX));
    keys(model, hand, "PageDown", "PageDown", "Enter", ...times(3, "Shift ArrowLeft"), "Enter");
    expect(model.marks.value[0]?.rings?.[0]?.[0]).toEqual([97, 100]);
  });
  test("Escape lets go as it was, Backspace takes a corner back, Delete takes the mark away", () => {
    const { model, hand, edits } = withMarks(mark("m1", BOX));
    keys(model, hand, "PageDown", "PageDown", "Enter", "ArrowLeft", "Escape");
    expect(edits).toEqual([]);
    keys(model, hand, "Delete");
    expect(model.marks.value).toEqual([]);
    model.aimAt("u1", "around");
    keys(model, hand, "Enter", "ArrowLeft", "Enter", "Backspace");
    expect(model.inHand.value).toMatchObject({ points: [expect.anything()] });
    keys(model, hand, "Ctrl z");
    expect(model.inHand.value).toBeNull();
    keys(model, hand, "Ctrl z");
    expect(undoing.undo).toHaveBeenCalledOnce();
  });
  test("enlarge at the cross and show the whole still again", () => {
    const { model, hand } = marking();
    const on = keys(model, hand, "ArrowRight", "+", "+");
    expect(on.isWhole).toBe(false);
    keys(model, hand, "0");
    expect(on.isWhole).toBe(true);
  });
});

test("a thing of every station is left out where the station speaks of it itself, and its marks are the station's", () => {
  const rule = { rule: "surface", surface: "Red frames", part: null, ruling: "out", contact: null, id: "b1", state: "accepted" };
  const other = { ...rule, surface: "post pads", id: "b2" };
  const things = thingsOf(base, [rule, other] as BlanketRule[]);
  expect(things.map((thing) => [thing.id, thing.style, thing.blanket])).toEqual([
    ["u1", "start", false],
    ["u2", "in play", false],
    ["u3", "out of play", false],
    ["b2", "out of play", true],
  ]);
  expect(things[2]?.replaces).toEqual(["b1"]);
});

test("no plate lies over another where there is room", () => {
  const shapes = [0, 5, 10].map((by) => ({ kind: "outline" as const, rings: [shifted(by)] }));
  const plates = placed(
    shapes.map((shape, number) => ({ id: String(number), lines: ["OUT"], shapes: [shape] })),
    still,
    1,
  );
  const overlaps = plates.flatMap((one, number) =>
    plates.slice(number + 1).filter((other) => Math.abs(one.x - other.x) < 37 && Math.abs(one.y - other.y) < 24),
  );
  expect(overlaps).toEqual([]);
});

function areaOf(ring: [number, number][]): number {
  return Math.abs(
    ring.reduce((sum, [x, y], place) => {
      const [nx, ny] = ring[(place + 1) % ring.length] as [number, number];
      return sum + x * ny - nx * y;
    }, 0) / 2,
  );
}
