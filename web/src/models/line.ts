/** The line to the server: saved, saving, or away. One place on every page shows it. */

import { computed, signal } from "@preact/signals";

const open = signal(0);
const away = signal(false);

export type LineState = "saved" | "saving" | "away";

export const line = {
  state: computed<LineState>(() => (away.value ? "away" : open.value > 0 ? "saving" : "saved")),
  /** A write begins; the returned call ends it, once. */
  saving(): () => void {
    let over = false;
    open.value += 1;
    return () => {
      if (!over) open.value -= 1;
      over = true;
    };
  },
  gone(): void {
    away.value = true;
  },
  back(): void {
    away.value = false;
  },
};
