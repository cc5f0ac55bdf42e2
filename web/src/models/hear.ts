/** Hearing a moment of the walk: which clip holds it, and what is open in the small player. */

import { signal } from "@preact/signals";
import { type Course, clipAt } from "../api";

export type Heard = Readonly<{ address: string; from: number; to: number; at: number }>;

const course = signal<Course | null>(null);
export const heard = signal<Heard | null>(null);

const LEAD_S = 0.4;

function clipOf(time: number) {
  return course.value?.clips.findLast((clip) => clip.start_s <= time) ?? null;
}

export const hear = {
  /** From now on, moments are of this course's walk. */
  of(next: Course | null): void {
    if (next?.name !== course.value?.name) heard.value = null;
    course.value = next;
  },
  can(time: number): boolean {
    return Boolean(clipOf(time)?.proxy);
  },
  play(from: number, to: number): void {
    const clip = clipOf(from);
    if (!clip || !course.value) return;
    heard.value = {
      address: clipAt(course.value.name, clip.number),
      from: Math.max(0, from - clip.start_s - LEAD_S),
      to: Math.max(from + 1, to) - clip.start_s + LEAD_S,
      at: from,
    };
  },
  close(): void {
    heard.value = null;
  },
};
