/** The work at hand: what it is at, how far, how long still, and a way to stop it. */

import type { Job } from "../api";
import { isOpen, timeLeft } from "../models/job";
import { strings } from "../strings";

export function JobBand({ job, stop, goOn }: { job: Job; stop: (job: string) => void; goOn?: (() => void) | undefined }) {
  if (job.state === "done") return null;
  if (!isOpen(job))
    return (
      <div class="band band-ended" role="alert">
        <p>{job.sentence}</p>
        {goOn && (
          <button type="button" onClick={goOn}>
            {strings.job.goOn}
          </button>
        )}
      </div>
    );
  const what = strings.job.kind[job.kind];
  const now = job.stopping ? strings.job.stopping : job.state === "waiting" ? strings.job.waiting : (job.stage ?? "");
  return (
    <section class="band" aria-label={what}>
      <p class="band-what">
        <strong>{what}</strong> <span>{now}</span>
      </p>
      <progress max={1} value={job.share} aria-label={what} />
      <p class="band-time">
        <span>{strings.job.percent(job.share)}</span> <span>{job.state === "working" ? timeLeft(job.seconds_left) : ""}</span>
      </p>
      <p class="quiet">{strings.job.mayLeave}</p>
      <button type="button" class="plain" disabled={job.stopping} onClick={() => stop(job.id)}>
        {strings.job.stop}
      </button>
    </section>
  );
}
