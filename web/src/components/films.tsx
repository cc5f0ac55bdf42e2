/** The films of an edition: how they are to be made, how far they are, and going on where somebody stopped them. */

import { useSignal } from "@preact/signals";
import { useState } from "preact/hooks";
import type { CourseView, Edition, FilmWishes } from "../api";
import type { CourseModel } from "../models/course";
import { isOpen, timeLeft } from "../models/job";
import { recall, remember } from "../models/keep";
import { strings } from "../strings";
import { Choose, Line } from "./fields";

const s = strings.films;
const PLAIN: FilmWishes = { lines: 480, division: null, wording: "as spoken", in_picture: false, whole_walk: true };
type Part = { model: CourseModel; view: CourseView };

export function Films({ model, view, edition }: Part & { edition: Edition }) {
  const kept = `films ${view.course.name}`;
  const wishes = useSignal<FilmWishes>(wishesFrom(recall(kept), view.course.divisions));
  const job = model.job.value?.kind === "films" ? model.job.value : null;
  const made = edition.outputs.some((output) => output.kind.startsWith("films"));
  const wish = (change: Partial<FilmWishes>) => {
    wishes.value = { ...wishes.value, ...change };
    remember(kept, JSON.stringify(wishes.value));
  };
  if (job && isOpen(job))
    return (
      <div class="films">
        <p role="status">{s.making(job.share, timeLeft(job.seconds_left))}</p>
        <button type="button" class="plain" disabled={job.stopping} onClick={() => void model.stop(job.id)}>
          {job.stopping ? strings.job.stopping : s.stop}
        </button>
      </div>
    );
  const how = <How wishes={wishes.value} wish={wish} divisions={view.course.divisions} />;
  const go = (
    <button type="button" class="plain" disabled={model.busy.value} onClick={() => void model.films(edition.number, wishes.value)}>
      {job?.state === "stopped" ? s.goOn : s.make}
    </button>
  );
  return (
    <div class="films">
      {made ? (
        <details>
          <summary>{s.again}</summary>
          {how}
          {go}
        </details>
      ) : (
        <>
          {go}
          <p class="quiet">{s.help(view.course.faces_shown !== null)}</p>
          <details>
            <summary>{s.how}</summary>
            {how}
          </details>
        </>
      )}
      <Faces model={model} view={view} />
    </div>
  );
}

/** What this browser remembers of how films were wished last, as far as it still fits. */
export function wishesFrom(kept: string | null, divisions: readonly string[]): FilmWishes {
  try {
    const { lines, division, wording, in_picture, whole_walk } = { ...PLAIN, ...(JSON.parse(kept ?? "{}") as Partial<FilmWishes>) };
    return {
      lines: lines === 720 ? 720 : 480,
      division: divisions.find((each) => each === division) ?? null,
      wording: wording in s.wordings ? wording : PLAIN.wording,
      in_picture: in_picture === true,
      whole_walk: whole_walk !== false,
    };
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    return PLAIN;
  }
}

type HowProps = { wishes: FilmWishes; wish: (change: Partial<FilmWishes>) => void; divisions: readonly string[] };

function How({ wishes, wish, divisions }: HowProps) {
  const wordings = ["as spoken", "clean", "children"] as const;
  const everyone = ""; // no division has an empty name
  return (
    <div class="films-how">
      <Choose
        label={s.size}
        value={String(wishes.lines) as "480" | "720"}
        options={[
          ["480", s.lines[480]],
          ["720", s.lines[720]],
        ]}
        choose={(lines) => wish({ lines: lines === "720" ? 720 : 480 })}
      />
      <Choose
        label={s.wording}
        value={wishes.wording}
        options={wordings.map((each) => [each, s.wordings[each]] as const)}
        choose={(wording) => wish({ wording })}
      />
      {divisions.length > 0 && (
        <Choose
          label={s.division}
          value={wishes.division ?? everyone}
          options={[[everyone, s.everyone] as const, ...divisions.map((each) => [each, each] as const)]}
          choose={(division) => wish({ division: division === everyone ? null : division })}
        />
      )}
      <Tick label={s.inPicture} on={wishes.in_picture} set={(in_picture) => wish({ in_picture })} />
      <Tick label={s.walk} on={wishes.whole_walk} set={(whole_walk) => wish({ whole_walk })} />
    </div>
  );
}

function Tick({ label, on, set }: { label: string; on: boolean; set: (on: boolean) => void }) {
  return (
    <label class="check">
      <input type="checkbox" checked={on} onChange={(event) => set(event.currentTarget.checked)} />
      {label}
    </label>
  );
}

function Faces({ model, view }: Part) {
  const [because, setBecause] = useState("");
  const f = s.faces;
  const shown = view.course.faces_shown;
  return (
    <details>
      <summary>{f.title}</summary>
      <p>{shown ? f.shown(shown.by, shown.because) : f.blurred}</p>
      {shown ? (
        <button type="button" class="plain" disabled={model.busy.value} onClick={() => void model.showFaces(null)}>
          {f.blur}
        </button>
      ) : (
        <form
          class="add"
          onSubmit={(event) => {
            event.preventDefault();
            void model.showFaces(because);
          }}
        >
          <Line label={f.why} value={because} most={500} write={setBecause} help={f.whyHelp} />
          <button type="submit" class="plain" disabled={model.busy.value || because.trim() === ""}>
            {f.show}
          </button>
        </form>
      )}
    </details>
  );
}
