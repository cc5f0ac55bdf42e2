/** Marks that were carried to a still and wait there, dotted, until somebody takes them. They last as long as the page. */

import { signal } from "@preact/signals";
import type { Mark } from "../api";

const waiting = signal<ReadonlyMap<string, readonly Mark[]>>(new Map());
const key = (...parts: readonly string[]) => parts.join("\n");

export function carriedTo(course: string, station: string, still: string): readonly Mark[] {
  return waiting.value.get(key(course, station, still)) ?? [];
}

carriedTo.add = (course: string, station: string, still: string, marks: readonly Mark[]): void => {
  const at = key(course, station, still);
  const ids = new Set(marks.map((mark) => mark.id));
  const before = (waiting.value.get(at) ?? []).filter((mark) => !ids.has(mark.id));
  waiting.value = new Map(waiting.value).set(at, [...before, ...marks]);
};

/** No longer to be offered: those of some surfaces, or (null) all. */
carriedTo.done = (course: string, station: string, still: string, surfaces: ReadonlySet<string> | null): void => {
  const at = key(course, station, still);
  const left = surfaces === null ? [] : (waiting.value.get(at) ?? []).filter((mark) => !surfaces.has(mark.surface));
  waiting.value = new Map(waiting.value).set(at, left);
};
