/** The words of the walk as text: which one is spoken when, paragraphs, and edits of a run of them. Pure. */

import type { HeardName, WalkWord, WordsEdit } from "../api";
import type { Span } from "./line";

/** A run of words by their places in the whole text, both ends in it. */
export type Run = Readonly<{ from: number; to: number }>;

const PAUSE_S = 1.2;
const LONG = 45;
const ENDS = /[.!?…]["'”’)]*$/;

/** The place of the last word that starts at or before a time; -1 before the first. */
export function wordAt(words: readonly Pick<WalkWord, "start">[], time: number): number {
  let [low, high] = [0, words.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((words[middle]?.start ?? 0) <= time) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/** The words that start inside a span; null where there are none. */
export function runIn(words: readonly WalkWord[], span: Span): Run | null {
  const from = wordAt(words, span.start - 1e-6) + 1;
  const to = wordAt(words, span.end - 1e-6);
  return from <= to ? { from, to } : null;
}

/** A run in paragraphs: they break at pauses, and after a full stop where they grow long. */
export function paragraphs(words: readonly WalkWord[], run: Run): Run[] {
  const all: Run[] = [];
  let from = run.from;
  for (let at = run.from; at <= run.to; at += 1) {
    const [word, next] = [words[at], words[at + 1]];
    if (!word) break;
    const pause = next !== undefined && next.start - word.end > PAUSE_S;
    const long = at - from >= LONG && ENDS.test(word.text);
    if (at === run.to || pause || long || at - from >= LONG * 4) {
      all.push({ from, to: at });
      from = at + 1;
    }
  }
  return all;
}

export function textOf(words: readonly WalkWord[], run: Run): string {
  return words
    .slice(run.from, run.to + 1)
    .map((word) => word.text)
    .join(" ");
}

/** A run made larger until it holds whole pieces: words that stand for the same heard words go together. */
export function whole(words: readonly WalkWord[], run: Run): Run {
  let { from, to } = run;
  while (from > 0 && words[from - 1]?.first === words[from]?.first) from -= 1;
  while (to + 1 < words.length && words[to + 1]?.first === words[to]?.first) to += 1;
  return { from, to };
}

/** The change that writes `text` in place of a run; words of a piece that the run only partly holds are kept. Null where it says the same. */
export function change(words: readonly WalkWord[], run: Run, text: string): WordsEdit | null {
  const all = whole(words, run);
  const [first, last] = [words[all.from], words[all.to]];
  if (!first || !last) return null;
  const before = run.from > all.from ? textOf(words, { from: all.from, to: run.from - 1 }) : "";
  const after = run.to < all.to ? textOf(words, { from: run.to + 1, to: all.to }) : "";
  const plain = [before, text.split(/\s+/).filter(Boolean).join(" "), after].filter(Boolean).join(" ");
  const was = textOf(words, all);
  if (plain === was) return null;
  const place = { first: first.first, last: last.last };
  return { ...place, was, parts: [{ ...place, text: plain }] };
}

/** Other runs that say the same as a run, as one would change them together; case and what stands around the words aside. */
export function alike(words: readonly WalkWord[], run: Run): Run[] {
  const wanted = words.slice(run.from, run.to + 1).map(bare);
  if (wanted.join("").length < 3) return [];
  const found: Run[] = [];
  for (let from = 0; from + wanted.length <= words.length; from += 1) {
    const to = from + wanted.length - 1;
    if (to >= run.from && from <= run.to) continue;
    if (wanted.every((text, at) => bare(words[from + at]) === text)) found.push({ from, to });
  }
  return found;
}

function bare(word: WalkWord | undefined): string {
  return (word?.text ?? "").toLocaleLowerCase().replace(/^[^\p{L}\p{N}]+|[^\p{L}\p{N}]+$/gu, "");
}

/** The same words with what stood around the old ones: "runs," becomes "rungs," and "Runs" becomes "Rungs". */
export function dressed(old: string, text: string): string {
  const [lead] = /^[^\p{L}\p{N}]*/u.exec(old) ?? [""];
  const [trail] = /[^\p{L}\p{N}]*$/u.exec(old) ?? [""];
  const plain = text.replace(/^[^\p{L}\p{N}]+|[^\p{L}\p{N}]+$/gu, "");
  const first = old.slice(lead.length).charAt(0);
  const upper = first !== "" && first === first.toLocaleUpperCase() && first !== first.toLocaleLowerCase();
  const body = upper ? plain.charAt(0).toLocaleUpperCase() + plain.slice(1) : plain;
  return plain === "" ? "" : lead + body + trail;
}

/** The gap between two words that is nearest to a time: where a border cuts no word. */
export function nearestGap(words: readonly WalkWord[], time: number): number {
  const at = wordAt(words, time);
  const gaps = [words[at - 1], words[at], words[at + 1]]
    .map((word, place) => {
      const next = words[at + place];
      return word && next ? (word.end + Math.max(word.end, next.start)) / 2 : (word?.start ?? next?.start ?? time);
    })
    .filter((gap) => Number.isFinite(gap));
  return gaps.reduce((best, gap) => (Math.abs(gap - time) < Math.abs(best - time) ? gap : best), gaps[0] ?? time);
}

/** The gap before or after a time that is the next one in a direction. */
export function nextGap(words: readonly WalkWord[], time: number, towards: 1 | -1): number | null {
  const at = wordAt(words, time);
  for (let place = at + (towards > 0 ? 0 : 1); place >= -1 && place <= words.length; place += towards) {
    const [word, next] = [words[place], words[place + 1]];
    const gap = word && next ? (word.end + Math.max(word.end, next.start)) / 2 : next ? next.start : word ? word.end : null;
    if (gap !== null && (gap - time) * towards > 0.004) return gap;
  }
  return null;
}

/** The last words before a time and the first after it, a few of each. */
export function around(words: readonly WalkWord[], time: number, count = 4): { before: string; after: string } {
  const next = wordAt(words, time - 1e-6) + 1;
  return {
    before: textOf(words, { from: Math.max(0, next - count), to: next - 1 }),
    after: textOf(words, { from: next, to: Math.min(words.length, next + count) - 1 }),
  };
}

/** Where a name that was perhaps heard wrong stands in the words, as they read now. */
export function placesOf(words: readonly WalkWord[], name: HeardName): Run[] {
  const length = name.heard.split(/\s+/).length;
  return name.at.flatMap((start) => {
    const from = words.findIndex((word) => Math.abs(word.start - start) < 0.0015 && word.by === "heard");
    const run = { from, to: from + length - 1 };
    const says = words
      .slice(run.from, run.to + 1)
      .map(bare)
      .join(" ");
    return from >= 0 && says === name.heard.toLocaleLowerCase() ? [run] : [];
  });
}
