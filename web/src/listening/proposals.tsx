/** What waits for a decision on the listening page: names perhaps heard wrong, the same words elsewhere, and what a new reading proposes. */

import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import type { CourseView, StationView } from "../api";
import { capital, Evidence } from "../components/bits";
import { clock } from "../geometry/clock";
import { isOpen } from "../models/job";
import { strings } from "../strings";
import type { Desk } from "./desk";
import type { Piece } from "./line";
import { roleOf } from "./lines";
import { isNews, type StationNews, whatIsNew } from "./news";
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

/** Words changed since the rules were read: reads them again, and shows what the new reading proposes beside what was accepted. */
export function News({ desk, view }: { desk: Desk; view: CourseView }) {
  const before = useSignal<readonly StationView[] | null>(null);
  const news = useSignal<readonly StationNews[] | null>(null);
  const working = view.job !== null && view.job.kind === "draft" && isOpen(view.job);
  const stations = desk.model.stations.value;
  useEffect(() => {
    if (before.value === null || working || desk.model.busy.value || desk.spoken.changed.value) return;
    news.value = whatIsNew(before.value, stations);
  }, [working, stations, desk.model.busy.value, desk.spoken.changed.value, before, news]);
  const again = async () => {
    const now = desk.model.stations.value;
    news.value = null;
    if (await desk.model.draft()) before.value = now;
  };
  const away = () => {
    before.value = null;
    news.value = null;
  };
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
        {working && before.value && <p>{s.reading}</p>}
        {news.value && (
          <section class="news">
            <h2>{s.news}</h2>
            {news.value.length === 0 && <p>{s.noNews}</p>}
            {news.value.filter(isNews).map((each) => (
              <OneStation key={each.id} desk={desk} news={each} />
            ))}
            <button type="button" class="plain" onClick={away}>
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
          return (
            <li key={surface.id} class={`heard-line heard-${surface.ruling}`}>
              <span>
                <b>{roleOf(surface)}</b> {surface.name}
                {surface.part && `: ${surface.part}`} <span class="item-state">{now ? strings.station[now.state] : s.newLine}</span>
                <Evidence said={surface.said.slice(0, 1)} />
              </span>
              {at && now?.state === "draft" && (
                <button
                  type="button"
                  class="plain"
                  aria-label={s.acceptNamed(surface.name)}
                  onClick={() => void desk.model.editStation(at, [{ do: "accept-item", station: at.station.number, id: surface.id }])}
                >
                  {s.acceptLine}
                </button>
              )}
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
