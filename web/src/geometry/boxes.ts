/** Boxes around faces, as left, top, right, bottom in pixels of the still: drawn, moved and sized inside the picture. Pure. */

import type { Point, Size } from "./point";

export type FaceBox = [number, number, number, number];

const LEAST_PX = 4;
const within = (value: number, most: number) => Math.min(most, Math.max(0, value));

/** The box between two corners, inside the picture; null where it is too small to have been meant. */
export function boxBetween(one: Point, other: Point, picture: Size): FaceBox | null {
  const [left, right] = [Math.min(one.x, other.x), Math.max(one.x, other.x)].map((x) => within(x, picture.width)) as [number, number];
  const [top, bottom] = [Math.min(one.y, other.y), Math.max(one.y, other.y)].map((y) => within(y, picture.height)) as [number, number];
  return right - left < LEAST_PX || bottom - top < LEAST_PX ? null : [left, top, right, bottom];
}

/** The box moved, kept whole inside the picture. */
export function boxMoved([left, top, right, bottom]: FaceBox, by: Point, picture: Size): FaceBox {
  const dx = Math.min(picture.width - right, Math.max(-left, by.x));
  const dy = Math.min(picture.height - bottom, Math.max(-top, by.y));
  return [left + dx, top + dy, right + dx, bottom + dy];
}

/** The box with its lower right corner elsewhere; it keeps some size and stays inside the picture. */
export function boxSized([left, top, right, bottom]: FaceBox, by: Point, picture: Size): FaceBox {
  return [
    left,
    top,
    Math.max(left + LEAST_PX, Math.min(picture.width, right + by.x)),
    Math.max(top + LEAST_PX, Math.min(picture.height, bottom + by.y)),
  ];
}
