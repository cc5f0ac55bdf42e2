/** The way out of a finding in one click, where there is one: what the button says and which edits it makes. Pure. */

import type { Edit, Finding, Limb, Mark, Station, Surface } from "../api";
import { clock } from "../geometry/clock";
import { strings } from "../strings";
import { named, short } from "./words";

/** `ask` is a question that stands before the button. */
export type Mend = Readonly<{ label: string; ask: string | null; edits: readonly Edit[] }>;
/** The stations beside it, and any other one by its id. */
export type Around = Readonly<{ before: Station | null; after: Station | null; find?: (id: string) => Station | null }>;

const s = strings.sheet.mend;
const MOST_GUESSES = 2;
/** Findings that no reason puts aside. */
const STANDS = new Set<string>(["not-accepted", "not-signed", "sign-not-in-font", "faces-not-looked-at"]);

export const mayBePutAside = (finding: Finding): boolean => !STANDS.has(finding.kind);

export function mends(finding: Finding, station: Station, around: Around): readonly Mend[] {
  const number = station.number;
  const surface = station.surfaces.find((each) => each.id === finding.surface);
  const set = (fields: Partial<Surface>): Edit[] =>
    surface ? [{ do: "change-surface", station: number, surface: surface.id, set: fields as never }] : [];
  switch (finding.kind) {
    case "no-finish":
      return guesses(station, "finish", around.after?.surfaces.find((each) => each.role === "start") ?? null);
    case "no-start":
      return guesses(station, "start", around.before?.surfaces.find((each) => each.role === "finish") ?? null);
    case "no-contact":
      return ([["hands"], ["feet"], ["hands", "feet"]] as Limb[][]).map((limbs) => ({
        label: s.limbs[limbs.length === 2 ? "both" : (limbs[0] ?? "both")],
        ask: null,
        edits: [{ do: "set-limbs", station: number, limbs }],
      }));
    case "not-as-everywhere": {
      if (!surface) return [];
      const aside = { do: "dismiss", station: number, kind: finding.kind, surface: surface.id, because: s.staysBecause } as const;
      return [{ label: s.stays, ask: null, edits: [aside] }];
    }
    case "contradiction":
      if (!surface) return [];
      return (["in", "out"] as const).map((ruling) => {
        const twin = station.surfaces.find((each) => each !== surface && each.ruling !== surface.ruling && sameThing(each, surface));
        const edits = twin ? keep(station, surface.ruling === ruling ? [surface, twin] : [twin, surface]) : set({ ruling });
        return { label: ruling === "in" ? s.isIn : s.isOut, ask: null, edits };
      });
    case "no-overshoot":
      if (!surface) return [];
      return [
        { label: s.past, ask: null, edits: set({ overshoot: "allowed" }) },
        { label: s.notPast, ask: null, edits: set({ overshoot: "not allowed" }) },
      ];
    case "name-heard-wrong":
      if (!surface || !finding.instead) return [];
      return [{ label: s.rename(finding.instead), ask: null, edits: set({ name: finding.instead }) }];
    case "goes-on":
    case "told-again": {
      const other = finding.other ? around.find?.(finding.other) : null;
      if (!other) return [];
      const join: Edit = { do: "merge-stations", station: other.number, other: number };
      if (finding.kind === "goes-on") return [{ label: s.join(other.number, short(other.name ?? "")), ask: null, edits: [join] }];
      return [
        {
          label: s.retell,
          ask: s.retellAsk(other.number, notToldAgain(other, station)),
          edits: [{ do: "retell-station", station: other.number, other: number }],
        },
        { label: s.beside, ask: null, edits: [join] },
      ];
    }
    case "mark-without-surface": {
      const marks = station.marks.filter((mark) => mark.surface === finding.surface);
      return marks.length === 0
        ? []
        : [{ label: s.offMark, ask: null, edits: marks.map((mark) => ({ do: "remove-mark", station: number, id: mark.id })) }];
    }
    default:
      return [];
  }
}

/** The number under which the station stands that this one goes into by these edits, once this one is gone; null where it goes into none. */
export function goesInto(edits: readonly Edit[], number: number): number | null {
  const into = edits.find((each) => each.do === "merge-stations" || each.do === "retell-station");
  return into === undefined ? null : into.station - (into.station > number ? 1 : 0);
}

/** The things of which the earlier telling speaks and the new one does not; what a person added to it is none of them. */
function notToldAgain(earlier: Station, station: Station): string[] {
  const thingOf = ({ role, name, part }: Surface) => [role, name.trim().toLowerCase(), part?.trim().toLowerCase() ?? ""].join("|");
  const told = new Set(station.surfaces.map(thingOf));
  const gone = earlier.surfaces.filter((each) => each.said.length > 0 && !told.has(thingOf(each)));
  return gone.map((each) => short(named(each.name, each.part)));
}

/** Of two lines about one thing the first stays, and what it says is agreed to; the other goes, and what people marked for it is the
 * first one's, but on stills where that is marked already. */
function keep({ number, marks }: Station, [holds, goes]: [Surface, Surface]): Edit[] {
  const stays: Edit[] = holds.state === "draft" ? [{ do: "accept-item", station: number, id: holds.id }] : [];
  const shown = new Set(marks.filter((mark) => mark.surface === holds.id && byHand(mark)).map((mark) => mark.still));
  const moved = marks.filter((mark) => mark.surface === goes.id && byHand(mark) && !shown.has(mark.still));
  return [
    ...moved.map((mark): Edit => ({ do: "put-mark", station: number, mark: { ...mark, surface: holds.id } })),
    { do: "remove-surface", station: number, surface: goes.id },
    ...stays,
  ];
}

const byHand = (mark: Mark) => mark.state === "accepted" || mark.origin === "drawn" || mark.origin === "snapped";

const sameThing = (one: Surface, other: Surface) =>
  one.role === other.role &&
  one.part === other.part &&
  one.name.toLowerCase() === other.name.toLowerCase() &&
  !forSome(one) &&
  !forSome(other) &&
  (!one.contact || !other.contact || one.contact.some((limb) => other.contact?.includes(limb)));
/** Whether it holds otherwise for a division; then the two may both be right. */
const forSome = (surface: Surface) => Object.keys(surface.divisions ?? {}).length > 0;

/** What may be meant: what was drafted as that though nobody says so plainly, else the neighbour's start or finish, then what was said last
 * (or first) of what is in play. */
function guesses(station: Station, role: "start" | "finish", neighbour: Surface | null): Mend[] {
  const number = station.number;
  const drafted = station.surfaces.find((each) => each.role === role && each.state === "draft");
  if (drafted) return [guess(drafted, role, { do: "accept-item", station: number, id: drafted.id })];
  const free = station.surfaces.filter((each) => each.role === "route" && each.ruling === "in");
  const order = [...free].sort((a, b) => (role === "finish" ? 1 : -1) * ((saidAt(b) ?? -1) - (saidAt(a) ?? -1)));
  const same = order.find((each) => each.name.toLowerCase() === neighbour?.name.toLowerCase());
  const found: Mend[] = [];
  if (neighbour && !same) {
    const added = { name: neighbour.name, part: neighbour.part, role };
    found.push(guess(neighbour, role, { do: "add-surface", station: number, surface: added as never }));
  }
  for (const each of same ? [same, ...order.filter((one) => one !== same)] : order)
    found.push(guess(each, role, { do: "change-surface", station: number, surface: each.id, set: { role } as never }));
  return found.slice(0, MOST_GUESSES);
}

function guess(surface: Surface, role: "start" | "finish", edit: Edit): Mend {
  const name = named(surface.name, surface.part);
  const time = saidAt(surface);
  return {
    label: role === "finish" ? s.yesFinish(name) : s.yesStart(name),
    ask: s.finishIs(name, time === null ? "" : clock(time)),
    edits: [edit],
  };
}

const saidAt = (surface: Surface): number | null => surface.said[0]?.start ?? null;
