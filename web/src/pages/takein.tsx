/** Taking in a walk: the clips, the names list, the title; then the work is followed where the course appears. */

import { useSignal } from "@preact/signals";
import { useEffect, useMemo } from "preact/hooks";
import { api, type Job } from "../api";
import { Link, Trouble } from "../components/bits";
import { Clips } from "../components/clips";
import { Pick } from "../components/files";
import { Frame } from "../components/frame";
import { JobBand } from "../components/jobband";
import { isOpen } from "../models/job";
import { go, to } from "../models/route";
import { type WalkModel, walkAtHand } from "../models/walk";
import { strings } from "../strings";

const s = strings.takeIn;
const LONGEST_TITLE = 120;

export function TakeInPage() {
  const walk = useMemo(() => walkAtHand(), []);
  useEffect(() => {
    document.title = s.title;
    void walk.lookForLeft();
  }, [walk]);
  return (
    <Frame>
      <h1>{s.title}</h1>
      {walk.job.value ? <Following job={walk.job.value} /> : <Form walk={walk} />}
    </Frame>
  );
}

function Following({ job }: { job: Job }) {
  const now = useSignal(job);
  useEffect(() => {
    let timer: ReturnType<typeof setTimeout>;
    let closed = false;
    const look = async () => {
      const answer = await api.job(job.id);
      if (closed) return;
      if (answer.kind === "ok") now.value = answer.value;
      if (now.value.course !== null) go(to.course(now.value.course));
      else if (isOpen(now.value)) timer = setTimeout(look, 500);
    };
    void look();
    return () => {
      closed = true;
      clearTimeout(timer);
    };
  }, [job.id, now]);
  return <JobBand job={now.value} stop={(id) => void api.stop(id)} goOn={() => location.reload()} />;
}

function Form({ walk }: { walk: WalkModel }) {
  const send = (event: Event) => {
    event.preventDefault();
    if (!tooLong) walk.wish();
  };
  const length = walk.title.value.trim().length;
  const tooLong = length > LONGEST_TITLE;
  const problem = walk.problem.value;
  const none = walk.clips.value.length === 0;
  return (
    <form class="take-in" onSubmit={send}>
      <p class="lead">{s.intro}</p>
      <Clips walk={walk} />
      <section class="field">
        <label for="title">{s.courseTitle}</label>
        <p id="title-help" class="quiet">
          {s.titleHelp}
        </p>
        <input
          id="title"
          value={walk.title.value}
          aria-describedby="title-help title-wrong"
          aria-invalid={tooLong}
          onInput={(event) => {
            walk.title.value = event.currentTarget.value;
          }}
        />
        <p id="title-wrong" role="alert">
          {tooLong && s.titleLong(length, LONGEST_TITLE)}
        </p>
      </section>
      <section class="field">
        <label for="names">{s.names}</label>
        <p id="names-help" class="quiet">
          {s.namesHelp}
        </p>
        <textarea
          id="names"
          rows={6}
          aria-describedby="names-help"
          value={walk.names.value}
          onInput={(event) => {
            walk.names.value = event.currentTarget.value;
          }}
        />
        <Pick
          label={s.namesFile}
          accept=".txt,text/plain"
          quiet
          chosen={async (files) => {
            const text = await files[0]?.text();
            if (text !== undefined) walk.names.value = text;
          }}
        />
      </section>
      <Trouble problem={problem} />
      {problem?.kind === "already-here" && (
        <p class="row">
          {problem.course && <Link href={to.course(problem.course)}>{s.openAlready}</Link>}
          <button type="button" class="plain" onClick={() => walk.wish(true)}>
            {s.again}
          </button>
        </p>
      )}
      <p class="row go">
        <button type="submit" disabled={none || tooLong || walk.refused.value || !walk.captionsFit.value || walk.wished.value}>
          {s.go}
        </button>
        <span class="quiet" role="status">
          {none ? s.noClip : walk.wished.value || !walk.allHere.value ? s.goWhenHere : ""}
        </span>
      </p>
    </form>
  );
}
