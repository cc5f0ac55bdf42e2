/** The courses in the bin: each can be brought back for a while, or deleted for good once somebody said so twice. */

import { useState } from "preact/hooks";
import { type Answer, api, type Binned, type Problem } from "../api";
import { clock } from "../geometry/clock";
import { awayProblem } from "../models/course";
import { isOpen } from "../models/job";
import { needWho } from "../models/who";
import { strings } from "../strings";
import { Trouble, when } from "./bits";

const s = strings.bin;

export function Bin({ courses, load }: { courses: readonly Binned[]; load: () => Promise<void> }) {
  if (courses.length === 0) return null;
  return (
    <details class="bin">
      <summary>{s.title(courses.length)}</summary>
      <ul class="plain-list">
        {courses.map((each) => (
          <li key={each.name}>
            <Row binned={each} load={load} />
          </li>
        ))}
      </ul>
    </details>
  );
}

function Row({ binned, load }: { binned: Binned; load: () => Promise<void> }) {
  const [sure, setSure] = useState(false);
  const [problem, setProblem] = useState<Problem | null>(null);
  const does = async (step: () => Promise<Answer<unknown>>) => {
    needWho();
    const answer = await step();
    setSure(false);
    setProblem(answer.kind === "ok" ? null : answer.kind === "problem" ? answer.problem : awayProblem());
    await load();
  };
  const going = binned.job !== null && (isOpen(binned.job) || binned.job.state === "done");
  const day = new Date(binned.until).toLocaleDateString(undefined, { dateStyle: "medium" });
  return (
    <article class="binned">
      <h2>{binned.title}</h2>
      <p>{[strings.courses.stations(binned.stations), strings.courses.length(clock(binned.length_s))].join(" · ")}</p>
      <p class="quiet">{[s.put(binned.who, when(binned.at)), going ? "" : s.until(day)].filter(Boolean).join(" ")}</p>
      <Trouble problem={problem} />
      {binned.job?.sentence && <p role="alert">{binned.job.sentence}</p>}
      {going ? (
        <p role="status">{s.going}</p>
      ) : sure ? (
        <div class="ask">
          <p>
            <strong>{s.sureForGood(binned.title)}</strong>
          </p>
          <p>{s.deleted}</p>
          <p class="row">
            <button type="button" onClick={() => void does(() => api.removeForGood(binned.name))}>
              {s.yesForGood}
            </button>
            <button type="button" class="plain" onClick={() => setSure(false)}>
              {s.no}
            </button>
          </p>
        </div>
      ) : (
        <p class="row">
          <button
            type="button"
            class="plain"
            aria-label={s.backNamed(binned.title)}
            onClick={() => void does(() => api.bringBack(binned.name))}
          >
            {s.back}
          </button>
          <button type="button" class="plain" aria-label={s.forGoodNamed(binned.title)} onClick={() => setSure(true)}>
            {s.forGood}
          </button>
        </p>
      )}
    </article>
  );
}
