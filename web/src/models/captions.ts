/** Captions as staff look at them: which limits are kept, and in which language a given file is. Pure. */

import type { WalkCaptions } from "../api";
import { languageName } from "./naming";

/** Languages that captions may be in, by BCP 47 tag: those that the most people read, and the larger ones of Europe. */
const TAGS =
  "ar bg bn ca cs cy da de el en es et fa fi fr ga gl he hi hr hu id is it ja ko lt lv mt nl no pl pt pt-BR ro ru sk sl sq sr sv sw ta th tl tr uk ur vi zh-Hans zh-Hant";

/** Every language that is offered, by its name, without the one that the walk is spoken in. */
export function captionLanguages(spoken: string): readonly (readonly [string, string])[] {
  return TAGS.split(" ")
    .filter((tag) => tag !== spoken)
    .map((tag) => [tag, languageName(tag)] as const)
    .sort((a, b) => a[1].localeCompare(b[1]));
}

/** The language that a file's name tells, as in "walk.es.srt" or "captions_pt-BR.vtt"; "" where it tells none. */
export function languageOf(file: string): string {
  const parts = file.replace(/\.[^.]*$/, "").split(/[._ ]/);
  const tags = new Map(TAGS.split(" ").map((tag) => [tag.toLowerCase(), tag]));
  for (const part of parts.slice(1).reverse()) {
    const tag = tags.get(part.toLowerCase());
    if (tag) return tag;
  }
  return "";
}

type Limit = WalkCaptions["limits"][number];

export const brokenLimits = (captions: WalkCaptions): readonly Limit[] =>
  captions.limits.filter((limit) => !limit.wish && limit.kept < limit.of);

/** The reading speed that is wished of these captions: the slowest for children, else the fastest that is still read in good time. */
export function wishedSpeed(captions: WalkCaptions): Limit | null {
  const wishes = captions.limits.filter((limit) => limit.wish);
  return (captions.wording === "children" ? wishes.at(-1) : wishes[0]) ?? null;
}
