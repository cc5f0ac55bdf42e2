/** The way around a course in steps beside the real things: which step is shown, where it is, and that somebody has seen it. */

import { computed, signal } from "@preact/signals";
import { strings } from "../strings";
import { recall, remember } from "./keep";
import { go, to } from "./route";

type Step = Readonly<{ page: "course" | "station" | "walk"; thing: string; words: string }>;
const s = strings.help.steps;

export const STEPS: readonly Step[] = [
  { page: "course", thing: ".states", words: s.states },
  { page: "course", thing: ".plates ol", words: s.plates },
  { page: "walk", thing: "main h1", words: s.walk },
  { page: "station", thing: ".leaf-stills", words: s.stills },
  { page: "station", thing: ".lines-start, .lines-in", words: s.sheet },
  { page: "station", thing: ".leaf-sheet .evidence", words: s.evidence },
  { page: "station", thing: ".settle", words: s.settle },
  { page: "course", thing: ".editions-part", words: s.publish },
  { page: "course", thing: ".line", words: s.saved },
];

const at = signal<Readonly<{ course: string; station: number; step: number }> | null>(null);
const known = signal(recall("tour") !== null);

export const tour = {
  /** The step that is shown, and how many there are. */
  now: computed(() => (at.value === null ? null : { ...at.value, ...(STEPS[at.value.step] as Step), of: STEPS.length })),
  /** Whether somebody at this browser went around already, or did not want to. */
  known,
  begin(course: string, station: number): void {
    show(course, station, 0);
  },
  /** To the next step, or back; beyond the last one it ends. */
  turn(by: 1 | -1): void {
    if (!at.value) return;
    const step = at.value.step + by;
    if (step < 0) return;
    if (step >= STEPS.length) tour.end();
    else show(at.value.course, at.value.station, step);
  },
  end(): void {
    at.value = null;
    known.value = true;
    remember("tour", "seen");
  },
};

function show(course: string, station: number, step: number): void {
  const page = STEPS[step]?.page;
  at.value = { course, station, step };
  go(page === "walk" ? to.walk(course) : page === "station" ? to.station(course, station) : to.course(course));
}
