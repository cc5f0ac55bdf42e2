/** The words of a walk as they stand on the server, with what this browser changed: shown at once, kept here until the server has it. */

import { computed, signal } from "@preact/signals";
import { api, type Problem, type Words, type WordsEdit } from "../api";
import { recall, remember } from "../models/keep";

/** A change that met somebody else's: what was wanted, what stands there now. */
export type Meeting = Readonly<{ edit: WordsEdit; mine: string; theirs: string }>;
export type Done = Readonly<{ back: readonly WordsEdit[] }>;
type Waiting = Readonly<{ edits: readonly WordsEdit[] }>;

const AGAIN_MS = 3000;

export class Spoken {
  readonly words = signal<Words["words"]>([]);
  readonly corrections = signal<Words["corrections"]>([]);
  readonly changed = signal(false);
  readonly loaded = signal(false);
  readonly meeting = signal<Meeting | null>(null);
  readonly problem = signal<Problem | null>(null);
  /** Changes that the server does not have yet. */
  readonly waiting = signal<readonly Waiting[]>([]);
  readonly kept = computed(() => this.waiting.value.length);
  /** The course's revision that the words are of. */
  revision = 0;
  private readonly answers = new Map<Waiting, (done: Done | null) => void>();
  private timer: ReturnType<typeof setTimeout> | undefined;
  private sending = false;
  private closed = false;

  constructor(readonly course: string) {
    this.waiting.value = stored(course);
  }

  async load(): Promise<void> {
    const answer = await api.words(this.course);
    const older = answer.kind === "ok" && answer.value.revision < this.revision; // asked before a change, answered after it
    if (answer.kind === "ok" && this.waiting.value.length === 0 && !older) this.take(answer.value);
    if (answer.kind === "problem") this.problem.value = answer.problem;
    if (answer.kind === "ok") this.loaded.value = true;
    void this.send();
  }

  close(): void {
    this.closed = true;
    clearTimeout(this.timer);
  }

  /** Changes words, all or none. What comes back takes it back; null where it was not done. */
  edit(edits: readonly WordsEdit[]): Promise<Done | null> {
    if (edits.length === 0) return Promise.resolve(null);
    const wanted: Waiting = { edits };
    const answer = new Promise<Done | null>((done) => this.answers.set(wanted, done));
    this.keep([...this.waiting.value, wanted]);
    this.words.value = edits.reduce(foreseen, this.words.value);
    void this.send();
    return answer;
  }

  /** Of a meeting of two changes: take mine after all, or leave theirs. */
  settle(mine: boolean): Promise<Done | null> {
    const met = this.meeting.value;
    this.meeting.value = null;
    return met && mine ? this.edit([{ ...met.edit, was: met.theirs }]) : Promise.resolve(null);
  }

  private async send(): Promise<void> {
    const next = this.waiting.value[0];
    if (!next || this.sending || this.closed) return;
    this.sending = true;
    const answer = await api.reword(this.course, next.edits);
    this.sending = false;
    if (answer.kind === "away") {
      clearTimeout(this.timer);
      this.timer = setTimeout(() => void this.send(), AGAIN_MS);
      return;
    }
    this.keep(this.waiting.value.filter((each) => each !== next));
    if (answer.kind === "ok") {
      if (this.waiting.value.length === 0) this.take(answer.value.words);
      this.answers.get(next)?.({ back: answer.value.back });
    } else {
      this.refused(next, answer.problem);
    }
    this.answers.delete(next);
    void this.send();
  }

  private refused(wanted: Waiting, problem: Problem): void {
    const [edit] = wanted.edits;
    if (problem.kind === "stale-edit" && edit) {
      const side = (from: Problem["mine"]) => String(from?.text ?? "");
      this.meeting.value = { edit, mine: side(problem.mine), theirs: side(problem.theirs) };
    } else {
      this.problem.value = problem;
    }
    this.answers.get(wanted)?.(null);
    void this.load();
  }

  private take(view: Words): void {
    if (JSON.stringify(view.words) !== JSON.stringify(this.words.value)) this.words.value = view.words;
    this.revision = view.revision;
    this.corrections.value = view.corrections;
    this.changed.value = view.changed;
  }

  private keep(waiting: readonly Waiting[]): void {
    this.waiting.value = waiting;
    remember(`words ${this.course}`, waiting.length > 0 ? JSON.stringify(waiting) : null);
  }
}

/** The words as they will read after an edit, until the server's own answer is here: the time is shared out evenly. */
export function foreseen(words: Words["words"], edit: WordsEdit): Words["words"] {
  const from = words.findIndex((word) => word.last > edit.first);
  const to = words.findLastIndex((word) => word.first < edit.last);
  const [first, last] = [words[from], words[to]];
  if (!first || !last || from > to) return words;
  const texts = (edit.parts ?? []).flatMap((part) => part.text.split(/\s+/).filter(Boolean));
  if (edit.parts === undefined || edit.parts.length === 0) return words;
  const each = (last.end - first.start) / Math.max(1, texts.length);
  const made = texts.map((text, at) => ({
    start: first.start + at * each,
    end: first.start + (at + 1) * each,
    text,
    first: edit.first,
    last: edit.last,
    by: "hand" as const,
    sure: null,
  }));
  return [...words.slice(0, from), ...made, ...words.slice(to + 1)];
}

function stored(course: string): readonly Waiting[] {
  try {
    const read: unknown = JSON.parse(recall(`words ${course}`) ?? "[]");
    return Array.isArray(read) ? (read as Waiting[]) : [];
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    return [];
  }
}
