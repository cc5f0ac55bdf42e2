/** One course: the row of plates on top, below it the whole course or one of its stations. */

import { useEffect, useLayoutEffect, useMemo } from "preact/hooks";
import { Link, Trouble } from "../components/bits";
import { Choices, Others, UndoBar } from "../components/choices";
import { Frame } from "../components/frame";
import { JobBand } from "../components/jobband";
import { Plates } from "../components/plates";
import { CourseModel } from "../models/course";
import { hear } from "../models/hear";
import { to } from "../models/route";
import { strings } from "../strings";
import { StationPage } from "./station";
import { WalkPage } from "./walk";
import { Whole } from "./whole";

export function CoursePages({ course, number, walk = false }: { course: string; number: number | null; walk?: boolean }) {
  const model = useMemo(() => new CourseModel(course), [course]);
  useEffect(() => {
    const leave = () => model.leave();
    addEventListener("pagehide", leave);
    void model.open();
    return () => {
      removeEventListener("pagehide", leave);
      model.close();
    };
  }, [model]);
  const view = model.view.value;
  const at = number === null ? null : model.station(number);
  useLayoutEffect(() => {
    model.at.value = at?.station.id ?? null;
    return walk ? undefined : undoKeys(model); // the walk has its own: words are taken back there too
  }, [model, at?.station.id, walk]);
  useEffect(() => {
    hear.of(view?.course ?? null);
    if (view)
      document.title = at
        ? `${strings.station.title(at.station.number, at.station.name ?? strings.station.unnamed)} · ${view.course.title}`
        : view.course.title;
  }, [view, at]);
  if (model.missing.value !== null)
    return (
      <Frame>
        <h1>{view ? strings.bin.gone : strings.problemTitle}</h1>
        <p>{model.missing.value}</p>
        <p>
          <Link href={to.courses}>{strings.noCourse}</Link>
        </p>
      </Frame>
    );
  if (!view)
    return (
      <Frame>
        <p class="quiet">{strings.loading}</p>
      </Frame>
    );
  const job = model.job.value;
  const whole = number === null && !walk; // it has a place of its own for publishing
  return (
    <Frame
      tools={walk ? undefined : <UndoBar model={model} />}
      row={<Plates course={course} title={view.course.title} plates={view.plates} at={number} walk={walk} />}
    >
      <Trouble problem={model.problem.value ?? model.outbox.refused.value} />
      <Choices model={model} />
      <div class="course-line">
        <Others model={model} />
      </div>
      {job && !(job.kind === "publish" && whole) && (
        <JobBand
          job={job}
          stop={(id) => void model.stop(id)}
          goOn={job.kind === "publish" || job.kind === "films" ? undefined : () => void model.draft()}
        />
      )}
      {walk ? (
        <WalkPage model={model} view={view} />
      ) : number === null ? (
        <Whole model={model} view={view} />
      ) : at ? (
        <StationPage key={at.station.id} model={model} view={view} at={at} />
      ) : (
        <h1>{strings.station.gone(number)}</h1>
      )}
    </Frame>
  );
}

/** Ctrl or Command with Z undoes, with Shift (or Y) does it again; where somebody types, the keys are the field's own. */
function undoKeys(model: CourseModel): () => void {
  const key = (event: KeyboardEvent) => {
    const typing = event.target instanceof HTMLElement && event.target.matches("input, textarea, select, [contenteditable]");
    if (typing || event.defaultPrevented || event.altKey || !(event.ctrlKey || event.metaKey)) return;
    const letter = event.key.toLowerCase();
    if (letter !== "z" && letter !== "y") return;
    event.preventDefault();
    if (letter === "y" || event.shiftKey) model.redo();
    else model.undo();
  };
  addEventListener("keydown", key);
  return () => removeEventListener("keydown", key);
}
