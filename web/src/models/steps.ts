/** Where a course stands on its way, and the one thing to do next. Pure. */

import type { CourseView, Finding, StationView } from "../api";

export type Step = Readonly<{ name: "taken" | "read" | "marked" | "checked" | "signed" | "published"; done: number; all: number }>;

/** The six steps of a course, each with how much of it is done. */
export function steps(view: CourseView, stations: readonly StationView[]): readonly Step[] {
  const all = Math.max(1, stations.length);
  const count = (holds: (at: StationView) => boolean) => stations.filter(holds).length;
  const blocked = new Set(view.findings.filter((each) => each.severity === "blocks").map((each) => each.station));
  const read = view.course.state !== "taken in";
  const whole = (done: boolean) => ({ done: done ? 1 : 0, all: 1 });
  return [
    { name: "taken", ...whole(true) },
    { name: "read", ...whole(read) },
    { name: "marked", done: count(isMarked), all },
    { name: "checked", done: blocked.has(null) ? 0 : count((at) => !blocked.has(at.station.number)), all },
    { name: "signed", done: count((at) => at.standing === "signed"), all },
    { name: "published", ...whole(view.standing === "published") },
  ];
}

/** What wants a look, besides that stations are not accepted yet. */
export function toLookAt(view: CourseView): readonly Finding[] {
  return view.findings.filter((finding) => finding.severity !== "note" && finding.kind !== "not-accepted");
}

/** What may be published all the same: stations that nobody signed, and things that want a look. */
export function openEnds(view: CourseView): { unsigned: number; look: number } {
  return { unsigned: view.plates.filter((plate) => plate.standing !== "signed").length, look: toLookAt(view).length };
}

/** Whether everything that is in play at a station is shown on a still. */
export function isMarked({ station }: StationView): boolean {
  const marked = new Set(station.marks.map((mark) => mark.surface));
  return station.marks.length > 0 && station.surfaces.every((each) => each.ruling === "out" || marked.has(each.id));
}

/** The station to go on with: the first that is not accepted; where all are, the first that is not signed; null where all are. */
export function nextStation(stations: readonly StationView[]): StationView | null {
  const open = (at: StationView) => at.standing === "drafted" || at.standing === "marked";
  return stations.find(open) ?? stations.find((at) => at.standing === "accepted") ?? null;
}

/** A time of the walk as somebody types it ("4:12", "1:04:12", "252"), in seconds; null where it is none. */
export function readClock(text: string): number | null {
  const parts = text.trim().split(":");
  if (parts.length > 3 || parts.some((each) => !/^\d{1,5}([.,]\d+)?$/.test(each))) return null;
  return parts.reduce((seconds, each) => seconds * 60 + Number(each.replace(",", ".")), 0);
}
