/** What a new reading of the rules proposes: the stations before and after it, compared. Pure. */

import type { Station, Surface } from "../api";
import { twinOf } from "../models/twins";

export type StationNews = Readonly<{
  id: string;
  number: number;
  name: string | null;
  kind: "same" | "new" | "gone";
  /** The name that a draft now has, where it is another one. */
  renamed: string | null;
  /** Drafted lines that were not there before, or said something else. */
  added: readonly Surface[];
  /** Drafted lines that are proposed no longer. */
  gone: readonly Surface[];
}>;

export function whatIsNew(before: readonly Station[], after: readonly Station[]): StationNews[] {
  const old = new Map(before.map((station) => [station.id, station]));
  const now = new Set(after.map((station) => station.id));
  const news = after.map<StationNews>((station) => {
    const was = old.get(station.id);
    const lines = new Map((was?.surfaces ?? []).map((each) => [each.id, each]));
    const kept = new Set(station.surfaces.map((each) => each.id));
    return {
      id: station.id,
      number: station.number,
      name: station.name,
      kind: was ? "same" : "new",
      renamed: was && was.name !== station.name ? station.name : null,
      added: station.surfaces.filter((each) => each.state === "draft" && says(each) !== says(lines.get(each.id))),
      gone: (was?.surfaces ?? []).filter((each) => !kept.has(each.id)),
    };
  });
  const gone = before
    .filter((station) => !now.has(station.id))
    .map<StationNews>((station) => ({
      id: station.id,
      number: station.number,
      name: station.name,
      kind: "gone",
      renamed: null,
      added: [],
      gone: [],
    }));
  return [...news, ...gone].filter(isNews);
}

export function isNews(each: StationNews): boolean {
  return each.kind !== "same" || each.renamed !== null || each.added.length > 0 || each.gone.length > 0;
}

export type Waiting = Readonly<{ line: Surface; twin: Surface | null }>;

/** The drafted lines of a station's news that nobody has taken or declined yet, each with the accepted line that it is about. */
export function waiting(news: StationNews, now: Station | undefined): readonly Waiting[] {
  if (!now) return [];
  return news.added.flatMap((each) => {
    const line = now.surfaces.find((one) => one.id === each.id && one.state === "draft");
    return line ? [{ line, twin: twinOf(line, now) }] : [];
  });
}

/** Whether something of the news is left to be looked at: a line to take or decline, or what can only be read. */
export function isOpen(news: readonly StationNews[], stations: readonly Station[]): boolean {
  return news.some(
    (each) =>
      each.kind !== "same" ||
      each.renamed !== null ||
      each.gone.length > 0 ||
      waiting(
        each,
        stations.find((one) => one.id === each.id),
      ).length > 0,
  );
}

/** What a line says, without its evidence and how sure the reading is of it. */
function says(surface: Surface | undefined): string {
  if (!surface) return "";
  const { name, part, role, ruling, contact, overshoot, divisions, optional } = surface;
  return JSON.stringify([name, part, role, ruling, contact, overshoot, divisions, optional]);
}
