/** Taking in a walk: the clips, the names list, the title; then the work is followed where the course appears. */

import { useSignal } from "@preact/signals";
import { useEffect, useMemo } from "preact/hooks";
import { api, type Job } from "../api";
import { Link, Trouble } from "../components/bits";
import { Pick, Standing } from "../components/files";
import { Frame } from "../components/frame";
import { JobBand } from "../components/jobband";
import { isOpen } from "../models/job";
import { go, to } from "../models/route";
import { type Clip, type WalkModel, walkAtHand } from "../models/walk";
import { strings } from "../strings";

const s = strings.takeIn;
const LONGEST_TITLE = 120;
const FILMS = "video/*,.mp4,.mov,.m4v,.mkv,.webm,.avi,.3gp";

export function TakeInPage() {
  const walk = useMemo(walkAtHand, []);
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

function Clips({ walk }: { walk: WalkModel }) {
  const over = useSignal(false);
  const drop = (event: DragEvent) => {
    event.preventDefault();
    over.value = false;
    walk.add([...(event.dataTransfer?.files ?? [])]);
  };
  const clips = walk.clips.value;
  return (
    <section class="field" aria-labelledby="clips-title">
      <h2 id="clips-title">{s.clips}</h2>
      <p class="quiet">{s.clipsHelp}</p>
      <Left walk={walk} />
      <ol class="clips">
        {clips.map((clip, at) => (
          <ClipLine key={clip.film} clip={clip} walk={walk} at={at} of={clips.length} />
        ))}
      </ol>
      {/* biome-ignore lint/a11y/noStaticElementInteractions: dropping is a second way; the button inside is the first */}
      <div
        class={`drop${over.value ? " drop-over" : ""}`}
        onDragOver={(event) => {
          event.preventDefault();
          over.value = true;
        }}
        onDragLeave={() => {
          over.value = false;
        }}
        onDrop={drop}
      >
        <Pick label={clips.length ? s.more : s.choose} accept={FILMS} multiple chosen={(files) => walk.add(files)} />
        <span class="quiet">{s.drop}</span>
      </div>
      <div role="alert">{walk.twice.value.length > 0 && <p class="remark-line">{s.twice(walk.twice.value)}</p>}</div>
      {clips.length > 0 && (
        <details open={clips.some((clip) => clip.captions !== null)}>
          <summary>{s.captions}</summary>
          <p class="quiet">{s.captionsHelp}</p>
          <ul class="captions">
            {clips.map((clip) => (
              <li key={clip.film}>
                <span>{clip.film.file.name}</span>
                {clip.captions ? (
                  <>
                    <Standing sending={clip.captions} />
                    <button
                      type="button"
                      class="plain"
                      aria-label={s.captionsOut(clip.film.file.name)}
                      onClick={() => walk.setCaptions(clip, null)}
                    >
                      ×
                    </button>
                  </>
                ) : (
                  <Pick
                    label={s.captionsChoose}
                    spoken={s.captionsOf(clip.film.file.name)}
                    accept=".srt,.vtt"
                    quiet
                    chosen={(files) => walk.setCaptions(clip, files[0] ?? null)}
                  />
                )}
              </li>
            ))}
          </ul>
          {!walk.captionsFit.value && <p role="alert">{s.captionsMissing}</p>}
        </details>
      )}
    </section>
  );
}

/** What an earlier page sent a part of. */
function Left({ walk }: { walk: WalkModel }) {
  return (
    <>
      {walk.left.value.map((left) => (
        <p class="row remark-line" key={left.id}>
          <span>{s.left(left.name, left.share)}</span>
          <button type="button" class="plain small" aria-label={s.forgetNamed(left.name)} onClick={() => walk.forget(left)}>
            {s.forget}
          </button>
        </p>
      ))}
    </>
  );
}

function ClipLine({ clip, walk, at, of }: { clip: Clip; walk: WalkModel; at: number; of: number }) {
  const name = clip.film.file.name;
  const state = clip.film.state.value;
  return (
    <li class={`clip clip-${state.at}`}>
      <b class="clip-number">{at + 1}</b>
      <div class="clip-body">
        <p class="clip-name">{name}</p>
        <Standing sending={clip.film} />
        {state.at === "here" && state.upload.has_audio === false && <p class="remark-line">{s.noSound}</p>}
        {state.at === "here" &&
          state.upload.remarks.map((remark) => (
            <p class="remark-line" key={remark}>
              {remark}
            </p>
          ))}
        {state.at === "here" &&
          state.upload.already.map((course) => (
            <p class="remark-line" key={course.name}>
              {s.already(course.title)} <Link href={to.course(course.name)}>{s.openAlready}</Link>
            </p>
          ))}
      </div>
      <div class="clip-hand">
        {at > 0 && (
          <button type="button" class="plain" aria-label={s.earlier(name)} onClick={() => walk.move(clip, -1)}>
            ↑
          </button>
        )}
        {at < of - 1 && (
          <button type="button" class="plain" aria-label={s.later(name)} onClick={() => walk.move(clip, 1)}>
            ↓
          </button>
        )}
        <button type="button" class="plain" aria-label={s.remove(name)} onClick={() => walk.remove(clip)}>
          ×
        </button>
      </div>
    </li>
  );
}
