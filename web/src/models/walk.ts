/** A walk being put together, or further clips for a course: clips in order, their captions, names and the title, until the server has it. */

import { computed, effect, type Signal, signal } from "@preact/signals";
import { api, type Job, type Problem } from "../api";
import { awayProblem } from "./course";
import { recall, remember } from "./keep";
import { type Chosen, type Left, leftUploads, letGo, Sending, type SendingState } from "./upload";

const NAMES = "take-in names";
const TITLE = "take-in title";

export type Clip = Readonly<{ film: Sending; captions: Sending | null }>;

export class WalkModel {
  readonly clips = signal<readonly Clip[]>([]);
  readonly names: Signal<string>;
  readonly title = signal(recall(TITLE) ?? "");
  /** Files that were chosen although they are here already. */
  readonly twice = signal<readonly string[]>([]);
  private readonly lefts = signal<readonly Left[]>([]);
  /** Clips of which an earlier page sent a part, and which nobody has chosen again yet. */
  readonly left = computed(() => {
    const chosen = new Set(this.clips.value.map((clip) => clip.film.key));
    return this.lefts.value.filter((each) => !chosen.has(each.key));
  });
  readonly problem = signal<Problem | null>(null);
  readonly job = signal<Job | null>(null);
  /** The person asked for it; it goes off as soon as the last clip is here. */
  readonly wished = signal(false);
  private again = false;
  private sent = false;
  private readonly kept: string;

  /** `course` is the one that further clips are for; null makes a new one. */
  constructor(readonly course: string | null = null) {
    this.kept = course === null ? NAMES : `add-clip names ${course}`;
    this.names = signal(recall(this.kept) ?? "");
    this.watching = [
      effect(() => {
        if (this.wished.value && this.allHere.value && this.captionsFit.value) void this.takeIn();
      }),
      effect(() => {
        if (this.job.value !== null) return;
        remember(this.kept, this.names.value || null);
        if (course === null) remember(TITLE, this.title.value || null);
      }),
    ];
  }

  readonly all = computed(() => this.clips.value.flatMap((clip) => (clip.captions ? [clip.film, clip.captions] : [clip.film])));
  readonly allHere = computed(() => this.all.value.length > 0 && this.all.value.every((each) => each.state.value.at === "here"));
  /** One cannot be used, or is in the course already. */
  readonly refused = computed(() => this.all.value.some((each) => isRefused(each.state.value, this.course)));
  readonly captionsFit = computed(() => {
    const given = this.clips.value.filter((clip) => clip.captions !== null).length;
    return given === 0 || given === this.clips.value.length;
  });
  private readonly watching: readonly (() => void)[];

  stopWatching(): void {
    for (const stop of this.watching) stop();
  }

  async lookForLeft(): Promise<void> {
    this.lefts.value = await leftUploads();
  }

  forget(left: Left): void {
    letGo(left);
    this.lefts.value = this.lefts.value.filter((each) => each !== left);
  }

  add(files: readonly Chosen[]): void {
    const known = new Set(this.clips.value.map((clip) => clip.film.key));
    const fresh = files.map((file) => new Sending("clip", file)).filter((film) => !known.has(film.key));
    const kept = new Set(fresh.map((film) => film.file));
    this.twice.value = files.filter((file) => !kept.has(file)).map((file) => file.name);
    const added = fresh.map((film) => ({ film, captions: null }));
    this.clips.value = [...this.clips.value, ...added];
    // One after the other: two at once would each take twice as long.
    void added.reduce((before, clip) => before.then(() => clip.film.run()), Promise.resolve());
  }

  remove(clip: Clip): void {
    clip.film.drop();
    clip.captions?.drop();
    this.clips.value = this.clips.value.filter((each) => each !== clip);
  }

  move(clip: Clip, by: -1 | 1): void {
    const at = this.clips.value.indexOf(clip);
    const there = this.clips.value[at + by];
    if (at < 0 || there === undefined) return;
    const moved = [...this.clips.value];
    moved[at] = there;
    moved[at + by] = clip;
    this.clips.value = moved;
  }

  setCaptions(clip: Clip, file: Chosen | null): void {
    clip.captions?.drop();
    const captions = file ? new Sending("captions", file) : null;
    this.clips.value = this.clips.value.map((each) => (each === clip ? { film: clip.film, captions } : each));
    if (captions) void captions.run();
  }

  wish(again = false): void {
    this.again = this.again || again;
    this.problem.value = null;
    this.wished.value = false;
    this.wished.value = true;
  }

  private async takeIn(): Promise<void> {
    if (this.sent) return;
    this.sent = true;
    const ids = (all: readonly (Sending | null)[]) =>
      all.flatMap((each) => (each?.state.value.at === "here" ? [each.state.value.upload.id] : []));
    const walk = {
      clips: ids(this.clips.value.map((clip) => clip.film)),
      captions: ids(this.clips.value.map((clip) => clip.captions)),
      names: nameLines(this.names.value),
    };
    const answer = await (this.course === null
      ? api.takeIn({ ...walk, title: this.title.value, again: this.again })
      : api.addClips(this.course, walk));
    this.sent = false;
    this.wished.value = false;
    if (answer.kind === "ok") {
      for (const each of this.all.value) each.used();
      remember(this.kept, null);
      if (this.course === null) remember(TITLE, null);
      this.job.value = answer.value;
    } else {
      this.problem.value = answer.kind === "problem" ? answer.problem : awayProblem();
    }
  }
}

function isRefused(state: SendingState, course: string | null): boolean {
  return state.at === "refused" || (state.at === "here" && state.upload.already.some((each) => each.name === course));
}

const going = new Map<string | null, WalkModel>();

/** What is being put together in this page, for a new course or for that one: whoever leaves for another page finds it again as it was. */
export function walkAtHand(course: string | null = null): WalkModel {
  const there = going.get(course);
  if (there !== undefined && there.job.value === null) return there;
  there?.stopWatching();
  const walk = new WalkModel(course);
  going.set(course, walk);
  return walk;
}

/** The names list as typed: one a line, empty lines and lines that begin with # left out. */
export function nameLines(text: string): string[] {
  return text
    .split(/\r?\n/)
    .map((each) => each.trim())
    .filter((each) => each !== "" && !each.startsWith("#"));
}
