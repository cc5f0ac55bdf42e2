/** The listening page's own state: which piece is open, which words are chosen or being written, what was done, and what to tell. */

import { batch, computed, effect, signal, untracked } from "@preact/signals";
import { api, type Edit, type HeardName, type StationView, type WordsEdit } from "../api";
import { clock } from "../geometry/clock";
import { awayProblem, type CourseModel } from "../models/course";
import { recallActs, rememberActs } from "../models/done";
import { recall, remember } from "../models/keep";
import { strings } from "../strings";
import { fine, neighbour, type Piece, pieceAt, pieces } from "./line";
import { Playing } from "./playing";
import { type Done, Spoken } from "./spoken";
import { alike, change, dressed, type Run, runIn, textOf } from "./text";

const s = strings.listening;
/** A change of words, or one of the course by what the course's model knows it by. */
type Act = Readonly<{ kind: "words"; back: readonly WordsEdit[] } | { kind: "course"; id: string }>;
/** After one change: other places that say the same, and what would be written there. */
export type Offer = Readonly<{ runs: readonly Run[]; old: string; text: string }>;

export class Desk {
  readonly playing: Playing;
  readonly spoken: Spoken;
  /** Which piece is open, by its key: the one that is walked at the time shown. */
  readonly open = signal<string | null>(null);
  readonly chosen = signal<Run | null>(null);
  readonly writing = signal(false);
  readonly offer = signal<Offer | null>(null);
  /** What was done last; the count tells two equal sentences apart, so that the second is read out too. */
  readonly told = signal<Readonly<{ sentence: string; count: number }>>({ sentence: "", count: 0 });
  readonly taking = signal(false);
  /** A piece was opened by a key: its first word takes the focus, since the line that had it is gone. */
  byKey = false;
  readonly letters = signal(recall("letters") !== "off");
  readonly snap = signal(recall("snap") !== "off");
  private readonly done = signal<readonly Act[]>([]);
  private readonly undone = signal<readonly Act[]>([]);
  /** What can be taken back, or done again, here: what was taken back elsewhere since is passed over. */
  private readonly last = computed(() => standing(this.done.value, this.model.done.value));
  private readonly next = computed(() => standing(this.undone.value, this.model.undone.value));
  readonly canUndo = computed(() => this.last.value !== null);
  readonly canRedo = computed(() => this.next.value !== null);
  readonly pieces = computed<readonly Piece[]>(() => {
    const words = this.spoken.words.value;
    const length = this.length.value;
    return pieces(this.model.stations.value, length, (span) => runIn(words, span) !== null);
  });
  readonly piece = computed<Piece | null>(() => this.pieces.value.find((each) => each.key === this.open.value) ?? null);
  private readonly length = computed(() => {
    const last = this.model.view.value?.course.clips.at(-1);
    return last ? last.start_s + last.duration_s : 0;
  });
  private readonly stops: (() => void)[];

  constructor(readonly model: CourseModel) {
    this.playing = new Playing(model.name);
    this.spoken = new Spoken(model.name);
    const before = recallActs<Act>(`done at the walk ${model.name}`);
    this.done.value = before.done;
    this.undone.value = before.undone;
    this.stops = [
      effect(() => rememberActs<Act>(`done at the walk ${model.name}`, { done: this.done.value, undone: this.undone.value })),
      effect(() => this.playing.of(this.model.view.value?.course.clips ?? [])),
      effect(() => this.follow(this.playing.time.value, this.pieces.value)),
      effect(() => this.reload(this.model.view.value?.revision ?? 0)),
    ];
  }

  close(): void {
    for (const stop of this.stops) stop();
    this.spoken.close();
    this.playing.pause();
  }

  private follow(time: number, all: readonly Piece[]): void {
    const here = pieceAt(all, time)?.key ?? null;
    untracked(() => {
      if (here === this.open.value) return;
      batch(() => {
        this.open.value = here;
        if (!this.writing.value) this.chosen.value = null;
      });
    });
  }

  /** Words are loaded again with each later revision of the course: corrections, names, a new hearing. */
  private reload(revision: number): void {
    untracked(() => {
      if (revision > this.spoken.revision || !this.spoken.loaded.value) void this.spoken.load();
    });
  }

  tell(sentence: string): void {
    this.told.value = { sentence, count: this.told.value.count + 1 };
  }

  // Going about

  go(time: number): void {
    this.playing.seek(time);
  }

  goPiece(by: 1 | -1): void {
    const all = this.pieces.value;
    const at = all.findIndex((each) => each.key === this.open.value);
    const next = all[at + by];
    if (next) this.go(next.start);
  }

  keepToPiece(on: boolean): void {
    const piece = this.piece.value;
    this.playing.keepTo(on && piece ? piece : null);
  }

  useLetters(on: boolean): void {
    this.letters.value = on;
    remember("letters", on ? null : "off");
  }

  useSnap(on: boolean): void {
    this.snap.value = on;
    remember("snap", on ? null : "off");
  }

  // Words

  choose(run: Run | null): void {
    batch(() => {
      this.chosen.value = run;
      this.writing.value = false;
      this.offer.value = null;
    });
  }

  write(): void {
    if (!this.chosen.value) return;
    this.playing.pause();
    this.writing.value = true;
  }

  stopWriting(): void {
    this.writing.value = false;
  }

  async rewrite(run: Run, text: string): Promise<void> {
    const words = this.spoken.words.value;
    const edit = change(words, run, text);
    this.writing.value = false;
    if (!edit) return;
    const old = textOf(words, run);
    const others = alike(words, run);
    const plain = text.split(/\s+/).filter(Boolean).join(" ");
    const now = { from: run.from, to: Math.max(run.from, run.from + plain.split(" ").length - 1) };
    this.chosen.value = plain === "" ? null : now;
    if (await this.words([edit])) {
      this.tell(s.wordsChanged(old, plain));
      if (others.length > 0) this.offer.value = { runs: elsewhere(this.spoken.words.value, old), old, text: plain };
    }
  }

  /** Does the same at the other places that say the same. */
  async rewriteThere(): Promise<void> {
    const offer = this.offer.value;
    this.offer.value = null;
    if (!offer) return;
    const words = this.spoken.words.value;
    const edits = offer.runs.flatMap((run) => change(words, run, dressed(textOf(words, run), offer.text)) ?? []);
    if (await this.words(edits)) this.tell(s.wordsChanged(offer.old, offer.text));
  }

  asHeard(run: Run): Promise<boolean> {
    const words = this.spoken.words.value;
    const [first, last] = [words[run.from], words[run.to]];
    if (!first || !last) return Promise.resolve(false);
    const was = textOf(words, run);
    return this.words([{ first: first.first, last: last.last, was, parts: [] }]);
  }

  /** Takes a correction back by what it is kept as, also where nothing of it is left to choose. */
  takeOut(correction: { first: number; last: number; text: string }): Promise<boolean> {
    return this.words([{ first: correction.first, last: correction.last, was: correction.text, parts: [] }]);
  }

  private async words(edits: readonly WordsEdit[]): Promise<boolean> {
    const done = await this.spoken.edit(edits);
    return this.wereDone(done);
  }

  wereDone(done: Done | null): boolean {
    if (!done) return false;
    this.did({ kind: "words", back: done.back });
    return true;
  }

  async settleName(name: HeardName, taken: boolean): Promise<void> {
    const edit: Edit = { do: taken ? "accept-name" : "decline-name", heard: name.heard, name: name.name };
    if (await this.stations([edit])) this.tell(taken ? s.nameTaken(name.name) : s.nameLeft(name.heard));
  }

  // Stations

  private async stations(edits: Edit[]): Promise<boolean> {
    const saved = this.model.editCourse(edits);
    this.changed();
    return saved;
  }

  /** Moves a border; a neighbour that shares it moves along, in the same step. */
  async moveBorder(at: StationView, side: "start" | "end", time: number): Promise<void> {
    const { station } = at;
    const to = Math.round(time * 1000) / 1000;
    if (Math.abs(station[side] - to) < 0.0005) return;
    const beside = neighbour(this.model.stations.value, at, side)?.station;
    const span = (each: typeof station, which: "start" | "end"): Edit => ({
      do: "set-span",
      station: each.number,
      start: which === "start" ? to : each.start,
      end: which === "end" ? to : each.end,
    });
    const edits = [span(station, side), ...(beside ? [span(beside, side === "start" ? "end" : "start")] : [])];
    this.tell(side === "start" ? s.beginsNow(station.number, fine(to)) : s.endsNow(station.number, fine(to)));
    await this.stations(edits);
  }

  async split(at: StationView, time: number): Promise<void> {
    this.tell(s.splitDone(at.station.number, fine(time)));
    await this.stations([{ do: "split-station", station: at.station.number, at: time }]);
  }

  async merge(at: StationView): Promise<void> {
    this.tell(s.mergeDone(at.station.number));
    await this.stations([{ do: "merge-stations", station: at.station.number }]);
  }

  async add(start: number, end: number): Promise<void> {
    const number = this.model.stations.value.filter((each) => each.station.start < start).length + 1;
    this.tell(s.addDone(number));
    await this.stations([{ do: "add-station", number, start, end }]);
  }

  /** Takes the frame on screen, from the clip as filmed, as a still of the station that is walked then. */
  async takeStill(): Promise<void> {
    if (this.taking.value) return;
    this.taking.value = true;
    try {
      const shown = await this.playing.shown();
      const clip = this.model.view.value?.course.clips.find((each) => each.number === shown?.clip);
      if (!shown || !clip) return this.tell(s.noPicture);
      const at = pieceAt(this.pieces.value, clip.start_s + shown.time_s)?.at;
      if (!at) return this.tell(s.noStationHere);
      const answer = await api.grab(this.model.name, at.station.id, shown.clip, shown.time_s);
      if (answer.kind !== "ok") {
        this.model.problem.value = answer.kind === "problem" ? answer.problem : awayProblem();
        return;
      }
      const still = answer.value;
      const time = clock(still.time_s);
      if (at.station.stills.some((each) => each.id === still.id)) return this.tell(s.takenAlready(at.station.number, time));
      const now = this.model.stations.value.find((each) => each.station.id === at.station.id) ?? at;
      const saved = this.model.editStation(now, [{ do: "put-still", station: now.station.number, still }]);
      this.changed();
      if (await saved) this.tell(s.taken(at.station.number, time));
    } finally {
      this.taking.value = false;
    }
  }

  // Taking back

  private did(act: Act): void {
    this.done.value = [...this.done.value, act];
    this.undone.value = [];
  }

  /** The course was changed: what its model knows the change by. */
  private changed(): void {
    const id = this.model.done.value.at(-1)?.id;
    if (id !== undefined) this.did({ kind: "course", id });
  }

  async undo(): Promise<void> {
    const act = this.last.value;
    if (!act) return this.tell(s.nothingToUndo);
    this.done.value = this.done.value.filter((each) => each !== act);
    const back = await this.reverse(act, (id) => this.model.undo(id));
    if (back) this.undone.value = [...this.undone.value, back];
    this.tell(s.undone);
  }

  async redo(): Promise<void> {
    const act = this.next.value;
    if (!act) return;
    this.undone.value = this.undone.value.filter((each) => each !== act);
    const again = await this.reverse(act, (id) => this.model.redo(id));
    if (again) this.done.value = [...this.done.value, again];
    this.tell(s.redone);
  }

  private async reverse(act: Act, course: (id: string) => string | null): Promise<Act | null> {
    if (act.kind === "course") {
      const id = course(act.id);
      return id === null ? null : { kind: "course", id };
    }
    const done = await this.spoken.edit(act.back);
    return done ? { kind: "words", back: done.back } : null;
  }
}

/** The last act that still stands; one of the course does while its model knows it. */
function standing(acts: readonly Act[], known: CourseModel["done"]["value"]): Act | null {
  return acts.findLast((act) => act.kind === "words" || known.some((each) => each.id === act.id)) ?? null;
}

/** Where some words are said, as whole words. */
function elsewhere(words: Spoken["words"]["value"], said: string): readonly Run[] {
  const made = said.split(" ").map((text, at) => ({ start: at, end: at, text, first: -1, last: -1, by: "hand" as const, sure: null }));
  const shift = made.length;
  return alike([...made, ...words], { from: 0, to: shift - 1 }).map((run) => ({ from: run.from - shift, to: run.to - shift }));
}
