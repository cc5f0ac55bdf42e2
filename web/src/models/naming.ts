/** Names of the course in other languages, and how the booklet reads there. Pure. */

import type { Course, CourseView, Edit, Station, Still } from "../api";
import { strings } from "../strings";

export type Naming = Readonly<{
  /** The languages of the outputs that the walk is not spoken in. */
  languages: readonly string[];
  translated: Course["translated"];
  edit: (edits: readonly Edit[]) => void;
}>;

/** Names are the same whatever their case and spaces. */
export const key = (name: string) => name.replace(/\s+/g, " ").trim().toLowerCase();

/** What a name is called in a language; "" where nobody said so. */
export function calledIn(translated: Course["translated"], said: string, language: string): string {
  return translated.find((each) => each.language === language && key(each.said) === key(said))?.translation ?? "";
}

export const otherLanguages = (view: CourseView): readonly string[] => view.languages.filter((each) => each !== view.course.language);

/** A still's words by language where a person wrote them. (The description has the languages as a pattern, which its types leave out.) */
export const ownAlt = (still: Still): Readonly<Record<string, string>> => still.alt;

/** A language by its English name. */
export function languageName(code: string): string {
  return new Intl.DisplayNames(["en"], { type: "language" }).of(code) ?? code;
}

/** Every name that a course says, each once, in the order in which a reader meets it. */
export function namesOf(course: Course, stations: readonly Station[]): readonly string[] {
  const said = [
    ...stations.flatMap((station) => [station.name, ...station.surfaces.flatMap((each) => [each.name, each.part])]),
    ...course.blanket.flatMap((rule) => [rule.surface, rule.part]),
    ...course.divisions,
    course.format?.ranking,
  ];
  const named = new Map<string, string>();
  for (const name of said) if (name && !named.has(key(name))) named.set(key(name), name);
  return [...named.values()];
}

/** How easily a text of that readability index reads (Björnsson's scale: 20 very easy, 30 easy, 40 a little hard), to the nearest. */
export function ease(lix: number): string {
  const { veryEasy, easy, hard, veryHard } = strings.naming.reading.ease;
  return lix < 25 ? veryEasy : lix < 35 ? easy : lix < 45 ? hard : veryHard;
}
