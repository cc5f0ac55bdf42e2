/** A line that a new reading put beside one that a person accepted, about the very same thing; and what can be done with the two. Pure. */

import type { Edit, Station, Surface } from "../api";

/** The accepted line beside which a draft was put by a new reading, about the very same thing; null for any other line. */
export function twinOf(draft: Surface, station: Station): Surface | null {
  if (draft.state !== "draft") return null;
  const place = (each: Surface) => [each.name, each.part ?? "", each.role].join(" / ").toLowerCase();
  return station.surfaces.find((each) => each.state === "accepted" && place(each) === place(draft)) ?? null;
}

/** Keeps what was accepted, or leaves a drafted line out: drafting again does not bring it back. */
export function declined(number: number, draft: Surface): Edit[] {
  return [{ do: "remove-surface", station: number, surface: draft.id }];
}

/** Takes a drafted line: as it is, or what it says in place of what the accepted line says. */
export function taken(number: number, draft: Surface, accepted: Surface | null): Edit[] {
  if (accepted === null) return [{ do: "accept-item", station: number, id: draft.id }];
  const { ruling, contact, overshoot, divisions, optional } = draft;
  const set = { ruling, contact, overshoot, divisions, optional } as never;
  return [...declined(number, draft), { do: "change-surface", station: number, surface: accepted.id, set }];
}
