/** A station whose marking tests can drive: its model, a hand that draws on it, and keys. */

import { signal } from "@preact/signals";
import { beforeEach, vi } from "vitest";
import type { BlanketRule, Edit, Mark, Station, Still } from "../src/api";
import { Hand } from "../src/marking/hand";
import { press } from "../src/marking/keys";
import { MarkingModel } from "../src/marking/model";
import { OnBoard } from "../src/marking/onboard";
import { serve } from "./server";

export const still = { id: "s1", time_s: 5, width: 1000, height: 500 } as Still;
export const surface = (id: string, name: string, more: object = {}) => ({
  ...{ id, name, part: null, role: "route", ruling: "in", contact: null, overshoot: null, divisions: null, optional: false },
  ...{ said: [], confidence: null, state: "accepted" },
  ...more,
});
export const base = {
  ...{ id: "t1", number: 1, name: "stump hop", contact: ["feet"], marks: [], stills: [still] },
  surfaces: [surface("u1", "blue platform", { role: "start" }), surface("u2", "stumps"), surface("u3", "red frame", { ruling: "out" })],
} as unknown as Station;

/** A station whose edits are done at once, as the course model shows them. */
export function marking(start: Station = base, blanket: BlanketRule[] = []) {
  const station = signal(start);
  const edits: Edit[][] = [];
  const model = new MarkingModel("spring", station, signal(blanket), still, async (batch) => {
    edits.push(batch);
    for (const edit of batch) {
      const { marks } = station.value;
      if (edit.do === "put-mark")
        station.value = { ...station.value, marks: [...marks.filter((each) => each.id !== edit.mark.id), edit.mark as Mark] };
      if (edit.do === "remove-mark") station.value = { ...station.value, marks: marks.filter((each) => each.id !== edit.id) };
    }
    return true;
  });
  return { model, hand: new Hand(model), edits, station };
}

export type Spot = readonly [number, number];
export const at = ([x, y]: Spot) => ({ x, y });
export const REACH = 10;

export function drag(hand: Hand, ...spots: Spot[]): void {
  const [first, ...rest] = spots;
  if (!first) return;
  hand.down(at(first), REACH);
  for (const spot of rest) hand.move(at(spot), 3);
  hand.up(at(rest.at(-1) ?? first), REACH);
}
export const tap = (hand: Hand, ...spots: Spot[]) => {
  for (const spot of spots) drag(hand, spot);
};

/** Nothing is seen on the still unless a test serves it. */
export const nothingSeen = () =>
  beforeEach(() => {
    localStorage.clear();
    serve(() => ({
      json: { offered: false, rings: null, line: null, width: null, overlap: null, doubt: null, proposals: [], pieces: [] },
    }));
  });

export const BOX: [number, number][] = [
  [100, 100],
  [200, 100],
  [200, 180],
  [100, 180],
];

export const mark = (id: string, ring: [number, number][], of = "u1"): Mark =>
  ({ id, still: "s1", surface: of, rings: [ring], line: null, width: null, state: "accepted", origin: "drawn", confidence: null }) as Mark;
export const shifted = (by: number): [number, number][] => BOX.map(([x, y]) => [x + by, y]);
export const withMarks = (...marks: Mark[]) => marking({ ...base, marks });

export function keys(model: MarkingModel, hand: Hand, ...pressed: string[]) {
  const on = boards.get(model) ?? new OnBoard(still);
  boards.set(model, on);
  on.fit({ width: 500, height: 250 });
  for (const each of pressed) {
    const [key = "", shift] = each.split(" ").toReversed();
    press(new KeyboardEvent("keydown", { key, shiftKey: shift === "Shift", ctrlKey: shift === "Ctrl" }), model, hand, on, undoing);
  }
  return on;
}
export const boards = new WeakMap<MarkingModel, OnBoard>();
export const undoing = { undo: vi.fn(), redo: vi.fn() };
export const times = (count: number, key: string) => Array.from({ length: count }, () => key);
