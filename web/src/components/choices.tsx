/** Changes that the server did not take: beside somebody else's, with two choices, or with the reason why they do not fit. */

import { useSignal } from "@preact/signals";
import type { Edit, Station } from "../api";
import type { CourseModel } from "../models/course";
import type { Held } from "../models/outbox";
import { isMe } from "../models/who";
import { editWords, placeName, placeWords } from "../models/words";
import { strings } from "../strings";
import { capital } from "./bits";

const s = strings.saving;

export function Choices({ model }: { model: CourseModel }) {
  const held = model.held.value;
  return (
    <div role="alert">
      {held.length > 0 && (
        <section class="choices">
          <h2>{s.title(held.length)}</h2>
          {held.map((each) =>
            each.clash ? (
              <Clash key={each.batch.id} model={model} held={each} />
            ) : (
              <Refused key={each.batch.id} model={model} held={each} />
            ),
          )}
        </section>
      )}
    </div>
  );
}

type Side = "theirs" | "mine";

function Clash({ model, held }: { model: CourseModel; held: Held }) {
  const { batch, problem } = held;
  const mine = (problem.mine ?? {}) as Partial<Station>;
  const theirs = (problem.theirs ?? {}) as Partial<Station>;
  const chosen = useSignal<Readonly<Record<number, Side>>>({});
  const by = model.whoChanged(theirs.id ?? null) ?? s.somebody;
  const choose = (edit: number, side: Side) => {
    chosen.value = { ...chosen.value, [edit]: side };
    if (problem.clashes.some((each) => !chosen.value[each.edit])) return;
    model.settle(
      held,
      batch.edits.filter((_, place) => chosen.value[place] !== "theirs"),
    );
  };
  return (
    <div class="clash">
      <p>{isMe(by) ? s.bothYours : s.both(by)}</p>
      <ul>
        {problem.clashes.map((clash) => {
          const edit = batch.edits[clash.edit];
          if (!edit) return null;
          return (
            <li key={clash.edit} class="clash-item">
              <h3>{capital(clash.places.map((place) => placeName(place, mine, theirs)).join(", ") || editWords(edit, mine as Station))}</h3>
              <Sides
                edit={edit}
                places={clash.places}
                mine={mine}
                theirs={theirs}
                by={by}
                chosen={chosen.value[clash.edit]}
                choose={(side) => choose(clash.edit, side)}
              />
            </li>
          );
        })}
      </ul>
    </div>
  );
}

function Sides({
  edit,
  places,
  mine,
  theirs,
  by,
  chosen,
  choose,
}: {
  edit: Edit;
  places: readonly string[];
  mine: Partial<Station>;
  theirs: Partial<Station>;
  by: string;
  chosen: Side | undefined;
  choose: (side: Side) => void;
}) {
  const told = (doc: Partial<Station>) => places.map((place) => placeWords(place, doc)).join("; ");
  const same = places.length > 0 && told(mine) === told(theirs);
  return (
    <div class="sides">
      <div class="side">
        <p class="quiet">{isMe(by) ? s.yours : s.theirs(capital(by))}</p>
        <p class="side-words">{places.length > 0 ? told(theirs) : s.gone}</p>
        <button type="button" class="plain" aria-pressed={chosen === "theirs"} onClick={() => choose("theirs")}>
          {isMe(by) ? s.keepYours : s.keepTheirs}
        </button>
      </div>
      <div class="side">
        <p class="quiet">{isMe(by) ? s.thisPage : s.mine}</p>
        <p class="side-words">{places.length > 0 && !same ? told(mine) : capital(editWords(edit, mine as Station))}</p>
        <button type="button" class="plain" aria-pressed={chosen === "mine"} onClick={() => choose("mine")}>
          {isMe(by) ? s.takeThis : s.keepMine}
        </button>
      </div>
    </div>
  );
}

function Refused({ model, held }: { model: CourseModel; held: Held }) {
  const station = model.stations.value.find((at) => at.station.id === held.batch.station)?.station ?? null;
  return (
    <div class="clash">
      <p>
        {s.refused} <strong>{held.batch.edits.map((edit) => editWords(edit, station)).join("; ")}</strong>
      </p>
      <p>{held.problem.sentence}</p>
      {held.problem.reasons.length > 0 && (
        <ul class="reasons">
          {held.problem.reasons.map((reason) => (
            <li key={reason}>{reason}</li>
          ))}
        </ul>
      )}
      <p class="row">
        <button type="button" class="plain" onClick={() => model.settle(held, [])}>
          {s.letGo}
        </button>
        <button type="button" class="plain" onClick={() => model.settle(held, held.batch.edits)}>
          {s.tryAgain}
        </button>
      </p>
    </div>
  );
}

/** Who else has the course open: at the same station, or elsewhere in it. */
export function Others({ model }: { model: CourseModel }) {
  const all = model.others.value;
  if (all.length === 0) return null;
  const mine = all.filter((each) => isMe(each.who));
  const others = all.filter((each) => !mine.includes(each));
  const isHere = (each: (typeof all)[number]) => each.station !== null && each.station === model.at.value;
  const names = (some: typeof others) => [...new Set(some.map((each) => (each.who === "staff" ? s.nameless : each.who)))];
  const here = names(others.filter(isHere));
  const elsewhere = names(others).filter((name) => !here.includes(name));
  return (
    <p class="others" role="status">
      {mine.length > 0 && <strong>{s.youToo(mine.some(isHere))}.</strong>} {here.length > 0 && <strong>{capital(s.others(here))}.</strong>}{" "}
      {elsewhere.length > 0 && `${capital(s.othersElsewhere(elsewhere))}.`}
    </p>
  );
}

/** Undo and redo of what this page changed. */
export function UndoBar({ model }: { model: CourseModel }) {
  const last = model.done.value.at(-1);
  const next = model.undone.value.at(-1);
  if (!last && !next) return null;
  return (
    <p class="undo-bar">
      {last && <span id="undo-what">{s.last(last.words)}</span>}
      {last && (
        <button type="button" class="plain" aria-describedby="undo-what" onClick={() => model.undo()}>
          {s.undo}
        </button>
      )}
      {next && (
        <button type="button" class="plain" title={next.words} onClick={() => model.redo()}>
          {s.redo}
        </button>
      )}
    </p>
  );
}
