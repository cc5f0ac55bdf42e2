/** What waits for a decision on the listening page: names perhaps heard wrong, the same words elsewhere, and what a new reading proposes. */

import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { api, type CourseView, type News as Proposed, type StationView } from "../api";
import { capital, Evidence } from "../components/bits";
import { clock } from "../geometry/clock";
import { awayProblem } from "../models/course";
import { isOpen } from "../models/job";
import { declined, taken } from "../models/twins";
import { surfaceWords } from "../models/words";
import { strings } from "../strings";
import type { Desk } from "./desk";
import type { Piece } from "./line";
import { roleOf } from "./lines";
import { isOpen as isLeft, type StationNews, type Waiting, waiting, whatIsNew } from "./news";
import { placesOf, runIn } from "./text";
import { NameHands } from "./words";

const s = strings.listening;

/** Names that were perhaps heard wrong in this piece. */
export function Names({ desk, view, piece }: { desk: Desk; view: CourseView; piece: Piece }) {
  const words = desk.spoken.words.value;
  const run = runIn(words, piece);
  const here = view.course.heard.filter(
    (name) => name.state === "proposed" && run && placesOf(words, name).some((place) => place.from <= run.to && place.to >= run.from),
  );
  if (here.length === 0) return null;
  return (
    <section class="names-here">
      <h3>{s.nameIn(here.length)}</h3>
      <ul>
        {here.map((name) => (
          <li key={`${name.heard} ${name.name}`}>
            <NameHands desk={desk} name={name} />
          </li>
        ))}
      </ul>
    </section>
  );
}

/** After a change, the other places that say the same; and every correction of this piece, each with the way back. */
export function Corrections({ desk, piece }: { desk: Desk; piece: Piece }) {
  const offer = desk.offer.value;
  const here = desk.spoken.corrections.value.filter((each) => piece.start <= each.at && each.at < piece.end);
  return (
    <>
      <div role="status">
        {offer && offer.runs.length > 0 && (
          <div class="offer">
            <p>{s.everywhere(offer.runs.length)}</p>
            <p class="row">
              <button type="button" onClick={() => void desk.rewriteThere()}>
                {s.changeThere(offer.text, offer.runs.length)}
              </button>
              <button
                type="button"
                class="plain"
                onClick={() => {
                  desk.offer.value = null;
                }}
              >
                {s.leaveThere}
              </button>
            </p>
          </div>
        )}
      </div>
      {here.length > 0 && (
        <details class="corrections">
          <summary>{s.corrections(here.length)}</summary>
          <ul>
            {here.map((each) => (
              <li key={each.first}>
                <button type="button" class="go-time" aria-label={strings.station.hear(clock(each.at))} onClick={() => desk.go(each.at)}>
                  {clock(each.at)}
                </button>{" "}
                {each.text && <q dir="auto">{each.text}</q>}{" "}
                <span class="quiet">{each.text ? s.changedBy(each.who, each.heard) : s.leftOutBy(each.who, each.heard)}</span>{" "}
                <button type="button" class="plain" onClick={() => void desk.takeOut(each)}>
                  {s.asHeard}
                </button>
              </li>
            ))}
          </ul>
        </details>
      )}
    </>
  );
}

/** Words changed since the rules were read: reads them again, and shows what the new reading proposes beside what was accepted.
 *
 * The server keeps what it proposes, so it is still there after a reload and for others, until it is taken, declined or put away. */
export function News({ desk, view }: { desk: Desk; view: CourseView }) {
  const course = desk.model.name;
  const kept = useSignal<Proposed | null>(null);
  const asked = useSignal(false); // by this page: then it is also told that nothing is new
  const working = view.job !== null && view.job.kind === "draft" && isOpen(view.job);
  useEffect(() => {
    if (working) return;
    let current = true;
    void api.news(course).then((answer) => {
      if (current && answer.kind === "ok") kept.value = answer.value;
    });
    return () => {
      current = false;
    };
  }, [working, course, kept]);
  const again = async () => {
    kept.value = null;
    asked.value = await desk.model.draft();
  };
  const away = async () => {
    const reading = kept.value?.reading ?? null;
    asked.value = false;
    if (reading === null) return;
    const answer = await api.putNewsAway(course, reading);
    if (answer.kind === "ok") kept.value = answer.value;
    else desk.model.problem.value = answer.kind === "problem" ? answer.problem : awayProblem();
  };
  const stations = desk.model.stations.value.map((at) => at.station);
  const told = kept.value === null || working || desk.model.busy.value ? null : whatIsNew(kept.value.before, kept.value.after);
  const shown = told !== null && (asked.value || isLeft(told, stations));
  return (
    <>
      {desk.spoken.changed.value && !working && (
        <div class="read-again">
          <p>{s.readAgainWhy}</p>
          <button type="button" disabled={desk.model.busy.value || desk.spoken.kept.value > 0} onClick={() => void again()}>
            {s.readAgain}
          </button>
        </div>
      )}
      <div role="status">
        {working && <p>{s.reading}</p>}
        {shown && (
          <section class="news">
            <h2>{s.news}</h2>
            {told.length === 0 && <p>{s.noNews}</p>}
            {told.map((each) => (
              <OneStation key={each.id} desk={desk} news={each} />
            ))}
            <button type="button" class="plain" onClick={() => void away()}>
              {s.putAway}
            </button>
          </section>
        )}
      </div>
    </>
  );
}

function OneStation({ desk, news }: { desk: Desk; news: StationNews }) {
  const at = desk.model.stations.value.find((each) => each.station.id === news.id);
  const name = news.name ?? strings.station.unnamed;
  const open = new Map(waiting(news, at?.station).map((each) => [each.line.id, each]));
  return (
    <div class="news-station">
      <h3>
        {news.kind === "new"
          ? s.newStation(news.number, name)
          : news.kind === "gone"
            ? s.goneStation(news.number, name)
            : `${news.number}. ${capital(name)}`}
      </h3>
      {news.renamed && <p>{s.nameNow(news.renamed)}</p>}
      <ul>
        {news.added.map((surface) => {
          const now = at?.station.surfaces.find((each) => each.id === surface.id);
          const waits = open.get(surface.id);
          if (!now) return null; // taken out, or taken into the line that was accepted
          return (
            <li key={surface.id} class={`heard-line heard-${surface.ruling}`}>
              <span>
                <b>{roleOf(surface)}</b> {surface.name}
                {surface.part && `: ${surface.part}`} <span class="item-state">{strings.station[now.state]}</span>
                {waits?.twin && <span class="quiet"> {s.besides(surfaceWords(waits.twin))}</span>}
                <Evidence said={surface.said.slice(0, 1)} />
              </span>
              {at && waits && <NewLine desk={desk} at={at} waits={waits} />}
            </li>
          );
        })}
        {news.gone.map((surface) => (
          <li key={surface.id} class="heard-line heard-gone">
            <span>
              <s>
                <b>{roleOf(surface)}</b> {surface.name}
              </s>{" "}
              <span class="item-state">{s.goneLine}</span>
            </span>
          </li>
        ))}
      </ul>
    </div>
  );
}

/** Takes a line of the new reading, or declines it. */
function NewLine({ desk, at, waits: { line, twin } }: { desk: Desk; at: StationView; waits: Waiting }) {
  const number = at.station.number;
  const sh = strings.sheet;
  return (
    <span class="row">
      <button
        type="button"
        class="plain small"
        aria-label={s.acceptNamed(line.name)}
        onClick={() => void desk.model.editStation(at, taken(number, line, twin))}
      >
        {twin ? sh.takeNew : s.acceptLine}
      </button>
      <button
        type="button"
        class="plain small"
        aria-label={s.leaveNamed(line.name)}
        onClick={() => void desk.model.editStation(at, declined(number, line))}
      >
        {twin ? sh.keepOld : s.leaveLine}
      </button>
    </span>
  );
}
