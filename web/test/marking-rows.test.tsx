/** What stands beside the still while it is marked: proposals one by one, which list does what, and the way to a mark that is there. */
import { cleanup, fireEvent, render, screen } from "@testing-library/preact";
import { afterEach, expect, test, vi } from "vitest";
import type { Proposal } from "../src/api";
import { Hand } from "../src/marking/hand";
import { NextMark } from "../src/marking/list";
import { HandRow } from "../src/marking/row";
import { BOX, mark, marking, nothingSeen, shifted, withMarks } from "./marking-hands";
import { PATIENCE, serve } from "./server";

nothingSeen();
afterEach(() => {
  cleanup();
  vi.unstubAllGlobals();
});

const proposal = (by: number, score: number): Proposal => ({ rings: [shifted(by)], score, why: "" });

test("one proposal after the other is the main way; all at once stands aside, and how many are unsure is told", async () => {
  const found: Readonly<Record<string, Proposal[]>> = {
    "blue platform": [proposal(0, 0.9), proposal(300, 0.8)],
    stumps: [proposal(500, 0.7)],
  };
  serve(({ path }) => ({ json: { proposals: found[new URLSearchParams(path.split("?")[1]).get("words") ?? ""] ?? [] } }));
  const { model, edits } = marking();
  await model.seen.look();
  const pointed: (string | null)[] = [];
  render(<NextMark model={model} others={[]} point={(surface) => pointed.push(surface)} />);
  const main = screen.getByRole("button", { name: "Take the proposed blue platform" });
  expect(main.className).toBe("");
  expect(screen.getByRole("button", { name: "Take all 2 proposed" }).className).toContain("plain");
  expect(screen.getByText("1 of 2 is unsure: look at each, a proposal may be the floor.")).toBeTruthy();
  fireEvent.focus(main);
  expect(pointed).toEqual(["u1"]);
  fireEvent.click(main);
  expect(edits.flat()).toMatchObject([{ do: "put-mark", mark: { surface: "u1" } }]);
  expect(await screen.findByRole("button", { name: "Take the proposed one" }, PATIENCE)).toBeTruthy();
});

test("a first corner on a mark offers that mark, and one press chooses it and leaves the drawing", () => {
  const { model } = withMarks(mark("m1", BOX));
  const hand = new Hand(model);
  model.aimAt("u2", "box");
  const inside = { x: 150, y: 150 };
  hand.down(inside, 1);
  hand.up(inside, 1);
  render(<HandRow model={model} hand={hand} others={[]} focus={() => {}} />);
  fireEvent.click(screen.getByRole("button", { name: "I meant the mark blue platform" }));
  expect([model.chosenId.value, model.inHand.value]).toEqual(["m1", null]);
});
