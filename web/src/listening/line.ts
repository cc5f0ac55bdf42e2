/** The walk as one line of time over several clips, and its pieces: the stations, and what lies between them. Pure. */

import type { Course, StationView } from "../api";

export type Clip = Course["clips"][number];
export type Span = Readonly<{ start: number; end: number }>;
/** A station's stretch of the walk, or (with no station) a stretch between stations. */
export type Piece = Span & Readonly<{ key: string; at: StationView | null }>;

/** A stretch between stations that is shorter than this, and in which nobody speaks, is no piece of its own. */
const LEAST_S = 2;

/** The clip that runs at a time of the walk; the last one after the end. */
export function clipAt(clips: readonly Clip[], time: number): Clip | undefined {
  return clips.findLast((clip) => clip.start_s <= time) ?? clips[0];
}

export function lengthOf(clips: readonly Clip[]): number {
  const last = clips.at(-1);
  return last ? last.start_s + last.duration_s : 0;
}

/** The walk in pieces, in the order of time: every station, and what lies before, between and after them. */
export function pieces(stations: readonly StationView[], length: number, spokenIn: (span: Span) => boolean): Piece[] {
  const sorted = [...stations].sort((a, b) => a.station.start - b.station.start || a.station.number - b.station.number);
  const all: Piece[] = [];
  let end = 0;
  const between = (until: number) => {
    const gap = { start: end, end: until };
    if (until - end >= LEAST_S || (until > end && spokenIn(gap))) all.push({ ...gap, key: `from ${end.toFixed(3)}`, at: null });
  };
  for (const at of sorted) {
    between(at.station.start);
    all.push({ key: at.station.id, start: at.station.start, end: at.station.end, at });
    end = Math.max(end, at.station.end);
  }
  between(length);
  return all;
}

/** The piece at a time: of several stations there the one that began last; beyond all pieces the nearest one. */
export function pieceAt(all: readonly Piece[], time: number): Piece | undefined {
  const here = all.filter((piece) => piece.start <= time && time < piece.end);
  return here.at(-1) ?? [...all].sort((a, b) => away(a, time) - away(b, time))[0];
}

function away(piece: Span, time: number): number {
  return time < piece.start ? piece.start - time : time - piece.end;
}

/** The neighbour that shares a station's border: it ends where this one starts (or starts where this one ends). */
export function neighbour(stations: readonly StationView[], at: StationView, side: "start" | "end"): StationView | undefined {
  const border = at.station[side];
  const other = side === "start" ? "end" : "start";
  return stations.find((each) => each.station.id !== at.station.id && Math.abs(each.station[other] - border) < 0.0015);
}

/** Between which times a border may be moved: not past the station's other end, nor past the far end of the neighbour that shares it. */
export function room(stations: readonly StationView[], at: StationView, side: "start" | "end", length: number): Span {
  const beside = neighbour(stations, at, side)?.station;
  return side === "start"
    ? { start: beside ? beside.start : 0, end: at.station.end }
    : { start: at.station.start, end: beside ? beside.end : length };
}

/** A time to tenths of a second, for borders: 4:12.3. */
export function fine(seconds: number): string {
  const tenths = Math.max(0, Math.floor(seconds * 10 + 1e-6));
  const [whole, rest] = [Math.floor(tenths / 10), tenths % 10];
  const two = (value: number) => String(value).padStart(2, "0");
  const [hours, minutes, last] = [Math.floor(whole / 3600), Math.floor((whole % 3600) / 60), whole % 60];
  return `${hours > 0 ? `${hours}:${two(minutes)}` : minutes}:${two(last)}.${rest}`;
}
