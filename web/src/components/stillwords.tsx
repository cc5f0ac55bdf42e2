/** A still in words, for those who cannot see it: as made from its marks, or as a person wrote it, in each language of the outputs. */

import { useEffect, useId, useRef, useState } from "preact/hooks";
import { api, type StationView, type Still } from "../api";
import type { CourseModel } from "../models/course";
import { languageName, ownAlt } from "../models/naming";
import { strings } from "../strings";
import { useLeaving } from "./half";

const s = strings.naming.still;
export const LONGEST_WORDS = 1000;
const MOST_ROWS = 9;
const LETTERS_A_ROW = 45; // a guess for browsers that do not size a field by what stands in it
type Shown = { model: CourseModel; at: StationView; still: Still };

export function StillWords({ model, at, still }: Shown) {
  const [open, setOpen] = useState(false);
  return (
    <details class="still-words" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{s.title}</summary>
      {open && <Fields model={model} at={at} still={still} />}
    </details>
  );
}

function Fields({ model, at, still }: Shown) {
  const [made, setMade] = useState<Readonly<Record<string, string>> | null>(null);
  const [away, setAway] = useState(false);
  const view = model.view.value;
  const waits = model.waiting.value.length;
  useEffect(() => {
    if (waits > 0) return; // the server is asked when it has what was changed
    let current = true;
    void api.madeAlt(model.name, at.station.id, still.id).then((answer) => {
      if (!current) return;
      setAway(answer.kind !== "ok");
      if (answer.kind === "ok") setMade(answer.value.made);
    });
    return () => {
      current = false;
    };
  }, [model.name, at.station.id, still.id, at.revision, view?.revision, waits]);
  return (
    <div class="all-words">
      <p class="quiet">{s.help}</p>
      {away && <p role="alert">{s.away}</p>}
      {made === null && !away && <p class="quiet">{strings.loading}</p>}
      {made &&
        (view?.languages ?? []).map((language) => (
          <InWords key={language} model={model} at={at} still={still} language={language} made={made[language] ?? ""} />
        ))}
    </div>
  );
}

/** What is typed is the field's own until it is left; Escape gives back what stood there; an empty field is the made text again. */
function InWords({ model, at, still, language, made }: Shown & { language: string; made: string }) {
  const [typed, setTyped] = useState<string | null>(null);
  const began = useRef(at);
  const id = useId();
  const own = ownAlt(still)[language] ?? null;
  const text = (typed ?? own ?? made).replace(/\s+/g, " ").trim();
  const wrong = text.length > LONGEST_WORDS ? s.tooLong(text.length, LONGEST_WORDS) : null;
  const set = (words: string | null, since: StationView) =>
    void model.editStation(since, [{ do: "set-alt", station: since.station.number, still: still.id, language, text: words }]);
  const open = useRef(false);
  open.current = typed !== null;
  const done = () => {
    if (!open.current || wrong) return;
    open.current = false;
    const next = text === "" || text === made ? null : text;
    if (next !== own) set(next, began.current);
    setTyped(null);
  };
  useLeaving(done);
  return (
    <div class="text-field in-words">
      <label for={id}>
        {languageName(language)} <span class="item-state">{own === null ? s.made : s.written}</span>
      </label>
      <textarea
        id={id}
        rows={Math.min(MOST_ROWS, Math.max(2, Math.ceil((typed ?? own ?? made).length / LETTERS_A_ROW)))}
        lang={language}
        value={typed ?? own ?? made}
        aria-invalid={wrong !== null}
        aria-describedby={wrong ? `${id}-wrong` : undefined}
        onInput={(event) => {
          if (typed === null) began.current = at;
          setTyped(event.currentTarget.value);
        }}
        onBlur={done}
        onKeyDown={(event) => {
          if (event.key !== "Escape" || typed === null) return;
          event.stopPropagation();
          open.current = false;
          setTyped(null);
        }}
      />
      {wrong && (
        <p id={`${id}-wrong`} class="wrong" role="alert">
          {wrong}
        </p>
      )}
      {own !== null && typed === null && (
        <button type="button" class="plain small to-made" aria-label={`${s.back}: ${languageName(language)}`} onClick={() => set(null, at)}>
          {s.back}
        </button>
      )}
    </div>
  );
}
