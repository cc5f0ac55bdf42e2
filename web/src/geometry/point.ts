/** Points of a still, in pixels of the full-size picture: origin at its top left corner, x right, y down. Pure. */

export type Point = Readonly<{ x: number; y: number }>;
export type Size = Readonly<{ width: number; height: number }>;
export type Box = Readonly<{ left: number; top: number; width: number; height: number }>;

/** Where on the still a place on the screen is, kept inside the still. `shown` is where the still is drawn. */
export function toStill(screen: Point, shown: Box, still: Size): Point {
  const x = ((screen.x - shown.left) / shown.width) * still.width;
  const y = ((screen.y - shown.top) / shown.height) * still.height;
  return clamp({ x, y }, still);
}

/** The nearest point inside the still. */
export function clamp(point: Point, still: Size): Point {
  const within = (value: number, most: number) => Math.min(most, Math.max(0, Number.isFinite(value) ? value : 0));
  return { x: within(point.x, still.width), y: within(point.y, still.height) };
}

const ARROWS: Readonly<Record<string, Point>> = {
  ArrowLeft: { x: -1, y: 0 },
  ArrowRight: { x: 1, y: 0 },
  ArrowUp: { x: 0, y: -1 },
  ArrowDown: { x: 0, y: 1 },
};

/** Where an arrow key takes a point: a fiftieth of the width, one pixel with Shift; null for other keys. */
export function stepped(point: Point, key: string, fine: boolean, still: Size): Point | null {
  const arrow = ARROWS[key];
  if (!arrow) return null;
  const step = fine ? 1 : still.width / 50;
  return clamp({ x: point.x + arrow.x * step, y: point.y + arrow.y * step }, still);
}
