/** One course: the row of plates on top, below it the whole course or one of its stations. */

import { useEffect, useMemo } from "preact/hooks";
import { Link, Trouble } from "../components/bits";
import { Frame } from "../components/frame";
import { JobBand } from "../components/jobband";
import { Plates } from "../components/plates";
import { CourseModel } from "../models/course";
import { hear } from "../models/hear";
import { to } from "../models/route";
import { strings } from "../strings";
import { StationPage } from "./station";
import { Whole } from "./whole";

export function CoursePages({ course, number }: { course: string; number: number | null }) {
  const model = useMemo(() => new CourseModel(course), [course]);
  useEffect(() => {
    void model.open();
    return () => model.close();
  }, [model]);
  const view = model.view.value;
  const at = number === null ? null : model.station(number);
  useEffect(() => {
    hear.of(view?.course ?? null);
    if (view)
      document.title = at
        ? `${strings.station.title(at.station.number, at.station.name ?? strings.station.unnamed)} · ${view.course.title}`
        : view.course.title;
  }, [view, at]);
  if (model.missing.value !== null && !view)
    return (
      <Frame>
        <h1>{strings.problemTitle}</h1>
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
  return (
    <Frame row={<Plates course={course} title={view.course.title} plates={view.plates} at={number} />}>
      <Trouble problem={model.problem.value} />
      {job && (
        <JobBand
          job={job}
          stop={(id) => void model.stop(id)}
          goOn={job.kind === "publish" || job.kind === "films" ? undefined : () => void model.draft()}
        />
      )}
      {number === null ? (
        <Whole model={model} view={view} />
      ) : at ? (
        <StationPage key={at.station.id} model={model} view={view} at={at} />
      ) : (
        <h1>{strings.station.gone(number)}</h1>
      )}
    </Frame>
  );
}
