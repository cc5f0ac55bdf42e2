/** The still by keys alone: a cross that arrows move, and Enter for what a pointer's press does. */

import { clamp } from "../geometry/point";
import { pointAt, ringsOf, shapeOf } from "../geometry/shape";
import { strings } from "../strings";
import type { Hand } from "./hand";
import type { MarkingModel } from "./model";
import type { OnBoard } from "./onboard";

const s = strings.marking.says;
const REACH_PX = 12;
export type Undoing = Readonly<{ undo: () => void; redo: () => void }>;

/** Does what a key asks for; false where it is none of the still's keys. */
export function press(event: KeyboardEvent, model: MarkingModel, hand: Hand, on: OnBoard, undoing: Undoing): boolean {
  if (event.ctrlKey || event.metaKey) return undone(event, model, hand, undoing);
  if (event.altKey) return false;
  const here = on.cross.value ?? { x: model.still.width / 2, y: model.still.height / 2 };
  const reach = on.inStill(REACH_PX);
  const there = arrow(event, on.inStill(on.size.value.width));
  if (there) {
    const to = clamp({ x: here.x + there.x, y: here.y + there.y }, model.still);
    on.putCross(to);
    if (hand.holds) hand.move(to, 0);
    else {
      hand.hover(to);
      tellUnder(model, to);
    }
    return true;
  }
  switch (event.key) {
    case "Enter":
    case " ":
      if (on.cross.value === null && model.inHand.value === null && model.purpose.value === "mark") {
        if (!model.seen.waits.value && model.chosenId.value === null && model.seen.takeAimed()) return true;
      }
      on.putCross(here);
      enter(model, hand, here, reach);
      return true;
    case "Escape":
      return letGo(model, hand, on);
    case "Backspace":
      if (model.inHand.value?.doing === "drawing") hand.back();
      else model.takePointAway();
      return true;
    case "Delete":
      if (!leftOut(model, on)) model.takeAway();
      return true;
    case "a":
      if (model.aim.value === null || !model.seen.mayBeAnother(model.aim.value)) return false;
      model.seen.another(model.aim.value);
      return true;
    case "n":
      if (!model.seen.offers.value.some((offer) => offer.surface === model.aim.value)) return false;
      model.seen.passOver(model.aim.value ?? "");
      return true;
    case "PageDown":
    case "PageUp":
      turn(model, on, event.key === "PageDown" ? 1 : -1);
      return true;
    case "+":
    case "=":
      on.enlarge(1.5);
      return true;
    case "-":
      on.enlarge(1 / 1.5);
      return true;
    case "0":
      on.all();
      return true;
    default:
      return false;
  }
}

const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

/** How far an arrow goes: a fiftieth of the width that is shown, one pixel with Shift. */
function arrow(event: KeyboardEvent, width: number) {
  const way = ARROWS[event.key];
  const length = event.shiftKey ? 1 : width / 50;
  return way && { x: way[0] * length, y: way[1] * length };
}

function undone(event: KeyboardEvent, model: MarkingModel, hand: Hand, { undo, redo }: Undoing): boolean {
  const key = event.key.toLowerCase();
  if (key !== "z" && key !== "y") return false;
  if (model.inHand.value?.doing === "drawing") hand.back();
  else if (model.inHand.value) hand.leave();
  else if (key === "y" || event.shiftKey) redo();
  else undo();
  return true;
}

function enter(model: MarkingModel, hand: Hand, at: { x: number; y: number }, reach: number): void {
  if (hand.holds) {
    hand.up(at, reach);
    return;
  }
  if (model.seen.waits.value && model.inHand.value === null) {
    model.seen.takeSnug();
    return;
  }
  const grip = hand.down(at, reach);
  if (grip === "holding") model.said.value = s.held;
  else if (grip === "drawing") hand.up(at, reach);
  else hand.tap(at, reach);
}

/** The piece under the cross that looks like the chosen mark is left out, or comes back. */
function leftOut(model: MarkingModel, on: OnBoard): boolean {
  const piece = on.cross.value && model.seen.pieceAt(on.cross.value);
  if (piece === null) return false;
  model.seen.leaveOut(piece);
  return true;
}

function letGo(model: MarkingModel, hand: Hand, on: OnBoard): boolean {
  if (model.inHand.value) hand.leave();
  else if (model.seen.waits.value) model.seen.keepMine();
  else if (model.unplaced.value) model.unplaced.value = null;
  else if (model.purpose.value !== "mark") model.purpose.value = "mark";
  else if (model.chosenId.value !== null) model.choose(null);
  else if (on.cross.value) on.cross.value = null;
  else return false;
  return true;
}

let told = "";

function tellUnder(model: MarkingModel, at: { x: number; y: number }): void {
  const names = model.under(at).map((mark) => model.nameOf(mark));
  const text = names.join(", ");
  if (text !== told && text !== "") model.said.value = text;
  told = text;
}

/** The next or last point of the chosen mark; without one, the next or last mark. */
function turn(model: MarkingModel, on: OnBoard, by: 1 | -1): void {
  const mark = model.chosen.value;
  if (!mark) {
    const { marks } = model;
    const next = by > 0 ? marks.value[0] : marks.value.at(-1);
    if (next) model.choose(next.id);
    return;
  }
  const shape = shapeOf(mark);
  const places = ringsOf(shape).flatMap((ring, number) => ring.map((_, at) => ({ ring: number, at })));
  const now = places.findIndex((each) => each.ring === model.point.value?.ring && each.at === model.point.value?.at);
  const next = places[(now + by + places.length + (now < 0 && by < 0 ? 1 : 0)) % places.length];
  const spot = next && pointAt(shape, next);
  if (!next || !spot) return;
  model.justDrawn.value = null; // it is to be changed now
  model.point.value = next;
  on.putCross({ x: spot[0], y: spot[1] });
  model.said.value = s.point(places.indexOf(next) + 1, places.length);
}
