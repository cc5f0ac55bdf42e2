/** How hard the booklet reads as the course stands: a sentence a language, and each line that is too long with the way to its place. */

import { useEffect, useState } from "preact/hooks";
import { api, type CourseView, type Reading } from "../api";
import type { CourseModel } from "../models/course";
import { ease, languageName } from "../models/naming";
import { to } from "../models/route";
import { strings } from "../strings";
import { Link } from "./bits";

const s = strings.naming.reading;
const MOST_WORDS = 12; // a line, as the findings have it (LOOK: one rule a line, at most 12 words)
type Level = Reading["levels"][number];

export function HowItReads({ model, view }: { model: CourseModel; view: CourseView }) {
  const [levels, setLevels] = useState<readonly Level[]>([]);
  const seen = [view.revision, ...model.stations.value.map((at) => at.revision)].join(" ");
  const waits = model.waiting.value.length > 0;
  useEffect(() => {
    if (waits) return;
    let current = true;
    void api.reading(view.course.name).then((answer) => {
      if (current && answer.kind === "ok") setLevels(answer.value.levels);
    });
    return () => {
      current = false;
    };
  }, [view.course.name, seen, waits]);
  const [own, ...others] = levels;
  if (!own || view.plates.length === 0) return null;
  return (
    <section>
      <h2>{s.title}</h2>
      <Level level={own} />
      <LongLines level={own} course={view.course.name} />
      <details>
        <summary>{s.others}</summary>
        {others.map((level) => (
          <div key={level.language}>
            <Level level={level} />
            {level.too_long.length > 0 && <LongLines level={level} course={view.course.name} />}
          </div>
        ))}
        <p class="quiet">{s.indexHelp}</p>
      </details>
    </section>
  );
}

function Level({ level }: { level: Level }) {
  if (level.lix === null) return <p class="quiet">{s.noWords}</p>;
  const words = level.words_a_line.toFixed(1);
  return (
    <p>
      {s.sentence(languageName(level.language), ease(level.lix), words)} <span class="quiet">{s.index(level.lix.toFixed(0))}</span>
    </p>
  );
}

function LongLines({ level, course }: { level: Level; course: string }) {
  return (
    <>
      <p class={level.too_long.length === 0 ? "quiet" : undefined}>{s.longLines(level.too_long.length, MOST_WORDS)}</p>
      {level.too_long.length > 0 && (
        <ul class="long-lines">
          {level.too_long.map((line) => (
            <li key={`${line.station} ${line.text}`}>
              {line.station === null ? (
                <a href="#everywhere">{s.ofCourse}</a>
              ) : (
                <Link href={to.station(course, line.station)}>{strings.finding.atStation(line.station)}</Link>
              )}{" "}
              <q lang={level.language}>{line.text}</q> <span class="quiet">{s.words(line.words)}</span>
            </li>
          ))}
        </ul>
      )}
    </>
  );
}
