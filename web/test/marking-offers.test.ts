import { describe, expect, test, vi } from "vitest";
import type { Proposal } from "../src/api";
import { carriedTo } from "../src/marking/carried";
import { offersOf } from "../src/marking/offers";
import { OnBoard } from "../src/marking/onboard";
import { thingsOf } from "../src/marking/things";
import { strings } from "../src/strings";
import { BOX, base, boards, drag, keys, mark, marking, nothingSeen, type Spot, shifted, still, tap } from "./marking-hands";
import { PATIENCE, serve } from "./server";

const s = strings.marking.says;
nothingSeen();

describe("what is offered", () => {
  const proposal = (by: number, score: number): Proposal => ({ rings: [shifted(by)], score, why: "blue" });

  test("one region for one thing, several alike for several, and never one region for two things", () => {
    const things = thingsOf(base, []);
    const found = new Map([
      ["u1", { proposals: [proposal(0, 0.9), proposal(300, 0.85)], skip: 0 }],
      ["u2", { proposals: [proposal(5, 0.8), proposal(300, 0.5), proposal(500, 0.45), proposal(700, 0.1)], skip: 0 }],
    ]);
    const offers = offersOf(things, [], found);
    expect(offers.map((offer) => [offer.surface, offer.confidence, offer.unsure])).toEqual([
      ["u1", 0.9, true],
      ["u2", 0.5, false],
      ["u2", 0.45, false],
    ]);
    expect(offersOf(things, [mark("m1", BOX)], found).map((offer) => offer.surface)).toEqual(["u2", "u2"]);
  });

  test("is taken at one go, as one change, and nothing is put in before", async () => {
    serve(({ path }) => ({ json: { proposals: path.includes("blue+platform") ? [proposal(0, 0.9), proposal(400, 0.2)] : [] } }));
    const { model, edits } = marking();
    await model.seen.look();
    expect(model.marks.value).toEqual([]);
    expect(model.seen.offers.value).toHaveLength(1);
    model.seen.another("u1");
    expect(model.seen.offers.value[0]?.shape).toMatchObject({ rings: [shifted(400)] });
    model.seen.another("u1");
    model.seen.take(null);
    expect(edits).toHaveLength(1);
    expect(model.marks.value[0]).toMatchObject({ surface: "u1", rings: [BOX], origin: "proposed", state: "accepted" });
    expect(model.seen.offers.value).toEqual([]);
  });

  test("the computed edge is dotted until Enter takes it; Escape keeps what was drawn", async () => {
    serve(() => ({ json: { offered: true, rings: [shifted(2)], line: null, width: null, overlap: 0.9, doubt: null } }));
    const { model, hand } = marking();
    drag(hand, [100, 100], [200, 180]);
    await vi.waitFor(() => expect(model.seen.snug.value).not.toBeNull(), PATIENCE);
    expect(model.marks.value[0]?.rings).toEqual([BOX]);
    keys(model, hand, "Enter");
    expect(model.marks.value[0]).toMatchObject({ rings: [shifted(2)], origin: "snapped" });
  });

  test("the width of a bar is the dotted edge's where one waits, and what is taken has it", async () => {
    const line: Spot[] = [
      [100, 300],
      [100, 400],
    ];
    serve(() => ({ json: { offered: true, rings: null, line, width: 4, overlap: 0.8, doubt: "It is thin." } }));
    const { model, hand, edits } = marking();
    model.aimAt("u3", "bar");
    drag(hand, [102, 300], [102, 400]);
    await vi.waitFor(() => expect(model.seen.snug.value).not.toBeNull(), PATIENCE);
    const before = edits.length;
    model.setWidth(6.5);
    expect(edits).toHaveLength(before);
    keys(model, hand, "Enter");
    expect(model.marks.value[0]).toMatchObject({ line, width: 6.5 });
    model.setWidth(7);
    expect(model.marks.value[0]).toMatchObject({ line, width: 7 });
  });

  test("one of several finds the others: dotted, each left out by a tap, all taken as one change, and the next thing follows", async () => {
    const bar = (x: number) => ({
      rings: null,
      line: [
        [x, 300],
        [x, 400],
      ] as Spot[],
      width: 8,
    });
    serve(({ path }) => {
      if (path.endsWith("/snug")) return { json: { offered: true, ...bar(101), overlap: 0.8, doubt: null } };
      if (path.endsWith("/like-it")) return { json: { pieces: [bar(101), bar(200), bar(300), bar(400)] } };
      return { json: { proposals: [] } };
    });
    const { model, hand, edits } = marking();
    model.aimAt("u2", "bar");
    drag(hand, [100, 300], [100, 400]);
    await vi.waitFor(() => expect(model.seen.alike.value).not.toBeNull(), PATIENCE);
    expect(model.said.value).toBe(`${s.marked("stumps", "in play")} ${s.alike(3)}`); // what was drawn is none of the others
    expect(model.marks.value).toHaveLength(1);
    tap(hand, [300, 350]);
    expect(model.said.value).toBe(s.leftOut(2));
    expect(model.marks.value).toHaveLength(1);
    const before = edits.length;
    keys(model, hand, "Enter");
    expect(edits).toHaveLength(before + 1);
    expect(model.marks.value.map((mark) => mark.line?.[0]?.[0])).toEqual([101, 200, 400]);
    expect(model.marks.value.every((mark) => mark.origin === "snapped" && mark.surface === "u2")).toBe(true);
    expect(model.aim.value).toBe("u1");
  });

  test("Escape keeps what was drawn and none of the others; a piece under the cross is left out by Delete", async () => {
    serve(({ path }) =>
      path.endsWith("/like-it")
        ? { json: { pieces: [{ rings: [shifted(300)], line: null, width: null }] } }
        : { json: { offered: false, rings: null, line: null, width: null, overlap: null, doubt: null } },
    );
    const { model, hand } = marking();
    model.aimAt("u2", "box");
    drag(hand, [100, 100], [200, 180]);
    await vi.waitFor(() => expect(model.seen.alike.value).not.toBeNull(), PATIENCE);
    const on = new OnBoard(still);
    boards.set(model, on);
    on.putCross({ x: 450, y: 140 });
    keys(model, hand, "Delete");
    expect(model.seen.pieces.value).toEqual([]);
    expect(model.marks.value).toHaveLength(1);
    keys(model, hand, "Escape");
    expect(model.seen.alike.value).toBeNull();
    expect(model.marks.value[0]?.rings).toEqual([BOX]);
  });

  test("Enter without a cross takes what is proposed for the next thing, and goes on to the one after it", async () => {
    serve(({ path }) => ({
      json: { proposals: path.includes("blue+platform") ? [proposal(0, 0.9)] : path.includes("red+frame") ? [proposal(600, 0.7)] : [] },
    }));
    const { model, hand } = marking();
    await model.seen.look();
    keys(model, hand, "Enter");
    expect(model.marks.value.map((mark) => mark.surface)).toEqual(["u1"]);
    expect(model.aim.value).toBe("u2");
    model.aimAt("u3");
    keys(model, hand, "Enter");
    expect(model.marks.value.map((mark) => mark.surface)).toEqual(["u1", "u3"]);
  });

  test("marks of another still are offered here, and taken with where they come from", async () => {
    serve(() => ({
      json: { marks: [{ ...mark("m9", BOX), origin: "carried", state: "draft", confidence: 0.8 }], withheld: ["m8"], there: [] },
    }));
    const { model } = marking();
    await model.seen.bring({ ...still, id: "s2" });
    expect(model.said.value).toContain(s.uncertain(1));
    expect(model.seen.offers.value).toHaveLength(1);
    model.seen.take(null);
    expect(model.marks.value[0]).toMatchObject({ surface: "u1", origin: "carried", still: "s1" });
    expect(carriedTo("spring", "t1", "s1")).toEqual([]);
  });

  test("without the server, drawing goes on", async () => {
    serve(() => "no line");
    const { model, hand } = marking();
    await model.seen.look();
    drag(hand, [100, 100], [200, 180]);
    expect(model.marks.value).toHaveLength(1);
  });

  test("going on to the next thing takes the dotted edge of the last one, Escape before it does not; a doubtful outline is never taken so", async () => {
    const snug = { offered: true, rings: [shifted(2)], line: null, width: null, overlap: 0.9, doubt: null as string | null };
    serve(({ path }) => ({ json: path.endsWith("/snug") ? snug : { pieces: [], proposals: [] } }));
    const edges = async (doubt: string | null, ...pressed: string[]) => {
      snug.doubt = doubt;
      const { model, hand } = marking();
      drag(hand, [100, 100], [200, 180]);
      await vi.waitFor(() => expect(model.seen.snug.value).not.toBeNull(), PATIENCE);
      keys(model, hand, ...pressed);
      model.aimAt("u3");
      return model.marks.value[0];
    };
    expect(await edges(null)).toMatchObject({ rings: [shifted(2)], origin: "snapped" });
    expect(await edges(null, "Escape")).toMatchObject({ rings: [BOX], origin: "drawn" });
    expect(await edges("The edge is not clear all round.")).toMatchObject({ rings: [BOX], origin: "drawn" });
  });

  test("what is not the thing is said of one proposal alone, by button or key, and the rest is taken at one go", async () => {
    serve(({ path }) => ({
      json: { proposals: path.includes("blue+platform") ? [proposal(0, 0.9)] : path.includes("red+frame") ? [proposal(600, 0.7)] : [] },
    }));
    const { model, hand } = marking();
    await model.seen.look();
    keys(model, hand, "n");
    expect(model.said.value).toBe(s.passedOver(1));
    expect(model.seen.offers.value.map((offer) => offer.surface)).toEqual(["u3"]);
    model.seen.take(null);
    expect(model.marks.value.map((mark) => mark.surface)).toEqual(["u3"]);
    expect(model.aim.value).toBe("u1");
  });

  test("a still without marks offers those of the station's other still by itself; one less sure gives way to what is seen here", async () => {
    const other = { ...mark("m1", BOX), still: "s0" };
    const carried = (id: string, surface: string, confidence: number) => ({
      ...mark(id, shifted(50), surface),
      origin: "carried",
      confidence,
    });
    const asked = serve(({ path }) => {
      if (path.endsWith("/carried"))
        return { json: { marks: [carried("c1", "u1", 0.95), carried("c2", "u3", 0.7)], withheld: [], there: [] } };
      return { json: { proposals: path.includes("offers") ? [proposal(600, 0.7)] : [] } };
    });
    const { model } = marking({ ...base, marks: [other] });
    await model.seen.look();
    expect(asked.filter((each) => each.path.endsWith("/carried")).map((each) => each.body)).toEqual([{ still: "s0", marks: null }]);
    const offers = new Map(model.seen.offers.value.map((each) => [each.surface, each.origin]));
    expect(offers.get("u1")).toBe("carried");
    expect(offers.get("u2") ?? offers.get("u3")).toBe("proposed");
    expect(model.marks.value).toEqual([]);
    carriedTo.done("spring", "t1", "s1", null);
  });
});
