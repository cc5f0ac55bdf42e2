/** The walk piece by piece: a shut piece is one line, the open one holds its words, its rules as they are said, its stills, its borders. */

import { useSignal } from "@preact/signals";
import { useLayoutEffect, useRef } from "preact/hooks";
import { type CourseView, pictureAt, type StationView } from "../api";
import { capital, Link, Tape } from "../components/bits";
import { clock } from "../geometry/clock";
import { to } from "../models/route";
import { strings } from "../strings";
import { Borders } from "./borders";
import type { Desk } from "./desk";
import type { Piece } from "./line";
import { Lines } from "./lines";
import { Corrections, Names } from "./proposals";
import { runIn } from "./text";
import { Said } from "./words";

const s = strings.listening;

export function titleOf(desk: Desk, piece: Piece): string {
  if (piece.at) return capital(piece.at.station.name ?? strings.station.unnamed);
  const all = desk.pieces.value;
  if (all.length === 1) return s.wholeWalk;
  if (piece === all[0]) return s.before;
  return piece === all.at(-1) ? s.after : s.between;
}

export function ShutPiece({ desk, piece }: { desk: Desk; piece: Piece }) {
  const open = (event: MouseEvent) => {
    desk.byKey = event.detail === 0;
    desk.go(piece.start);
  };
  return (
    <button type="button" class="shut" onClick={open}>
      <Tape>{piece.at?.station.number ?? ""}</Tape>
      <span class="shut-name">
        {piece.at && <span class="unseen">{piece.at.station.number}. </span>}
        {titleOf(desk, piece)}
      </span>
      <span class="quiet">{s.span(clock(piece.start), clock(piece.end))}</span>
    </button>
  );
}

export function OpenPiece({ desk, view, piece }: { desk: Desk; view: CourseView; piece: Piece }) {
  const card = useRef<HTMLElement>(null);
  const { at } = piece;
  const title = titleOf(desk, piece);
  useLayoutEffect(() => {
    const box = card.current?.getBoundingClientRect();
    if (box && (box.top < 0 || box.top > innerHeight * 0.8)) card.current?.scrollIntoView({ block: "start" });
    const first = (what: string) => card.current?.querySelector<HTMLElement>(what);
    if (desk.byKey) (first(".said-word[tabindex='0']") ?? first("header a"))?.focus();
    desk.byKey = false;
  }, []);
  return (
    <article ref={card} class="open-piece" aria-label={title}>
      <header>
        <Tape>{at?.station.number ?? ""}</Tape>
        <div>
          <h2>
            {at && <span class="unseen">{at.station.number}. </span>}
            {title}
          </h2>
          <p class="quiet">
            {s.span(clock(piece.start), clock(piece.end))}
            {at && (
              <>
                {" · "}
                <Link href={to.station(view.course.name, at.station.number)}>{s.toStation}</Link>
              </>
            )}
          </p>
        </div>
      </header>
      <div class="piece-leaves">
        <div>
          <Names desk={desk} view={view} piece={piece} />
          <Words desk={desk} view={view} piece={piece} title={title} />
          <Corrections desk={desk} piece={piece} />
        </div>
        {at ? (
          <div>
            <Lines desk={desk} at={at} />
            <StillsHere desk={desk} view={view} at={at} />
          </div>
        ) : null}
      </div>
      {at ? <Borders desk={desk} at={at} /> : <NewStation desk={desk} piece={piece} />}
    </article>
  );
}

function Words({ desk, view, piece, title }: { desk: Desk; view: CourseView; piece: Piece; title: string }) {
  const words = desk.spoken.words.value;
  const run = runIn(words, piece);
  if (!desk.spoken.loaded.value) return <p class="quiet">{strings.loading}</p>;
  if (view.course.words === null) return <p class="quiet">{s.notHeard}</p>;
  if (words.length === 0) return <p class="quiet">{s.silentWalk}</p>;
  if (!run) return <p class="quiet">{s.noWords}</p>;
  return <Said desk={desk} view={view} run={run} title={title} />;
}

function StillsHere({ desk, view, at }: { desk: Desk; view: CourseView; at: StationView }) {
  const stills = [...at.station.stills].sort((a, b) => a.time_s - b.time_s);
  return (
    <section class="piece-stills">
      <h3>{s.stills}</h3>
      {stills.length === 0 && <p class="quiet">{s.noStills}</p>}
      <ul>
        {stills.map((still) => (
          <li key={still.id}>
            <button type="button" aria-label={s.stillAt(clock(still.time_s))} onClick={() => desk.go(still.time_s + 0.002)}>
              <Small address={pictureAt(view.course.name, at.station.id, still.id, 320)} width={still.width} height={still.height} />
              <span>{clock(still.time_s)}</span>
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}

function NewStation({ desk, piece }: { desk: Desk; piece: Piece }) {
  return (
    <p class="row piece-end">
      <button type="button" class="plain" onClick={() => void desk.add(piece.start, piece.end)}>
        {s.add}
      </button>
    </p>
  );
}

const AGAIN_MS = 1500;
const TRIES = 20;

/** A still's picture; one that was taken just now may not be saved yet, so it is asked for again. */
function Small({ address, width, height }: { address: string; width: number; height: number }) {
  const tries = useSignal(0);
  const again = () => {
    if (tries.value < TRIES)
      setTimeout(() => {
        tries.value += 1;
      }, AGAIN_MS);
  };
  const src = tries.value === 0 ? address : `${address}&again=${tries.value}`;
  return <img src={src} alt="" loading="lazy" width={width} height={height} onError={again} />;
}
