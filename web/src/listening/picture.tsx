/** The picture of the walk with what plays it, and the walk as a strip of tape to move along. */

import { useSignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { api, type CourseView, clipAt as clipAddress, type Job } from "../api";
import { clock } from "../geometry/clock";
import { isOpen } from "../models/job";
import { strings } from "../strings";
import type { Desk } from "./desk";
import { type Clip, type Piece, pieceAt } from "./line";
import { SPEEDS } from "./playing";

const s = strings.listening;
const NEAR_S = 5;
const LOOK_MS = 1500;

export function Picture({ desk, view }: { desk: Desk; view: CourseView }) {
  const { playing } = desk;
  const clip = playing.clip.value;
  if (!clip) return null;
  const upright = clip.height > clip.width;
  return (
    <section class="walk-left" aria-label={s.picture}>
      <div class="walk-picture">
        <div class={upright ? "screen screen-upright" : "screen"} style={{ aspectRatio: `${clip.width} / ${clip.height}` }}>
          {clip.proxy ? <Video desk={desk} course={view.course.name} clip={clip} /> : <NoProxy view={view} clip={clip} />}
          <Clock desk={desk} />
        </div>
        {playing.failed.value && <p role="alert">{s.broken(clip.title)}</p>}
        <Hands desk={desk} />
        <Strip desk={desk} />
      </div>
      <MoreHands desk={desk} />
    </section>
  );
}

function Video({ desk, course, clip }: { desk: Desk; course: string; clip: Clip }) {
  const video = useRef<HTMLVideoElement>(null);
  useEffect(() => (video.current ? desk.playing.attach(video.current) : undefined), [desk]);
  return (
    // biome-ignore lint/a11y/useMediaCaption: the words stand below, the spoken one underlined
    <video
      ref={video}
      src={`${clipAddress(course, clip.number)}?of=${clip.proxy?.slice(0, 12)}`}
      aria-label={s.picture}
      playsInline
      preload="auto"
      onClick={() => desk.playing.toggle()}
    />
  );
}

/** A clip that cannot be played yet: how far its making is, or a button that asks for it. */
function NoProxy({ view, clip }: { view: CourseView; clip: Clip }) {
  const job = useSignal<Job | null>(null);
  const course = view.course.name;
  useEffect(() => {
    const look = async () => {
      const answer = await api.jobs();
      if (answer.kind !== "ok") return;
      const mine = answer.value.jobs.filter((each) => each.course === course && isOpen(each));
      job.value = mine.find((each) => each.kind === "proxies") ?? mine[0] ?? null;
    };
    void look();
    const timer = setInterval(look, LOOK_MS);
    return () => clearInterval(timer);
  }, [course, job]);
  const make = async () => {
    const answer = await api.proxies(course);
    if (answer.kind === "ok") job.value = answer.value;
  };
  if (job.value)
    return (
      <div class="no-picture">
        <p role="status">{s.making(clip.title, job.value.kind === "proxies" ? job.value.share : null)}</p>
      </div>
    );
  return (
    <div class="no-picture">
      <p>{s.noProxy(clip.title)}</p>
      <button type="button" onClick={() => void make()}>
        {s.make}
      </button>
    </div>
  );
}

function Hands({ desk }: { desk: Desk }) {
  const { playing } = desk;
  const can = playing.ready.value;
  return (
    <fieldset class="hands" aria-label={s.controls}>
      <button type="button" class="play" disabled={!can} onClick={() => playing.toggle()}>
        {playing.playing.value ? s.pause : s.play}
      </button>
      <span class="pair">
        <button type="button" class="plain" disabled={!can} aria-label={s.frameBack} onClick={() => void playing.step(-1)}>
          <span aria-hidden="true">◂ 1</span>
        </button>
        <button type="button" class="plain" disabled={!can} aria-label={s.frameOn} onClick={() => void playing.step(1)}>
          <span aria-hidden="true">1 ▸</span>
        </button>
      </span>
      <button type="button" class="plain take" disabled={!can || desk.taking.value} onClick={() => void desk.takeStill()}>
        {desk.taking.value ? s.taking : s.still}
      </button>
    </fieldset>
  );
}

/** What is wanted less often; on a phone it does not stay in sight. */
function MoreHands({ desk }: { desk: Desk }) {
  const { playing } = desk;
  const only = playing.only.value !== null;
  return (
    <fieldset class="hands more-hands" aria-label={s.moreControls}>
      <button type="button" class="plain" aria-pressed={only} onClick={() => desk.keepToPiece(!only)}>
        {desk.piece.value?.at === null ? s.onlyPiece : s.only}
      </button>
      <label class="speed">
        <span>{s.speed}</span>
        <select value={String(playing.speed.value)} onChange={(event) => playing.atSpeed(Number(event.currentTarget.value))}>
          {SPEEDS.map((speed) => (
            <option key={speed} value={String(speed)}>
              {s.times(speed)}
            </option>
          ))}
        </select>
      </label>
      <span class="pair">
        <button
          type="button"
          class="plain"
          disabled={!desk.canUndo.value}
          title={desk.canUndo.value ? undefined : s.nothingToUndo}
          onClick={() => void desk.undo()}
        >
          {s.undo}
        </button>
        <button type="button" class="plain" disabled={!desk.canRedo.value} onClick={() => void desk.redo()}>
          {s.redo}
        </button>
      </span>
    </fieldset>
  );
}

/** By itself, so that the time may change with every frame and nothing else is drawn anew. */
function Clock({ desk }: { desk: Desk }) {
  return <span class="clock">{s.now(clock(desk.playing.time.value), clock(desk.playing.length))}</span>;
}

/** The walk as a strip of tape: every station a piece with its number; the needle is where the walk stands. */
function Strip({ desk }: { desk: Desk }) {
  const strip = useRef<HTMLDivElement>(null);
  const { playing } = desk;
  const length = playing.length || 1;
  const to = (event: PointerEvent) => {
    const box = strip.current?.getBoundingClientRect();
    if (box && box.width > 0) playing.seek(((event.clientX - box.left) / box.width) * length);
  };
  const key = (event: KeyboardEvent) => {
    const now = playing.time.value;
    if (event.key === "ArrowLeft" || event.key === "ArrowDown") playing.seek(now - NEAR_S);
    else if (event.key === "ArrowRight" || event.key === "ArrowUp") playing.seek(now + NEAR_S);
    else if (event.key === "PageUp") desk.goPiece(-1);
    else if (event.key === "PageDown") desk.goPiece(1);
    else if (event.key === "Home") playing.seek(0);
    else if (event.key === "End") playing.seek(length);
    else return;
    event.preventDefault();
  };
  return (
    <StripSlider desk={desk} length={length} onKeyDown={key}>
      <div
        ref={strip}
        class="strip-line"
        onPointerDown={(event) => {
          event.currentTarget.setPointerCapture(event.pointerId);
          to(event);
        }}
        onPointerMove={(event) => {
          if (event.currentTarget.hasPointerCapture(event.pointerId)) to(event);
        }}
      >
        {desk.pieces.value.map((piece) => (
          <Band key={piece.key} piece={piece} length={length} open={piece.key === desk.open.value} />
        ))}
        <Needle desk={desk} length={length} />
      </div>
    </StripSlider>
  );
}

function StripSlider(props: { desk: Desk; length: number; onKeyDown: (event: KeyboardEvent) => void; children: ComponentChildren }) {
  const time = props.desk.playing.second.value;
  const piece = pieceAt(props.desk.pieces.value, time);
  return (
    <div
      class="walk-strip"
      role="slider"
      tabIndex={0}
      aria-label={s.place}
      aria-valuemin={0}
      aria-valuemax={Math.floor(props.length)}
      aria-valuenow={time}
      aria-valuetext={s.placeIs(clock(time), whereIs(piece))}
      onKeyDown={props.onKeyDown}
    >
      {props.children}
    </div>
  );
}

export function whereIs(piece: Piece | undefined): string {
  if (!piece?.at) return s.betweenIs;
  return s.stationIs(piece.at.station.number, piece.at.station.name ?? strings.station.unnamed);
}

function Band({ piece, length, open }: { piece: Piece; length: number; open: boolean }) {
  const place = { left: `${(piece.start / length) * 100}%`, width: `${((piece.end - piece.start) / length) * 100}%` };
  return (
    <i class={`stretch${piece.at ? "" : " stretch-between"}${open ? " stretch-open" : ""}`} style={place}>
      <b>{piece.at?.station.number}</b>
    </i>
  );
}

function Needle({ desk, length }: { desk: Desk; length: number }) {
  return <i class="needle" style={{ left: `${(desk.playing.time.value / length) * 100}%` }} />;
}
