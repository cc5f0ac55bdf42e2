/** How a still lies on its board: enlarged and shifted. Values, never changed in place. */

import type { Point, Size } from "./point";

/** Still pixels to screen pixels: scale, then shift. A value, never changed in place. */
export type View = Readonly<{ scale: number; dx: number; dy: number }>;

/** How many times larger than the whole picture a still can be shown. */
export const MOST_ENLARGED = 12;

/** The whole still on its board. */
export function whole(board: Size, still: Size): View {
  return { scale: Math.max(board.width / still.width, 1e-6), dx: 0, dy: 0 };
}

export function toBoard(view: View, at: Point): Point {
  return { x: at.x * view.scale + view.dx, y: at.y * view.scale + view.dy };
}

/** Where on the still a place of the board is; it may lie outside. */
export function fromBoard(view: View, at: Point): Point {
  return { x: (at.x - view.dx) / view.scale, y: (at.y - view.dy) / view.scale };
}

/** The view kept so that the board is always covered: never smaller than the whole still, never past its edge. */
export function kept(view: View, board: Size, still: Size): View {
  const least = whole(board, still).scale;
  const scale = Math.min(least * MOST_ENLARGED, Math.max(least, Number.isFinite(view.scale) ? view.scale : least));
  const shift = (wanted: number, room: number, length: number) =>
    Math.min(0, Math.max(Math.min(0, room - length * scale), Number.isFinite(wanted) ? wanted : 0));
  return { scale, dx: shift(view.dx, board.width, still.width), dy: shift(view.dy, board.height, still.height) };
}

/** Enlarged by a factor about a place of the board, which stays where it is. */
export function enlarged(view: View, factor: number, about: Point, board: Size, still: Size): View {
  const least = whole(board, still).scale;
  const scale = Math.min(least * MOST_ENLARGED, Math.max(least, view.scale * factor));
  const there = fromBoard(view, about);
  return kept({ scale, dx: about.x - there.x * scale, dy: about.y - there.y * scale }, board, still);
}

export function shifted(view: View, by: Point, board: Size, still: Size): View {
  return kept({ ...view, dx: view.dx + by.x, dy: view.dy + by.y }, board, still);
}

/** The view moved just so far that a place of the still is to be seen, with some room around it. */
export function showing(view: View, at: Point, board: Size, still: Size): View {
  const here = toBoard(view, at);
  const room = Math.min(40, board.width / 8, board.height / 8);
  const nudge = (value: number, most: number) => (value < room ? room - value : value > most - room ? most - room - value : 0);
  return shifted(view, { x: nudge(here.x, board.width), y: nudge(here.y, board.height) }, board, still);
}
