/** Taking a course out: what goes is told first, and who or what is at it. It goes into the bin. */

import { useEffect, useRef, useState } from "preact/hooks";
import { api, type CourseView, type Problem } from "../api";
import { clock } from "../geometry/clock";
import { awayProblem, type CourseModel } from "../models/course";
import { go, to } from "../models/route";
import { needWho } from "../models/who";
import { strings } from "../strings";
import { Trouble } from "./bits";

const s = strings.bin;

export function RemoveCourse({ model, view }: { model: CourseModel; view: CourseView }) {
  const [asked, setAsked] = useState(false);
  const [going, setGoing] = useState(false);
  const [problem, setProblem] = useState<Problem | null>(null);
  const hand = useRef<HTMLButtonElement>(null);
  const panel = useRef<HTMLElement>(null);
  useEffect(() => {
    if (asked) panel.current?.focus();
  }, [asked]);
  const inUse = problem?.kind === "in-use";
  const keep = () => {
    setAsked(false);
    setProblem(null);
    hand.current?.focus();
  };
  const remove = async () => {
    needWho();
    setGoing(true);
    const answer = await api.putInBin(model.name, model.outbox.client, inUse);
    setGoing(false);
    if (answer.kind === "ok") go(to.courses);
    else setProblem(answer.kind === "problem" ? answer.problem : awayProblem());
  };
  const stations = model.stations.value;
  const count = (of: "stills" | "marks") => stations.reduce((sum, at) => sum + at.station[of].length, 0);
  return (
    <section class="removing">
      <button ref={hand} type="button" class="plain" aria-expanded={asked} onClick={() => (asked ? keep() : setAsked(true))}>
        {s.remove}
      </button>
      {asked && (
        <section ref={panel} class="ask" tabIndex={-1} aria-labelledby="remove-title">
          <h2 id="remove-title">{s.sure(view.course.title)}</h2>
          <p>{s.goes}</p>
          <ul>
            <li>{s.clips(view.course.clips.length, clock(view.length_s))}</li>
            {stations.length > 0 && <li>{s.stations(stations.length)}</li>}
            {count("stills") > 0 && <li>{s.stills(count("stills"), count("marks"))}</li>}
            {view.editions.length > 0 && <li>{s.editions(view.editions.length)}</li>}
          </ul>
          <p>{s.days}</p>
          <p>{s.elsewhere}</p>
          <Trouble problem={problem} />
          <p class="row">
            <button type="button" disabled={going} onClick={() => void remove()}>
              {inUse ? s.anyway : s.yes}
            </button>
            <button type="button" class="plain" onClick={keep}>
              {s.no}
            </button>
          </p>
        </section>
      )}
    </section>
  );
}
