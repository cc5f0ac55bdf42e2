/** Where a station begins and ends: its stretch of the walk as a band with two grips, moved by hand or from gap to gap with the keys. */

import { useSignal } from "@preact/signals";
import { useRef } from "preact/hooks";
import type { StationView } from "../api";
import { strings } from "../strings";
import type { Desk } from "./desk";
import { fine, neighbour, room, type Span } from "./line";
import { around, nearestGap, nextGap, runIn } from "./text";

const s = strings.listening;
const TENTH_S = 0.1;
const LEAST_S = 0.2;
/** More words than this would run into one line anyway. */
const MOST_SPOTS = 700;

export function Borders({ desk, at }: { desk: Desk; at: StationView }) {
  const { station } = at;
  const dragged = useSignal<{ side: "start" | "end"; time: number } | null>(null);
  const length = desk.playing.length;
  const margin = Math.max(6, (station.end - station.start) * 0.35);
  const shown = useRef<Span>({ start: 0, end: 0 });
  if (dragged.value === null) shown.current = { start: Math.max(0, station.start - margin), end: Math.min(length, station.end + margin) };
  const span = shown.current;
  const now = (side: "start" | "end") => (dragged.value?.side === side ? dragged.value.time : station[side]);
  const share = (time: number) => `${Math.min(1, Math.max(0, (time - span.start) / Math.max(0.001, span.end - span.start))) * 100}%`;
  const next = desk.model.stations.value.find((each) => each.station.number === station.number + 1);
  const words = desk.spoken.words.value;
  const run = runIn(words, span);
  return (
    <section class="borders">
      <h3>{s.borders}</h3>
      <div class="near">
        {run &&
          run.to - run.from < MOST_SPOTS &&
          words
            .slice(run.from, run.to + 1)
            .map((word) => (
              <i
                key={`${word.first} ${word.start}`}
                class="spot"
                style={{ left: share(word.start), width: `max(2px, calc(${share(word.end)} - ${share(word.start)}))` }}
              />
            ))}
        <i class="near-band" style={{ left: share(now("start")), right: `calc(100% - ${share(now("end"))})` }}>
          <b>{station.number}</b>
        </i>
        <NearNeedle desk={desk} span={span} />
        <Grip desk={desk} at={at} side="start" span={span} dragged={dragged} length={length} />
        <Grip desk={desk} at={at} side="end" span={span} dragged={dragged} length={length} />
      </div>
      <div class="border-rows">
        <BorderRow desk={desk} at={at} side="start" time={now("start")} length={length} />
        <BorderRow desk={desk} at={at} side="end" time={now("end")} length={length} />
      </div>
      <p class="row">
        <label class="check">
          <input type="checkbox" checked={desk.snap.value} onChange={(event) => desk.useSnap(event.currentTarget.checked)} /> {s.gaps}
        </label>
        <span class="quiet">{s.bordersHow}</span>
      </p>
      <p class="row piece-end">
        <SplitHere desk={desk} at={at} />
        {next && (
          <button type="button" class="plain" onClick={() => void desk.merge(at)}>
            {s.merge(next.station.number)}
          </button>
        )}
      </p>
    </section>
  );
}

type Side = "start" | "end";
type Dragged = { value: { side: Side; time: number } | null };

/** A border's time as it may be: inside its room, at a gap between words where that is wished. */
function fitted(desk: Desk, at: StationView, side: Side, time: number, length: number, snap: boolean): number {
  const inside = room(desk.model.stations.value, at, side, length);
  const low = inside.start + (side === "end" ? LEAST_S : neighbour(desk.model.stations.value, at, side) ? LEAST_S : 0);
  const high = inside.end - (side === "start" ? LEAST_S : neighbour(desk.model.stations.value, at, side) ? LEAST_S : 0);
  const words = desk.spoken.words.value;
  const wished = snap && words.length > 0 ? nearestGap(words, time) : time;
  return Math.round(Math.min(high, Math.max(low, wished)) * 1000) / 1000;
}

function Grip({
  desk,
  at,
  side,
  span,
  dragged,
  length,
}: {
  desk: Desk;
  at: StationView;
  side: Side;
  span: Span;
  dragged: Dragged;
  length: number;
}) {
  const time = dragged.value?.side === side ? dragged.value.time : at.station[side];
  const words = around(desk.spoken.words.value, time);
  const whole = Math.max(0.001, span.end - span.start);
  const timeAt = (event: PointerEvent & { currentTarget: HTMLElement }) => {
    const box = event.currentTarget.parentElement?.getBoundingClientRect();
    return box && box.width > 0 ? span.start + ((event.clientX - box.left) / box.width) * whole : time;
  };
  const move = (to: number | null, snap: boolean) => {
    if (to !== null) void desk.moveBorder(at, side, fitted(desk, at, side, to, length, snap));
  };
  const key = (event: KeyboardEvent) => {
    const by = event.key === "ArrowLeft" || event.key === "ArrowDown" ? -1 : event.key === "ArrowRight" || event.key === "ArrowUp" ? 1 : 0;
    if (by !== 0) {
      const gap = event.shiftKey || !desk.snap.value ? null : nextGap(desk.spoken.words.value, time, by);
      move(gap ?? time + by * TENTH_S, false);
    } else if (event.key === "PageUp" || event.key === "PageDown") move(time + (event.key === "PageUp" ? 1 : -1), false);
    else if (event.key === "Escape" && dragged.value) dragged.value = null;
    else return;
    event.preventDefault();
    event.stopPropagation();
  };
  const inside = room(desk.model.stations.value, at, side, length);
  return (
    <div
      class={`grip grip-${side}`}
      role="slider"
      tabIndex={0}
      aria-label={side === "start" ? s.begins : s.ends}
      aria-valuemin={Math.round(inside.start * 10) / 10}
      aria-valuemax={Math.round(inside.end * 10) / 10}
      aria-valuenow={Math.round(time * 10) / 10}
      aria-valuetext={s.borderIs(fine(time), words.before, words.after)}
      style={{ left: `${Math.min(1, Math.max(0, (time - span.start) / whole)) * 100}%` }}
      onPointerDown={(event) => {
        if (event.button !== 0) return;
        event.currentTarget.setPointerCapture(event.pointerId);
        dragged.value = { side, time };
      }}
      onPointerMove={(event) => {
        if (dragged.value && event.currentTarget.hasPointerCapture(event.pointerId))
          dragged.value = { side, time: fitted(desk, at, side, timeAt(event), length, desk.snap.value) };
      }}
      onPointerUp={() => {
        const to = dragged.value;
        dragged.value = null;
        if (to && Math.abs(to.time - at.station[side]) > 0.0005) void desk.moveBorder(at, side, to.time);
      }}
      onPointerCancel={() => {
        dragged.value = null;
      }}
      onKeyDown={key}
    />
  );
}

function BorderRow({ desk, at, side, time, length }: { desk: Desk; at: StationView; side: Side; time: number; length: number }) {
  const words = around(desk.spoken.words.value, time);
  const beside = neighbour(desk.model.stations.value, at, side);
  const move = (to: number | null) => {
    if (to !== null) void desk.moveBorder(at, side, fitted(desk, at, side, to, length, false));
  };
  const title = side === "start" ? s.begins : s.ends;
  return (
    <div class="border-row">
      <p>
        <b>{title}</b> {fine(time)}{" "}
        <span class="quiet" dir="auto">
          {words.before && `… ${words.before}`} <b aria-hidden="true">|</b> {words.after && `${words.after} …`}
        </span>
      </p>
      {beside && <p class="quiet">{s.shared(beside.station.number)}</p>}
      <p class="row">
        <span class="pair">
          <button
            type="button"
            class="plain"
            aria-label={`${title}: ${s.borderEarlier}`}
            onClick={() => move(nextGap(desk.spoken.words.value, time, -1))}
          >
            <span aria-hidden="true">◂ </span>
          </button>
          <button
            type="button"
            class="plain"
            aria-label={`${title}: ${s.borderLater}`}
            onClick={() => move(nextGap(desk.spoken.words.value, time, 1))}
          >
            <span aria-hidden="true"> ▸</span>
          </button>
        </span>
        <button type="button" class="plain" aria-label={`${title}: ${s.borderHere}`} onClick={() => move(desk.playing.time.value)}>
          {s.borderHere}
        </button>
      </p>
    </div>
  );
}

function SplitHere({ desk, at }: { desk: Desk; at: StationView }) {
  const time = desk.playing.time.value;
  const inside = at.station.start + LEAST_S < time && time < at.station.end - LEAST_S;
  return (
    <button
      type="button"
      class="plain"
      disabled={!inside}
      onClick={() =>
        void desk.split(at, desk.snap.value && desk.spoken.words.value.length > 0 ? nearestGap(desk.spoken.words.value, time) : time)
      }
    >
      {s.split}
    </button>
  );
}

function NearNeedle({ desk, span }: { desk: Desk; span: Span }) {
  const share = (desk.playing.time.value - span.start) / Math.max(0.001, span.end - span.start);
  return share < 0 || share > 1 ? null : <i class="needle" style={{ left: `${share * 100}%` }} />;
}
