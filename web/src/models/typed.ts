/** What a typed rule for every station comes to in a course as it stands: what is new, what stands already, and the edits that put it in. */

import type { BlanketRule, Course, Edit, TypedRule, TypedView } from "../api";
import { strings } from "../strings";
import { blanketSentence, formatWords } from "./words";

/** One thing that was understood. `note` says that it stands already, or what stands in its place now; without edits there is nothing to do. */
export type Understood = Readonly<{ sentence: string; note: string | null; edits: readonly Edit[] }>;

const s = strings.typedRule;

export function understood(typed: TypedView, course: Pick<Course, "blanket" | "format">, ownId: () => string): readonly Understood[] {
  const rules = typed.rules.map((rule) => ofRule(rule, course.blanket, ownId));
  return typed.format ? [...rules, ofRun(typed.format, course.format)] : rules;
}

function ofRule(rule: TypedRule, blanket: readonly BlanketRule[], ownId: () => string): Understood {
  const { rule: kind, surface, part, ...holds } = rule;
  const sentence = [blanketSentence({ ...rule, said: [], confidence: null, id: null, state: "draft" }), ...divisionsOf(rule)].join(" ");
  const there = blanket.find((each) => each.rule === kind && same(each.surface, surface) && same(each.part, part));
  if (!there) return { sentence, note: null, edits: [{ do: "add-blanket", id: ownId(), rule: rule as never }] };
  // "The ropes are out" is for all limbs, whatever limbs the rule that stands is for; and limbs that it was out for are not those it is in for.
  const forAll = kind === "surface" && rule.ruling !== null && (rule.ruling === "out" || rule.ruling !== there.ruling);
  const told = Object.entries(holds).filter(
    ([field, value]) => value !== null || (field === "contact" && forAll && there.contact !== null),
  );
  const differs = told.some(([field, value]) => !alike(there[field as keyof BlanketRule], value));
  const id = there.id ?? there.surface ?? there.rule;
  if (differs)
    return {
      sentence,
      note: s.instead(blanketSentence(there)),
      edits: [{ do: "change-blanket", blanket: id, set: Object.fromEntries(told) as never }],
    };
  if (there.state === "draft") return { sentence, note: s.draft, edits: [{ do: "accept-item", id }] };
  return { sentence, note: s.there, edits: [] };
}

function ofRun(run: NonNullable<TypedView["format"]>, format: Course["format"]): Understood {
  const given = Object.fromEntries(Object.entries(run).filter(([, value]) => value !== null));
  const sentence = formatWords({ ...run, said: [] });
  const now = format === null ? {} : Object.fromEntries(Object.entries(given).map(([field]) => [field, format[field as keyof typeof run]]));
  if (alike(now, given)) return { sentence, note: s.there, edits: [] };
  return { sentence, note: format === null ? null : s.instead(formatWords(format)), edits: [{ do: "set-format", ...given } as Edit] };
}

const divisionsOf = (rule: TypedRule) =>
  Object.entries(rule.divisions ?? {}).map(([name, ruling]) => strings.station.forDivision(name, ruling));
const same = (one: string | null, other: string | null) => (one ?? "").trim().toLowerCase() === (other ?? "").trim().toLowerCase();
const alike = (one: unknown, other: unknown) => JSON.stringify(one) === JSON.stringify(other);
