/** What can be marked at a station: its surfaces, then the rules of every station that it does not speak of itself. Pure.
 *
 * The server's annotator/marks/items.py says the same of outputs; here is what the hand needs to know.
 */

import type { BlanketRule, Limb, Mark, Station } from "../api";
import { DRAFT_LOOKS, LOOKS, type Look, type Style } from "./looks";

export type Thing = Readonly<{
  id: string;
  name: string;
  /** With the part in front: "top of the post pads". */
  full: string;
  part: string | null;
  ruling: "in" | "out";
  style: Style;
  blanket: boolean;
  draft: boolean;
  /** Several things of one name: after one is marked, the next is likely another. */
  many: boolean;
  /** A bar, rope or strap by its name: likely drawn as a line with a width. */
  thin: boolean;
  /** What stands on its plate. */
  plate: readonly string[];
  /** Ids of rules of every station whose marks belong to it here. */
  replaces: readonly string[];
}>;

export function thingsOf(station: Station, blanket: readonly BlanketRule[]): readonly Thing[] {
  const everywhere = blanket.filter((rule) => rule.rule === "surface" && rule.surface !== null && rule.ruling !== null && rule.id !== null);
  const replaced = new Set<string>();
  const own = station.surfaces.map((surface): Thing => {
    const same = everywhere.filter(
      (rule) => key(rule.surface ?? "") === key(surface.name) && key(rule.part ?? "") === key(surface.part ?? ""),
    );
    for (const rule of same) replaced.add(rule.id ?? "");
    const limbs = surface.contact ?? (surface.role === "route" ? station.contact : null);
    return {
      id: surface.id,
      name: surface.name,
      full: full(surface.name, surface.part),
      part: surface.part,
      ruling: surface.ruling,
      style: styleOf(surface, station),
      blanket: false,
      draft: surface.state === "draft",
      many: plural(surface.part ?? surface.name),
      thin: thin(surface.part ?? surface.name),
      plate: plateOf(surface, limbs),
      replaces: same.map((rule) => rule.id ?? ""),
    };
  });
  const rest = everywhere
    .filter((rule) => !replaced.has(rule.id ?? ""))
    .map((rule): Thing => {
      const ruled = { name: rule.surface ?? "", part: rule.part, ruling: rule.ruling ?? "out", role: "route" as const, overshoot: null };
      return {
        id: rule.id ?? "",
        name: ruled.name,
        full: full(ruled.name, rule.part),
        part: rule.part,
        ruling: ruled.ruling,
        style: rule.ruling === "in" ? "in play" : "out of play",
        blanket: true,
        draft: rule.state === "draft",
        many: plural(rule.part ?? ruled.name),
        thin: thin(rule.part ?? ruled.name),
        plate: plateOf(ruled, rule.contact ?? station.contact),
        replaces: [],
      };
    });
  return [...own, ...rest];
}

/** The thing that a mark is tied to; null where it is gone. */
export function thingOf(mark: Pick<Mark, "surface">, things: readonly Thing[]): Thing | null {
  return things.find((thing) => thing.id === mark.surface || thing.replaces.includes(mark.surface)) ?? null;
}

export function lookOf(mark: Pick<Mark, "state">, thing: Thing): Look {
  return mark.state === "draft" || thing.draft ? DRAFT_LOOKS[thing.ruling] : LOOKS[thing.style];
}

type Ruled = Readonly<{
  name: string;
  part: string | null;
  ruling: "in" | "out";
  role: "start" | "route" | "finish";
  overshoot: "allowed" | "not allowed" | null;
}>;

function styleOf(surface: Ruled, station: Station): Style {
  if (surface.ruling === "in") return surface.role === "route" ? "in play" : surface.role;
  const wholeIsIn = station.surfaces.some((each) => each.part === null && each.ruling === "in" && key(each.name) === key(surface.name));
  return surface.part !== null && wholeIsIn ? "excepted part" : "out of play";
}

function plateOf({ part, ruling, role, overshoot }: Ruled, limbs: readonly Limb[] | null): readonly string[] {
  if (ruling === "out") return [part ? `OUT: ${part}` : "OUT"];
  if (role === "finish") return ["FINISH", ...(overshoot ? [overshoot === "allowed" ? "MAY LAND PAST" : "DO NOT LAND PAST"] : [])];
  const head = role === "start" ? "START" : "IN";
  return [limbs && limbs.length > 0 ? `${head} · ${limbs.join(", ")}` : head];
}

const full = (name: string, part: string | null) => (part ? `${part} of the ${name}` : name);

function plural(name: string): boolean {
  return /s$/i.test(name) && !/ss$/i.test(name);
}

/** Words for things that are drawn as a line with a width. */
export const THIN = ["bar", "rail", "rope", "strap", "rung", "pole", "cable", "chain", "pipe", "tube", "line", "stick", "cord"] as const;

function thin(name: string): boolean {
  const last = name.toLocaleLowerCase().split(/\s+/).at(-1) ?? "";
  return (THIN as readonly string[]).includes(plural(last) ? last.slice(0, -1) : last);
}

function key(name: string): string {
  const words = name.toLocaleLowerCase().split(/\s+/).filter(Boolean);
  const last = words.pop();
  return last === undefined ? "" : [...words, plural(last) ? last.slice(0, -1) : last].join(" ");
}
