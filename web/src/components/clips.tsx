/** The clips that are being brought: chosen or dropped, in their order, each with how far it is, and captions where somebody has them. */

import { useSignal } from "@preact/signals";
import { to } from "../models/route";
import type { Clip, WalkModel } from "../models/walk";
import { strings } from "../strings";
import { Link } from "./bits";
import { Pick, Standing } from "./files";

const s = strings.takeIn;
const FILMS = "video/*,.mp4,.mov,.m4v,.mkv,.webm,.avi,.3gp";

/** `after` clips stand before these in the course already. */
export function Clips({ walk, help = s.clipsHelp, after = 0 }: { walk: WalkModel; help?: string; after?: number }) {
  const over = useSignal(false);
  const drop = (event: DragEvent) => {
    event.preventDefault();
    over.value = false;
    walk.add([...(event.dataTransfer?.files ?? [])]);
  };
  const clips = walk.clips.value;
  return (
    <section class="field" aria-labelledby="clips-title">
      {after === 0 ? <h2 id="clips-title">{s.clips}</h2> : <h3 id="clips-title">{strings.addClip.title}</h3>}
      <p class="quiet">{help}</p>
      <Left walk={walk} />
      <ol class="clips">
        {clips.map((clip, at) => (
          <ClipLine key={clip.film} clip={clip} walk={walk} at={at} of={clips.length} after={after} />
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

type Line = { clip: Clip; walk: WalkModel; at: number; of: number; after: number };

function ClipLine({ clip, walk, at, of, after }: Line) {
  const name = clip.film.file.name;
  const state = clip.film.state.value;
  return (
    <li class={`clip clip-${state.at}`}>
      <b class="clip-number">{after + at + 1}</b>
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
              {course.name === walk.course ? (
                s.inIt
              ) : (
                <>
                  {s.already(course.title)} <Link href={to.course(course.name)}>{s.openAlready}</Link>
                </>
              )}
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
