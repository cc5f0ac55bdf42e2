/** What a change says, and what stands at a place of a document, in words for a person. Pure. */

import type { BlanketRule, Course, Edit, Limb, Station, Surface } from "../api";
import { clock } from "../geometry/clock";
import { strings } from "../strings";
import { calledIn, languageName, ownAlt } from "./naming";

const s = strings.saving;

/** A surface as people say it: "post pads: top". */
export function named(name: string, part: string | null | undefined): string {
  return part ? `${name}: ${part}` : name;
}

/** All that holds for a surface, in one line. */
export function surfaceWords(surface: Surface): string {
  const st = strings.station;
  const role = surface.role === "start" ? st.start : surface.role === "finish" ? st.finish : "";
  return [
    named(surface.name, surface.part),
    role.toLowerCase(),
    (surface.ruling === "in" ? st.inPlay : st.outOfPlay).toLowerCase(),
    surface.contact ? st.onlyWith(surface.contact) : "",
    surface.overshoot === "allowed"
      ? st.mayLandPast.toLowerCase()
      : surface.overshoot === "not allowed"
        ? st.doNotLandPast.toLowerCase()
        : "",
    surface.optional ? st.ifWanted : "",
    ...Object.entries(surface.divisions ?? {}).map(([division, ruling]) => st.forDivision(division, ruling)),
  ]
    .filter(Boolean)
    .join(", ");
}

/** A rule of the whole course, in a sentence of its own. */
export function blanketSentence(rule: BlanketRule): string {
  const c = strings.course;
  if (rule.rule === "unnamed-out") return c.restOut;
  if (rule.rule === "no-skip") return c.noSkip(rule.surface ?? "stations");
  return c.rule(named(rule.surface ?? "", rule.part), rule.ruling ?? "in", rule.contact ? strings.station.onlyWith(rule.contact) : "");
}

type Doc = Partial<Station> & Partial<Omit<Course, keyof Station>>;

/** The name and language of a place "name green platform in es"; null for any other place. */
function spoken(place: string): { name: string; language: string } | null {
  const parts = /^name (.+) in (\S+)$/.exec(place);
  return parts?.[1] && parts[2] ? { name: parts[1], language: parts[2] } : null;
}

/** How a place ("name", "surface u3") is called, by either document that has it. */
export function placeName(place: string, ...docs: readonly Doc[]): string {
  const [kind = "", ...rest] = place.split(" ");
  const id = rest.join(" ");
  const found = docs.flatMap((doc) => doc.surfaces ?? []).find((each) => each.id === id);
  const said = spoken(place);
  if (said) return s.places.translated(said.name, languageName(said.language));
  if (kind === "surface") return found ? named(found.name, found.part) : id;
  if (kind === "heard") return s.places.heard(id.split(" / ")[0] ?? id);
  const known: Readonly<Record<string, unknown>> = s.places;
  const told = known[kind];
  return typeof told === "string" ? told : place;
}

/** What stands at a place of one document. */
export function placeWords(place: string, doc: Doc): string {
  const [kind = "", ...rest] = place.split(" ");
  const id = rest.join(" ");
  const w = s.words;
  const said = spoken(place);
  if (said) return calledIn(doc.translated ?? [], said.name, said.language) || s.none;
  switch (kind) {
    case "name":
      return doc.name ?? strings.station.unnamed;
    case "limbs":
      return strings.station.limbs((doc.contact ?? null) as readonly Limb[] | null);
    case "demonstration":
      return doc.demonstration ? strings.station.demonstration[doc.demonstration] : w.noDemonstration;
    case "span":
      return strings.station.span(clock(doc.start ?? 0), clock(doc.end ?? 0));
    case "signature":
      return doc.signed_by ? w.signedBy(doc.signed_by) : w.notSigned;
    case "surface": {
      const surface = doc.surfaces?.find((each) => each.id === id);
      return surface ? surfaceWords(surface) : s.none;
    }
    case "mark":
      return doc.marks?.some((each) => each.id === id) ? w.marked : s.none;
    case "still": {
      const still = doc.stills?.find((each) => each.id === id);
      return still ? [w.still(clock(still.time_s)), ...Object.values(ownAlt(still))].join(": ") : s.none;
    }
    case "title":
      return doc.title ?? s.none;
    case "run":
      return doc.format ? formatWords(doc.format) : strings.course.noFormat;
    case "rule": {
      const rule = doc.blanket?.find((each) => each.id === id);
      return rule ? blanketSentence(rule) : s.none;
    }
    case "order":
      return w.order(doc.order ?? []);
    case "heard": {
      const heard = doc.heard?.find((each) => `${each.heard} / ${each.name}` === id);
      return heard?.state === "accepted" ? heard.name : (heard?.heard ?? s.none);
    }
    case "aside": {
      const aside = doc.dismissed?.find((each) => [each.kind, each.surface].filter(Boolean).join(" ") === id);
      return aside ? w.aside(aside.because) : s.none;
    }
    default:
      return s.none;
  }
}

export function formatWords(format: NonNullable<Course["format"]>): string {
  const c = strings.course;
  const told = [format.retries === null ? "" : c.retries(format.retries), format.ranking === null ? "" : c.ranking(format.ranking)];
  return told.filter(Boolean).join(" ") || c.noFormat;
}

/** What an edit does, short. */
export function editWords(edit: Edit, station: Pick<Station, "surfaces"> | null): string {
  const e = s.edits;
  const surface = (id: string) => {
    const found = station?.surfaces.find((each) => each.id === id);
    return found ? named(found.name, found.part) : id;
  };
  switch (edit.do) {
    case "accept":
      return e.accept(edit.station);
    case "accept-item":
      return e.acceptItem;
    case "accept-course":
      return e.acceptCourse;
    case "accept-name":
      return e.acceptName(edit.name ?? edit.heard);
    case "decline-name":
      return e.declineName(edit.heard);
    case "rename-course":
      return e.renameCourse(short(edit.title));
    case "set-format":
      return e.format;
    case "add-blanket":
      return e.addRule;
    case "change-blanket":
      return e.changeRule;
    case "remove-blanket":
      return e.removeRule;
    case "rename-station":
      return e.rename(edit.station, short(edit.name ?? strings.station.unnamed));
    case "set-limbs":
      return e.limbs(edit.station, strings.station.limbs(edit.limbs));
    case "set-span":
      return e.span(edit.station);
    case "set-demonstration":
      return e.demonstration(edit.station);
    case "add-surface":
      return e.addSurface(short(named(edit.surface.name ?? "", edit.surface.part)));
    case "change-surface":
      return e.changeSurface(short(surface(edit.surface)));
    case "remove-surface":
      return e.removeSurface(short(surface(edit.surface)));
    case "put-mark":
      return e.mark;
    case "remove-mark":
      return e.removeMark;
    case "put-still":
      return e.still;
    case "remove-still":
      return e.removeStill;
    case "translate":
      return e.translate(short(edit.said), languageName(edit.language));
    case "set-alt":
      return e.alt;
    case "set-faces":
    case "show-faces":
    case "blur-faces":
      return e.faces;
    case "dismiss":
      return e.dismiss(short(edit.because));
    case "sign":
      return e.sign(edit.station ?? null);
    case "split-station":
      return e.split(edit.station);
    case "merge-stations":
      return e.merge(edit.station, edit.other ?? edit.station + 1);
    case "retell-station":
      return e.retell(edit.station);
    case "move-station":
      return e.move(edit.station, edit.to);
    case "add-station":
      return e.addStation(short(edit.name ?? ""));
    case "remove-station":
      return e.removeStation(edit.station);
    default:
      return (edit as Edit).do;
  }
}

const LONGEST = 60;
/** Long words cut short, so that a name of ten thousand letters stays a line. */
export const short = (text: string) => (text.length > LONGEST ? `${text.slice(0, LONGEST - 1)}…` : text);
