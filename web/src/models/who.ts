/** The name that this browser's changes are shown under. There are no accounts yet: it is asked once and can be changed. */

import { signal } from "@preact/signals";
import { recall, remember } from "./keep";

export const LONGEST_NAME = 60;
export const who = signal(recall("who") ?? "");
/** Whether the question for a name is open. It opens by itself with the first change, once, and keeps nobody from going on. */
export const asking = signal(false);
let asked = false;

export function setWho(name: string): void {
  who.value = name.replace(/\s+/g, " ").trim().slice(0, LONGEST_NAME);
  remember("who", who.value || null);
}

/** Whether a name is the one that this browser goes by. */
export function isMe(name: string): boolean {
  return who.value !== "" && name.trim().toLowerCase() === who.value.toLowerCase();
}

export function needWho(): void {
  if (who.value || asked) return;
  asked = true;
  asking.value = true;
}
