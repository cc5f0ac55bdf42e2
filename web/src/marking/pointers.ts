/** Mouse, touch and pen on the still: one finger draws or takes hold, two move and enlarge, the wheel enlarges. */

import type { Point } from "../geometry/point";
import type { Hand } from "./hand";
import type { OnBoard } from "./onboard";

const REACH_PX: Readonly<Record<string, number>> = { mouse: 9, pen: 12, touch: 22 };
const SLACK_PX: Readonly<Record<string, number>> = { mouse: 3, pen: 4, touch: 9 };
const WHEEL_STEP = 0.0018;

type Doing = "nothing" | "hand" | "shifting" | "two fingers" | "spent";

/** Listens on the board; returns the one call that takes every listener off. */
export function pointers(board: HTMLElement, on: OnBoard, hand: Hand): () => void {
  const down = new Map<number, Point>();
  let doing: Doing = "nothing";
  let from: Point = { x: 0, y: 0 };
  let strayed = false;

  const place = (event: { clientX: number; clientY: number }): Point => {
    const shown = board.getBoundingClientRect();
    return { x: event.clientX - shown.left - board.clientLeft, y: event.clientY - shown.top - board.clientTop };
  };
  const reach = (event: PointerEvent) => on.inStill(REACH_PX[event.pointerType] ?? 12);
  const slack = (event: PointerEvent) => SLACK_PX[event.pointerType] ?? 4;

  const press = (event: PointerEvent) => {
    if (event.pointerType === "mouse" && event.button === 2) return;
    const at = place(event);
    down.set(event.pointerId, at);
    board.setPointerCapture(event.pointerId);
    board.focus({ preventScroll: true });
    on.cross.value = null;
    if (down.size > 1) {
      if (doing === "hand") hand.leave(false); // the second finger of a pinch: what the first one began was not meant
      doing = "two fingers";
      return;
    }
    from = at;
    strayed = false;
    if (event.button === 1) {
      event.preventDefault();
      doing = "shifting";
    } else doing = hand.down(on.toStill(at), reach(event)) === "nothing" ? "shifting" : "hand";
  };

  const move = (event: PointerEvent) => {
    const before = down.get(event.pointerId);
    const at = place(event);
    if (!before) {
      hand.hover(on.toStill(at));
      return;
    }
    const others = [...down].filter(([id]) => id !== event.pointerId);
    down.set(event.pointerId, at);
    if (doing === "two fingers") {
      const other = others[0]?.[1];
      if (other) pinch(before, at, other);
    } else if (doing === "hand") {
      const steps = event.getCoalescedEvents?.() ?? [];
      for (const step of steps.length > 0 ? steps : [event]) hand.move(on.toStill(place(step)), on.inStill(slack(event)));
    } else if (doing === "shifting") {
      strayed ||= Math.hypot(at.x - from.x, at.y - from.y) > slack(event);
      if (strayed) on.shift({ x: at.x - before.x, y: at.y - before.y });
    }
  };

  const pinch = (before: Point, at: Point, other: Point) => {
    const length = (one: Point) => Math.max(1, Math.hypot(one.x - other.x, one.y - other.y));
    on.shift({ x: (at.x - before.x) / 2, y: (at.y - before.y) / 2 });
    on.enlarge(length(at) / length(before), { x: (at.x + other.x) / 2, y: (at.y + other.y) / 2 });
  };

  const release = (event: PointerEvent) => {
    if (!down.delete(event.pointerId)) return;
    const at = on.toStill(place(event));
    if (doing === "hand") hand.up(at, reach(event));
    else if (doing === "shifting" && !strayed && event.button !== 1) hand.tap(at, reach(event));
    if (down.size === 0) doing = "nothing";
    else if (doing === "two fingers") doing = "spent"; // the finger that stays does nothing until it was lifted
  };

  const lost = (event: PointerEvent) => {
    if (!down.delete(event.pointerId)) return;
    if (doing === "hand") hand.leave(false);
    if (down.size === 0) doing = "nothing";
  };

  const wheel = (event: WheelEvent) => {
    if (on.isWhole && event.deltaY > 0 && !event.ctrlKey) return; // the page scrolls on
    event.preventDefault();
    const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : 1;
    on.enlarge(Math.exp(-event.deltaY * lines * (event.ctrlKey ? 6 : 1) * WHEEL_STEP), place(event));
  };

  const listeners: [string, (event: never) => void][] = [
    ["pointerdown", press],
    ["pointermove", move],
    ["pointerup", release],
    ["pointercancel", lost],
    ["lostpointercapture", lost],
    ["wheel", wheel],
  ];
  for (const [kind, listener] of listeners) board.addEventListener(kind, listener as EventListener, { passive: false });
  return () => {
    for (const [kind, listener] of listeners) board.removeEventListener(kind, listener as EventListener);
  };
}
