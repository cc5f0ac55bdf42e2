/** Where the plates stand while a still is marked: on their mark where there is room, else beside it, never over another one. Pure. */

import type { Size } from "../geometry/point";
import { type Bounds, boundsOf, type Shape, sizeOf } from "../geometry/shape";

export type Named = Readonly<{ id: string; lines: readonly string[]; shapes: readonly Shape[] }>;
export type Plate = Readonly<{ id: string; lines: readonly string[]; x: number; y: number }>;

const LETTER_PX = 8.4;
const LINE_PX = 18;
const PAD_PX = 6;
const GAP_PX = 9;

/** Places in pixels of the still, top left corners. `unit`: pixels of the still for one screen pixel. */
export function placed(named: readonly Named[], still: Size, unit: number): readonly Plate[] {
  const taken: Bounds[] = [];
  const plates: Plate[] = [];
  const largest = named
    .map((each) => ({ ...each, shape: each.shapes.toSorted((one, other) => sizeOf(other) - sizeOf(one))[0] }))
    .filter((each): each is typeof each & { shape: Shape } => each.shape !== undefined)
    .sort((one, other) => sizeOf(other.shape) - sizeOf(one.shape));
  for (const { id, lines, shape } of largest) {
    const width = (Math.max(...lines.map((line) => line.length)) * LETTER_PX + 2 * PAD_PX) * unit;
    const height = (lines.length * LINE_PX + PAD_PX) * unit;
    const spots = around(boundsOf(shape), width, height, GAP_PX * unit).map(([x, y]) => boxAt(x, y, width, height, still));
    const best = spots.reduce((one, other) => (covered(other, taken) < covered(one, taken) - 1e-6 ? other : one));
    taken.push(best);
    plates.push({ id, lines, x: best.left, y: best.top });
  }
  return plates;
}

function around({ left, top, right, bottom }: Bounds, width: number, height: number, gap: number): readonly [number, number][] {
  const [x, y] = [(left + right - width) / 2, (top + bottom - height) / 2];
  const inside: [number, number][] = right - left > width * 1.3 && bottom - top > height * 1.6 ? [[x, y]] : [];
  return [
    ...inside,
    [x, top - gap - height],
    [x, bottom + gap],
    [right + gap, y],
    [left - gap - width, y],
    [left, top - gap - height],
    [right - width, bottom + gap],
    [x, top - 2 * gap - 2 * height],
    [x, bottom + 2 * gap + height],
  ];
}

function boxAt(x: number, y: number, width: number, height: number, still: Size): Bounds {
  const left = Math.max(0, Math.min(x, still.width - width));
  const top = Math.max(0, Math.min(y, still.height - height));
  return { left, top, right: left + width, bottom: top + height };
}

function covered(box: Bounds, taken: readonly Bounds[]): number {
  return taken.reduce((sum, other) => {
    const across = Math.min(box.right, other.right) - Math.max(box.left, other.left);
    const down = Math.min(box.bottom, other.bottom) - Math.max(box.top, other.top);
    return sum + (across > 0 && down > 0 ? across * down : 0);
  }, 0);
}
