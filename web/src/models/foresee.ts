/** What the server will make of changes that it has not confirmed yet, so that the page shows them at once. Pure.
 *
 * Only what a person changes often is foreseen, in its plain case; the server's own answer then stands in its place. An edit that is not
 * foreseen here changes nothing on the page until the server has done it.
 */

import type { BlanketRule, Course, CourseView, Edit, Finding, Mark, Station, StationView, Still, Surface } from "../api";
import { ownAlt } from "./naming";

export type Docs = Readonly<{ course: Course; stations: readonly Station[] }>;
export type Standing = StationView["standing"];

/** Where a station stands: drafted, marked, accepted or signed. */
export function standing(station: Station): Standing {
  const items: readonly { state: string }[] = [station, ...station.surfaces, ...station.marks, ...station.stills];
  if (items.every((each) => each.state === "accepted")) return station.signed_by === null ? "accepted" : "signed";
  return station.marks.length > 0 ? "marked" : "drafted";
}

/** The documents after some edits, as far as they are foreseen. */
export function foresee(docs: Docs, edits: readonly Edit[], who: string): Docs {
  return edits.reduce((now, edit) => after(now, edit, who), docs);
}

function after(docs: Docs, edit: Edit, who: string): Docs {
  const { course } = docs;
  switch (edit.do) {
    case "rename-course":
      return { ...docs, course: { ...course, title: tidy(edit.title) } };
    case "set-format": {
      const format = course.format ?? { retries: null, ranking: null, said: [] };
      const given = {
        ...("retries" in edit && { retries: edit.retries ?? null }),
        ...("ranking" in edit && { ranking: edit.ranking ?? null }),
      };
      return { ...docs, course: { ...course, format: { ...format, ...given }, format_by_hand: true } };
    }
    case "accept-course":
      return { ...docs, course: { ...course, blanket: course.blanket.map(accepted), format_by_hand: course.format !== null } };
    case "translate": {
      const here = (each: Course["translated"][number]) => same(each.said, edit.said) && each.language === edit.language;
      const others = course.translated.filter((each) => !here(each));
      const next = edit.translation
        ? [...others, { said: edit.said, language: edit.language, translation: tidy(edit.translation) }]
        : others;
      return { ...docs, course: { ...course, translated: next } };
    }
    case "accept-name":
    case "decline-name": {
      const state = edit.do === "accept-name" ? ("accepted" as const) : ("declined" as const);
      const fits = (each: Course["heard"][number]) => same(each.heard, edit.heard) && (!edit.name || same(each.name, edit.name));
      return { ...docs, course: { ...course, heard: course.heard.map((each) => (fits(each) ? { ...each, state } : each)) } };
    }
    case "change-blanket":
      return withRules(docs, (rule) => (isRule(rule, edit.blanket) ? ({ ...rule, ...edit.set, state: "accepted" } as BlanketRule) : rule));
    case "remove-blanket":
      return { ...docs, course: { ...course, blanket: course.blanket.filter((rule) => !isRule(rule, edit.blanket)) } };
    case "add-blanket": {
      const none = { rule: "surface", surface: null, part: null, ruling: null, contact: null, divisions: null, said: [], confidence: null };
      const rule = { ...none, ...edit.rule, id: edit.id ?? `b-${course.blanket.length}`, state: "accepted" } as BlanketRule;
      return { ...docs, course: { ...course, blanket: [...course.blanket, rule] } };
    }
    case "move-station": {
      const moved = docs.stations.find((each) => each.number === edit.station);
      if (!moved || edit.to > docs.stations.length) return docs;
      const rest = docs.stations.filter((each) => each !== moved);
      return numbered(docs, [...rest.slice(0, edit.to - 1), moved, ...rest.slice(edit.to - 1)]);
    }
    case "remove-station":
      return numbered(
        docs,
        docs.stations.filter((each) => each.number !== edit.station),
      );
    case "accept-item":
      if (edit.station === null || edit.station === undefined)
        return withRules(docs, (rule) => (isRule(rule, edit.id) ? accepted(rule) : rule));
      return atStation(docs, edit, who);
    case "sign":
      if (edit.station !== null && edit.station !== undefined) return atStation(docs, edit, who);
      return { ...docs, stations: docs.stations.map((each) => ({ ...each, signed_by: who })) };
    default:
      return atStation(docs, edit, who);
  }
}

function atStation(docs: Docs, edit: Edit, who: string): Docs {
  const stations = docs.stations.map((each) => ("station" in edit && each.number === edit.station ? ofStation(each, edit, who) : each));
  return { ...docs, stations };
}

function ofStation(station: Station, edit: Edit, who: string): Station {
  const next = changed(station, edit, who);
  if (next === station || edit.do === "sign") return next;
  const by = next.state === "accepted" && edit.do !== "dismiss" ? { accepted_by: who } : {};
  return { ...next, signed_by: null, ...by };
}

function changed(station: Station, edit: Edit, who: string): Station {
  switch (edit.do) {
    case "rename-station":
      return { ...station, name: edit.name === null ? null : tidy(edit.name) };
    case "set-limbs":
      return { ...station, contact: edit.limbs };
    case "set-span":
      return { ...station, start: edit.start, end: edit.end };
    case "set-demonstration":
      return { ...station, demonstration: edit.demonstration };
    case "add-surface": {
      if (!edit.id) return station;
      const plain: Surface = {
        id: edit.id,
        name: "",
        part: null,
        role: "route",
        ruling: "in",
        contact: null,
        overshoot: null,
        divisions: null,
        optional: false,
        said: [],
        confidence: null,
        state: "accepted",
      };
      return { ...station, surfaces: [...station.surfaces, { ...plain, ...(edit.surface as Partial<Surface>) }] };
    }
    case "change-surface":
      return {
        ...station,
        surfaces: station.surfaces.map((each) =>
          each.id === edit.surface ? { ...each, ...(edit.set as Partial<Surface>), state: "accepted", confidence: null } : each,
        ),
      };
    case "remove-surface":
      return {
        ...station,
        surfaces: station.surfaces.filter((each) => each.id !== edit.surface),
        marks: station.marks.filter((mark) => mark.surface !== edit.surface),
      };
    case "put-mark": {
      const mark: Mark = { ...edit.mark, state: "accepted", confidence: null };
      return { ...station, marks: put(station.marks, mark) };
    }
    case "remove-mark":
      return { ...station, marks: station.marks.filter((mark) => mark.id !== edit.id) };
    case "put-still": {
      const still: Still = { ...edit.still, state: "accepted" };
      return { ...station, stills: put(station.stills, still) };
    }
    case "remove-still":
      return {
        ...station,
        stills: station.stills.filter((still) => still.id !== edit.id),
        marks: station.marks.filter((mark) => mark.still !== edit.id),
      };
    case "set-alt":
      return ofStill(station, edit.still, (still) => {
        const others = Object.entries(ownAlt(still)).filter(([language]) => language !== edit.language);
        const alt = Object.fromEntries(edit.text === null ? others : [...others, [edit.language, tidy(edit.text)]]);
        return { ...still, alt: alt as Still["alt"] };
      });
    case "set-faces":
      return ofStill(station, edit.still, (still) => ({ ...still, faces: edit.faces ?? still.faces ?? [], faces_by: who }));
    case "show-faces":
      return ofStill(station, edit.still, (still) => ({ ...still, faces_shown: { by: who, because: edit.because } }));
    case "blur-faces":
      return ofStill(station, edit.still, (still) => ({ ...still, faces_shown: null }));
    case "accept":
      return {
        ...station,
        surfaces: station.surfaces.map(accepted),
        stills: station.stills.map(accepted),
        marks: station.marks.map(accepted),
        state: "accepted",
        accepted_by: who,
      };
    case "accept-item": {
      const only = <T extends { id: string; state: "draft" | "accepted" }>(each: T): T => (each.id === edit.id ? accepted(each) : each);
      return { ...station, surfaces: station.surfaces.map(only), stills: station.stills.map(only), marks: station.marks.map(only) };
    }
    case "sign":
      return { ...station, signed_by: who };
    case "dismiss": {
      const aside = { kind: edit.kind, surface: edit.surface ?? null, by: who, because: edit.because };
      return { ...station, dismissed: [...station.dismissed, aside] };
    }
    default:
      return station;
  }
}

function ofStill(station: Station, id: string, change: (still: Still) => Still): Station {
  return { ...station, stills: station.stills.map((each) => (each.id === id ? change(each) : each)) };
}

function withRules(docs: Docs, change: (rule: BlanketRule) => BlanketRule): Docs {
  return { ...docs, course: { ...docs.course, blanket: docs.course.blanket.map(change) } };
}

function numbered(docs: Docs, stations: readonly Station[]): Docs {
  const placed = stations.map((each, place) => (each.number === place + 1 ? each : { ...each, number: place + 1 }));
  return { course: { ...docs.course, order: placed.map((each) => each.id) }, stations: placed };
}

function put<T extends { id: string }>(items: readonly T[], item: T): T[] {
  return items.some((each) => each.id === item.id) ? items.map((each) => (each.id === item.id ? item : each)) : [...items, item];
}

function accepted<T extends { state: "draft" | "accepted" }>(item: T): T {
  return item.state === "accepted" ? item : { ...item, state: "accepted" };
}

const tidy = (text: string) => text.replace(/\s+/g, " ").trim();
const same = (one: string, other: string) => tidy(one).toLowerCase() === tidy(other).toLowerCase();
const isRule = (rule: BlanketRule, named: string) => rule.id === named || same(rule.surface ?? rule.rule, named);

/** Findings under the numbers that their stations have on the page, without those whose station or surface is gone or that are put aside. */
function stillOpen(findings: readonly Finding[], before: readonly Station[], now: Docs): Finding[] {
  const ids = new Map(before.map((each) => [each.number, each.id]));
  const places = new Map(now.stations.map((each) => [each.id, each]));
  const kept: Finding[] = [];
  for (const finding of findings) {
    if (finding.station === null) {
      kept.push(finding);
      continue;
    }
    const station = places.get(ids.get(finding.station) ?? "");
    const aside = station?.dismissed.some(
      (each) => each.kind === finding.kind && (each.surface === null || each.surface === finding.surface),
    );
    const gone = finding.surface !== null && finding.kind !== "mark-without-surface" && !holds(now, station, finding.surface);
    if (station && !aside && !gone) kept.push(station.number === finding.station ? finding : { ...finding, station: station.number });
  }
  return kept;
}

function holds(now: Docs, station: Station | undefined, surface: string): boolean {
  return Boolean(station?.surfaces.some((each) => each.id === surface)) || now.course.blanket.some((rule) => rule.id === surface);
}

/** The views of a course and its stations with changes that wait, as the page shows them. */
export function foreseen(
  view: CourseView,
  stations: readonly StationView[],
  waiting: readonly Readonly<{ edits: readonly Edit[]; who: string }>[],
): Readonly<{ view: CourseView; stations: readonly StationView[] }> {
  if (waiting.length === 0) return { view, stations };
  const before = stations.map((at) => at.station);
  const now = waiting.reduce<Docs>((docs, batch) => foresee(docs, batch.edits, batch.who), { course: view.course, stations: before });
  const findings = stillOpen(view.findings, before, now);
  const shown = now.stations.flatMap((station) => {
    const at = stations.find((each) => each.station.id === station.id);
    if (!at) return [];
    return [at.station === station ? at : { ...at, station, standing: standing(station) }];
  });
  const wants = (number: number) =>
    findings.filter((each) => each.station === number && each.severity !== "note" && each.kind !== "not-accepted");
  const plates = shown.map((at) => ({
    id: at.station.id,
    number: at.station.number,
    name: at.station.name,
    standing: at.standing,
    findings: wants(at.station.number).length,
  }));
  return { view: { ...view, course: now.course, findings, plates }, stations: shown };
}
