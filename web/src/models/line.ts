/** The line to the server: saved, saving, kept here, waiting for a choice, or away. One place on every page shows it. */

import { computed, signal } from "@preact/signals";

const open = signal(0);
const away = signal(false);
const waiting = signal(0);
const held = signal(0);

export type LineState = "saved" | "saving" | "kept" | "held" | "away";

function state(): LineState {
  if (away.value) return waiting.value > 0 ? "kept" : "away";
  if (held.value > 0) return "held";
  return open.value > 0 || waiting.value > 0 ? "saving" : "saved";
}

export const line = {
  state: computed<LineState>(state),
  waiting: computed(() => waiting.value),
  held: computed(() => held.value),
  /** A write begins; the returned call ends it, once. */
  saving(): () => void {
    let over = false;
    open.value += 1;
    return () => {
      if (!over) open.value -= 1;
      over = true;
    };
  },
  /** How many changes wait for the server, and how many for a person's choice. */
  wait(changes: number, choices: number): void {
    waiting.value = changes;
    held.value = choices;
  },
  gone(): void {
    away.value = true;
  },
  back(): void {
    away.value = false;
  },
};
