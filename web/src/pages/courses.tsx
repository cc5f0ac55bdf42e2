/** All courses, or the one sentence and one button that begin. */

import { useSignal } from "@preact/signals";
import { useCallback, useEffect } from "preact/hooks";
import { api, type Binned, type CourseRow, type Job } from "../api";
import { Bin } from "../components/bin";
import { Link, Tape } from "../components/bits";
import { Frame } from "../components/frame";
import { JobBand } from "../components/jobband";
import { SmallPlates } from "../components/plates";
import { clock } from "../geometry/clock";
import { isOpen } from "../models/job";
import { to } from "../models/route";
import { strings } from "../strings";

const s = strings.courses;

export function Courses() {
  const rows = useSignal<readonly CourseRow[] | null>(null);
  const nameless = useSignal<readonly Job[]>([]);
  const binned = useSignal<readonly Binned[]>([]);
  const look = useCallback(async () => {
    const [courses, bin] = await Promise.all([api.courses(), api.bin()]);
    if (courses.kind === "ok") rows.value = courses.value.courses;
    if (bin.kind === "ok") binned.value = bin.value.courses;
  }, [rows, binned]);
  useEffect(() => {
    document.title = s.title;
    let timer: ReturnType<typeof setTimeout>;
    let closed = false;
    const load = async () => {
      const [, jobs] = await Promise.all([look(), api.jobs()]);
      if (closed) return;
      if (jobs.kind === "ok")
        nameless.value = jobs.value.jobs.filter((job) => job.kind === "take in" && job.course === null && isOpen(job));
      timer = setTimeout(load, 2000);
    };
    void load();
    return () => {
      closed = true;
      clearTimeout(timer);
    };
  }, [look, nameless]);
  const empty = rows.value?.length === 0 && nameless.value.length === 0;
  return (
    <Frame>
      <div class="title-line">
        <h1>{s.title}</h1>
        {!empty && rows.value && (
          <Link href={to.takeIn} class="button">
            {s.takeIn}
          </Link>
        )}
      </div>
      {rows.value === null && <p class="quiet">{strings.loading}</p>}
      {nameless.value.map((job) => (
        <JobBand key={job.id} job={job} stop={(id) => void api.stop(id)} />
      ))}
      {empty && (
        <section class="begin">
          <p>{s.empty}</p>
          <Link href={to.takeIn} class="button">
            {s.takeIn}
          </Link>
        </section>
      )}
      <ul class="courses">
        {rows.value?.map((row) => (
          <li key={row.name}>
            <Row row={row} />
          </li>
        ))}
      </ul>
      <Bin courses={binned.value} load={look} />
    </Frame>
  );
}

function Row({ row }: { row: CourseRow }) {
  return (
    <article class="strip">
      <Tape>{row.plates.length || "–"}</Tape>
      <div class="strip-body">
        <h2>
          <Link href={to.course(row.name)}>{row.title}</Link>
        </h2>
        <p>
          {row.job && isOpen(row.job)
            ? `${strings.job.kind[row.job.kind]}: ${strings.job.percent(row.job.share)}`
            : [s.stations(row.plates.length), s.length(clock(row.length_s)), strings.state[row.standing]].join(" · ")}
        </p>
        {row.edition !== null && <p class="quiet">{s.edition(row.edition)}</p>}
        <SmallPlates plates={row.plates} />
      </div>
      {row.picture && <img class="strip-picture" src={`${row.picture}?width=320`} alt="" loading="lazy" />}
    </article>
  );
}
