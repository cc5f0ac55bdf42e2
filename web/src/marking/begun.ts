/** An outline whose corners were being put when the page closed: this browser keeps it for each still, and the next page goes on with it. */

import type { Point } from "../geometry/point";
import { recall, remember } from "../models/keep";
import type { Way } from "./model";

export type Begun = Readonly<{ way: Way; points: readonly Point[]; aim: string | null }>;

const keyOf = (course: string, station: string, still: string) => `begun ${course} ${station} ${still}`;

/** What was begun on a still; null where nothing was. */
export function begunOn(course: string, station: string, still: string): Begun | null {
  try {
    const kept = JSON.parse(recall(keyOf(course, station, still)) ?? "null") as Begun | null;
    return kept && Array.isArray(kept.points) && kept.points.length > 0 ? kept : null;
  } catch (error) {
    if (error instanceof SyntaxError) return null;
    throw error;
  }
}

/** Keeps what is begun on a still; without corners it is forgotten. */
export function keepBegunOn(course: string, station: string, still: string, begun: Begun | null): void {
  remember(keyOf(course, station, still), begun && begun.points.length > 0 ? JSON.stringify(begun) : null);
}
