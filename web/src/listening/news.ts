/** What a new reading of the rules proposes: the stations before and after it, compared. Pure. */

import type { StationView, Surface } from "../api";

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

export function whatIsNew(before: readonly StationView[], after: readonly StationView[]): StationNews[] {
  const old = new Map(before.map((at) => [at.station.id, at.station]));
  const now = new Set(after.map((at) => at.station.id));
  const news = after.map<StationNews>(({ station }) => {
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
    .filter((at) => !now.has(at.station.id))
    .map<StationNews>(({ station }) => ({
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

/** What a line says, without its evidence and how sure the reading is of it. */
function says(surface: Surface | undefined): string {
  if (!surface) return "";
  const { name, part, role, ruling, contact, overshoot, divisions, optional } = surface;
  return JSON.stringify([name, part, role, ruling, contact, overshoot, divisions, optional]);
}
