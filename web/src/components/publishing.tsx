/** Publishing the next edition, all in one place: the form, how far it is, where the booklet is, or why it did not work. */

import { useSignal } from "@preact/signals";
import { useLayoutEffect, useRef } from "preact/hooks";
import type { CourseView, Job } from "../api";
import type { CourseModel } from "../models/course";
import { isOpen } from "../models/job";
import { openEnds } from "../models/steps";
import { strings } from "../strings";
import { Trouble } from "./bits";
import { JobBand } from "./jobband";

const e = strings.editions;
type Part = { model: CourseModel; view: CourseView };

export function Publishing({ model, view }: Part) {
  const job = model.job.value?.kind === "publish" ? model.job.value : null;
  /** The work that this page asked for or saw; what was done before it was opened is no news. */
  const seen = useSignal<string | null>(null);
  const asked = model.publishing.value;
  const runs = job !== null && isOpen(job);
  const stands = useRef<HTMLDivElement>(null);
  useLayoutEffect(() => {
    if (runs) seen.value = job.id;
  }, [runs, job?.id]);
  useLayoutEffect(() => {
    if (!asked) return; // the button that was pressed is gone: the eye and the keys stay at this place
    stands.current?.focus({ preventScroll: true });
    stands.current?.scrollIntoView({ block: "nearest" });
  }, [asked]);
  const next = (view.editions.at(-1)?.number ?? 0) + 1;
  const out = job?.state === "done" && !view.unpublished && seen.value === job.id ? job.edition : null;
  const failed = job !== null && !runs && job.state !== "done" ? job : null;
  return (
    <div ref={stands} class="publishing" tabIndex={-1}>
      <Trouble problem={model.publishProblem.value} />
      {failed && !asked && <Failed job={failed} />}
      {runs ? (
        <JobBand job={job} stop={(id) => void model.stop(id)} />
      ) : asked ? (
        <section class="band" aria-label={strings.job.kind.publish}>
          <p class="band-what">
            <strong>{e.asking(next)}</strong>
          </p>
          <progress aria-label={strings.job.kind.publish} />
        </section>
      ) : (
        view.unpublished && <PublishForm model={model} view={view} next={next} />
      )}
      <div role="status">{out !== null && <Out view={view} number={out} />}</div>
    </div>
  );
}

function Failed({ job }: { job: Job }) {
  return (
    <div class="band band-ended" role="alert">
      <p>
        <strong>{e.notOut}</strong> {job.sentence}
      </p>
    </div>
  );
}

/** The edition is out: the booklet first, since that is what everybody asks for. */
function Out({ view, number }: { view: CourseView; number: number }) {
  const booklet = view.editions.find((edition) => edition.number === number)?.outputs.find((output) => output.kind === "booklet");
  return (
    <div class="band out-now">
      <p class="lead">
        <strong>{e.isOut(number)}</strong>
      </p>
      {booklet && (
        <p>
          <a class="button" href={booklet.address}>
            {strings.coursePage.toBooklet}
          </a>
        </p>
      )}
      <p class="quiet">{e.isOutBelow(number)}</p>
    </div>
  );
}

function PublishForm({ model, view, next }: Part & { next: number }) {
  const address = useSignal("");
  const blocked = view.plates.length === 0 || view.findings.some((finding) => finding.severity === "blocks");
  const { unsigned, look } = openEnds(view);
  const publish = (event: Event) => {
    event.preventDefault();
    void model.publish(address.value);
  };
  return (
    <form class="publish" onSubmit={publish}>
      <div class="field">
        <label for="address">{e.address}</label>
        <p id="address-help" class="quiet">
          {e.addressHelp}
        </p>
        <input
          id="address"
          type="url"
          inputMode="url"
          placeholder="https://"
          aria-describedby="address-help"
          value={address.value}
          onInput={(event) => {
            address.value = event.currentTarget.value;
          }}
        />
      </div>
      {!blocked && unsigned + look > 0 && <p>{e.openEnds(unsigned, look)}</p>}
      <button type="submit" disabled={model.busy.value || blocked}>
        {e.publish(next)}
      </button>
      {blocked && <p class="quiet">{e.blocked}</p>}
    </form>
  );
}
