/** A job as people read it: what it is at, how far, and how long still. */

import type { Job } from "../api";
import { strings } from "../strings";

export function isOpen(job: Job): boolean {
  return job.state === "waiting" || job.state === "working";
}

/** Time left in words that do not jump: whole minutes above one and a half, else tens of seconds. */
export function timeLeft(seconds: number | null): string {
  if (seconds === null) return "";
  if (seconds >= 90) return strings.job.minutesLeft(Math.round(seconds / 60));
  if (seconds >= 10) return strings.job.secondsLeft(Math.ceil(seconds / 10) * 10);
  return strings.job.nearlyDone;
}
