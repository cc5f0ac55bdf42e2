/** A walk being put together: its clips in order, their captions, the names list and the title, until the server has it. */

import { computed, effect, signal } from "@preact/signals";
import { api, type Job, type Problem } from "../api";
import { awayProblem } from "./course";
import { type Chosen, Sending } from "./upload";

export type Clip = Readonly<{ film: Sending; captions: Sending | null }>;

export class WalkModel {
  readonly clips = signal<readonly Clip[]>([]);
  readonly names = signal("");
  readonly title = signal("");
  readonly problem = signal<Problem | null>(null);
  readonly job = signal<Job | null>(null);
  /** The person asked for it; it goes off as soon as the last clip is here. */
  readonly wished = signal(false);
  private again = false;
  private sent = false;

  readonly all = computed(() => this.clips.value.flatMap((clip) => (clip.captions ? [clip.film, clip.captions] : [clip.film])));
  readonly allHere = computed(() => this.all.value.length > 0 && this.all.value.every((each) => each.state.value.at === "here"));
  readonly refused = computed(() => this.all.value.some((each) => each.state.value.at === "refused"));
  readonly captionsFit = computed(() => {
    const given = this.clips.value.filter((clip) => clip.captions !== null).length;
    return given === 0 || given === this.clips.value.length;
  });
  readonly stopWatching = effect(() => {
    if (this.wished.value && this.allHere.value && this.captionsFit.value) void this.takeIn();
  });

  add(files: readonly Chosen[]): void {
    const added = files.map((file) => ({ film: new Sending("clip", file), captions: null }));
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
    const answer = await api.takeIn({
      title: this.title.value,
      clips: ids(this.clips.value.map((clip) => clip.film)),
      captions: ids(this.clips.value.map((clip) => clip.captions)),
      names: nameLines(this.names.value),
      again: this.again,
    });
    this.sent = false;
    this.wished.value = false;
    if (answer.kind === "ok") {
      for (const each of this.all.value) each.used();
      this.job.value = answer.value;
    } else {
      this.problem.value = answer.kind === "problem" ? answer.problem : awayProblem();
    }
  }
}

/** The names list as typed: one a line, empty lines and lines that begin with # left out. */
export function nameLines(text: string): string[] {
  return text
    .split(/\r?\n/)
    .map((each) => each.trim())
    .filter((each) => each !== "" && !each.startsWith("#"));
}
