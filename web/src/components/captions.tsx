/** The captions of the walk: how each set of them reads, with a way to each that wants a look, and files that somebody translated. */

import { useSignal } from "@preact/signals";
import { useEffect, useId, useState } from "preact/hooks";
import { api, type WalkCaptions as Captions, type CourseView } from "../api";
import { clock } from "../geometry/clock";
import { brokenLimits, captionLanguages, languageOf, wishedSpeed } from "../models/captions";
import type { CourseModel } from "../models/course";
import { hear } from "../models/hear";
import { languageName } from "../models/naming";
import { Sending } from "../models/upload";
import { strings } from "../strings";
import { Pick, Standing } from "./files";
import { Sure } from "./sheet";

const s = strings.captions;
type Part = { model: CourseModel; view: CourseView };

/** Folded away until somebody opens it: only then the captions are made and counted. */
export function WalkCaptions({ model, view }: Part) {
  const [open, setOpen] = useState(false);
  const [read, setRead] = useState<readonly Captions[] | null>(null);
  const seen = [view.revision, ...model.stations.value.map((at) => at.revision)].join(" ");
  useEffect(() => {
    if (!open) return;
    let current = true;
    void api.captions(view.course.name).then((answer) => {
      if (current && answer.kind === "ok") setRead(answer.value.captions);
    });
    return () => {
      current = false;
    };
  }, [open, view.course.name, seen]);
  if (view.course.state === "taken in") return null;
  const languages = view.course.translations.map((each) => languageName(each.language));
  return (
    <section class="walk-captions">
      <h2>{s.title}</h2>
      <details onToggle={(event) => setOpen(event.currentTarget.open)}>
        <summary>{s.open(languages)}</summary>
        {read === null ? (
          <p class="quiet">{strings.loading}</p>
        ) : (
          read.map((each) => <OneSet key={each.wording ?? each.language} captions={each} model={model} />)
        )}
        <LayIn model={model} view={view} />
      </details>
    </section>
  );
}

function OneSet({ captions, model }: { captions: Captions; model: CourseModel }) {
  const broken = brokenLimits(captions);
  const language = languageName(captions.language);
  const speed = wishedSpeed(captions);
  return (
    <article class="caption-set">
      <h3>{captions.wording ? s.which[captions.wording] : s.translated(language)}</h3>
      {captions.problems.map((problem) => (
        <p class="remark-line" key={problem}>
          {problem}
        </p>
      ))}
      <p>
        {s.cues(captions.cues)}.{" "}
        {broken.length === 0 ? s.allKept : broken.map((limit) => s.broken(limit.of - limit.kept, limit.limit)).join(" ")}{" "}
        {speed && s.speed(speed.of === 0 ? 1 : speed.kept / speed.of, speed.limit)}
      </p>
      {captions.worst.length > 0 && (
        <details>
          <summary>{s.lookHead}</summary>
          <ul class="evidence">
            {captions.worst.map((cue) => (
              <li key={`${cue.start} ${cue.text}`}>
                {hear.can(cue.start) ? (
                  <button type="button" class="time" aria-label={s.hear(clock(cue.start))} onClick={() => hear.play(cue.start, cue.end)}>
                    {clock(cue.start)}
                  </button>
                ) : (
                  <span class="time">{clock(cue.start)}</span>
                )}{" "}
                <q lang={captions.language}>{cue.text}</q> <span class="quiet">{cue.about}</span>
              </li>
            ))}
          </ul>
        </details>
      )}
      <details>
        <summary>{s.limits}</summary>
        <ul class="plain-list">
          {captions.limits.map((limit) => (
            <li key={limit.limit}>
              {s.limitRow(limit.kept, limit.of)}: {limit.limit}{" "}
              <span class="quiet">
                ({limit.wish ? s.wish : s.limit}; {limit.source})
              </span>
            </li>
          ))}
        </ul>
      </details>
      {captions.wording === null && (
        <Sure
          ask={s.out(language)}
          sure={s.outSure}
          yes={s.outYes}
          no={s.outNo}
          disabled={model.busy.value}
          act={() => void model.takeOut(captions.language)}
        />
      )}
    </article>
  );
}

function LayIn({ model, view }: Part) {
  const given = useSignal<Sending | null>(null);
  const [language, setLanguage] = useState("");
  const id = useId();
  const state = given.value?.state.value;
  const upload = state?.at === "here" ? state.upload : null;
  const choose = (file: File | undefined) => {
    given.value?.drop();
    given.value = file ? new Sending("captions", file) : null;
    if (file) setLanguage(languageOf(file.name));
    void given.value?.run();
  };
  const keep = async () => {
    if (!upload || !(await model.layIn(language, upload.id))) return;
    given.value?.used();
    given.value = null;
  };
  const replaces = view.course.translations.some((each) => each.language.toLowerCase() === language.toLowerCase());
  return (
    <section class="caption-set">
      <h3>{s.lay}</h3>
      <p class="quiet">{s.layHelp}</p>
      <p class="row">
        <Pick label={s.choose} accept=".srt,.vtt" quiet chosen={(files) => choose(files[0])} />
      </p>
      {given.value && (
        <div class="text-field">
          <p>{given.value.file.name}</p>
          <Standing sending={given.value} />
          {state?.at !== "refused" && (
            <>
              <label for={id}>{s.language}</label>
              <select id={id} value={language} onChange={(event) => setLanguage(event.currentTarget.value)}>
                <option value="">{s.pick}</option>
                {captionLanguages(view.course.language).map(([tag, name]) => (
                  <option key={tag} value={tag}>
                    {name}
                  </option>
                ))}
              </select>
              {replaces && <p class="remark-line">{s.replaces(languageName(language))}</p>}
            </>
          )}
          <p class="row">
            {state?.at !== "refused" && (
              <button type="button" disabled={!upload || !language || model.busy.value} onClick={() => void keep()}>
                {language ? s.keep(languageName(language)) : s.keepFirst}
              </button>
            )}
            <button type="button" class="plain" onClick={() => choose(undefined)}>
              {s.never}
            </button>
          </p>
        </div>
      )}
    </section>
  );
}
