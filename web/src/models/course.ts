/** One course with its stations as a person sees it: as it stands on the server, with their own changes in it that are still on the way;
 * the job that works on it, who else is here, and what a person can do to the whole. */

import { computed, effect, type Signal, signal, batch as together } from "@preact/signals";
import {
  type Answer,
  api,
  type CourseView,
  type Edit,
  type FilmWishes,
  type Here,
  type Job,
  type Problem,
  type Station,
  type StationView,
} from "../api";
import { strings } from "../strings";
import { recallActs, rememberActs } from "./done";
import { foreseen } from "./foresee";
import { isOpen } from "./job";
import { type Batch, type Held, type Outbox, outbox as theOutbox } from "./outbox";
import { needWho, who } from "./who";
import { editWords } from "./words";

const POLL_MS = 1000;
const QUIET_POLL_MS = 2000;
const WHOLE_EVERY = 8; // of so many looks, one takes everything anew: findings and editions have no revision

const STAFF = "staff"; // the server's word for somebody without a name

/** A change that can be taken back; without its edits where it has been on the server, which then knows it by its id. */
type Done = Readonly<{ id: string; station: string | null; edits: readonly Edit[]; words: string }>;

export class CourseModel {
  /** As the server told it last. */
  private readonly told = signal<CourseView | null>(null);
  private readonly toldStations = signal<readonly StationView[]>([]);
  readonly missing = signal<string | null>(null);
  /** What the server said to the last thing that could not be done. */
  readonly problem = signal<Problem | null>(null);
  /** A step of the whole course (drafting, publishing) is being asked for. Saving never makes anything wait. */
  readonly busy = signal(false);
  /** Publishing is being asked for; and why that could not be done, which is said where it was asked. */
  readonly publishing = signal(false);
  readonly publishProblem = signal<Problem | null>(null);
  readonly others = signal<Here["others"]>([]);
  /** The id of the station that is shown, for the others. */
  readonly at = signal<string | null>(null);
  readonly waiting = computed(() => this.outbox.waiting.value.filter((each) => each.course === this.name));
  readonly held = computed(() => this.outbox.held.value.filter((each) => each.batch.course === this.name));
  private readonly shown = computed(() => {
    const view = this.told.value;
    return view === null ? null : foreseen(view, this.toldStations.value, this.waiting.value);
  });
  readonly view = computed<CourseView | null>(() => this.shown.value?.view ?? null);
  readonly stations = computed<readonly StationView[]>(() => this.shown.value?.stations ?? []);
  readonly job = computed<Job | null>(() => this.told.value?.job ?? null);
  readonly done = signal<readonly Done[]>([]);
  readonly undone = signal<readonly Done[]>([]);
  private timer: ReturnType<typeof setTimeout> | undefined;
  private closed = false;
  private looks = 0;
  private version = 0;
  private readonly ends: readonly (() => void)[];

  constructor(
    readonly name: string,
    readonly outbox: Outbox = theOutbox,
  ) {
    const before = recallActs<Done>(`done ${name}`);
    this.done.value = before.done;
    this.undone.value = before.undone;
    this.ends = [
      outbox.listen((batch, value) => this.saved(batch, value)),
      // What was done goes to the server in any case, which knows it by its id; what never left is known here alone.
      effect(() => {
        const done = this.done.value.map((each) => ({ ...each, edits: [] }));
        rememberActs<Done>(`done ${name}`, { done, undone: this.undone.value });
      }),
    ];
  }

  /** The page is being closed: the others need not wait until it falls silent, nor does the same person's next page take it for another's. */
  leave(): void {
    void api.gone(this.name, this.outbox.client);
  }

  /** Loads, and keeps up with what others do: each second while a job is open, else every other one. */
  async open(): Promise<void> {
    await this.look();
    if (!this.closed) this.timer = setTimeout(() => this.open(), this.job.value && isOpen(this.job.value) ? POLL_MS : QUIET_POLL_MS);
  }

  close(): void {
    this.closed = true;
    for (const end of this.ends) end();
    clearTimeout(this.timer);
  }

  /** Tells that this page is open, and loads where something is new. */
  private async look(): Promise<void> {
    if (this.told.value === null || this.missing.value !== null) return this.load();
    this.looks += 1;
    const here = await api.here(this.name, this.outbox.client, this.at.value);
    if (here.kind === "problem" && here.status === 404) return this.load(); // somebody removed it
    if (here.kind !== "ok" || this.closed) return;
    if (JSON.stringify(here.value.others) !== JSON.stringify(this.others.value)) this.others.value = here.value.others;
    if (this.outbox.waiting.value.length > 0) this.outbox.now(); // the server is there
    const known = new Map([["", this.told.value?.revision], ...this.toldStations.value.map((at) => [at.station.id, at.revision] as const)]);
    const news = Object.entries(here.value.revisions).some(([id, revision]) => known.has(id) && known.get(id) !== revision);
    const working = this.job.value !== null && isOpen(this.job.value);
    if (news || working || this.looks % WHOLE_EVERY === 0) await this.load();
  }

  async load(): Promise<void> {
    const version = this.version;
    const [course, stations] = await Promise.all([api.course(this.name), api.stations(this.name)]);
    if (version !== this.version) return this.closed ? undefined : this.load(); // something was saved meanwhile; this may be older
    if (course.kind === "ok" && stations.kind === "ok") {
      together(() => {
        this.missing.value = null;
        if (JSON.stringify(course.value) !== JSON.stringify(this.told.value)) this.told.value = course.value;
        this.toldStations.value = kept(this.toldStations.value, stations.value.stations);
      });
    } else if (course.kind === "problem") {
      this.missing.value = course.problem.sentence;
    }
  }

  station(number: number): StationView | null {
    return this.stations.value.find((at) => at.station.number === number) ?? null;
  }

  /** Accepts what is drafted: of one station, or of all with the course's own rules. */
  accept(station: number | null): Promise<boolean> {
    const stations = this.stations.value.filter((at) => station === null || at.station.number === station);
    const edits = stations.map<Edit>((at) => ({ do: "accept", station: at.station.number }));
    return this.editCourse(station === null ? [{ do: "accept-course" }, ...edits] : edits);
  }

  draft(): Promise<boolean> {
    return this.does(() => api.draft(this.name));
  }

  async publish(address: string): Promise<boolean> {
    if (this.busy.value) return false;
    this.publishing.value = true;
    const done = await this.does(() => api.publish(this.name, address), this.publishProblem);
    this.publishing.value = false;
    return done;
  }

  films(edition: number, wishes: FilmWishes): Promise<boolean> {
    return this.does(() => api.films(this.name, edition, wishes));
  }

  /** Records that faces may be seen in the films, and why; null blurs them again. */
  showFaces(because: string | null): Promise<boolean> {
    needWho();
    return this.does(() => api.showFaces(this.name, because));
  }

  /** Keeps a translated caption file, from a finished upload. */
  layIn(language: string, upload: string): Promise<boolean> {
    needWho();
    return this.does(() => api.layIn(this.name, language, upload));
  }

  takeOut(language: string): Promise<boolean> {
    needWho();
    return this.does(() => api.takeOut(this.name, language));
  }

  stop(job: string): Promise<boolean> {
    return this.does(() => api.stop(job));
  }

  /** Changes the course, or several of its stations at one go; at once on the page, and kept until the server has it.
   *
   * False where the server refused: then it stands among what is held. */
  editCourse(edits: Edit[]): Promise<boolean> {
    const view = this.told.value;
    if (view === null || edits.length === 0) return Promise.resolve(false);
    const numbers = new Set(edits.flatMap(numbersOf));
    const seen = this.stations.value.filter((at) => numbers.has(at.station.number)).map((at) => [at.station.id, at.revision] as const);
    return this.change(null, edits, view.revision, Object.fromEntries(seen));
  }

  /** Changes a station as it is seen at `at`; see `editCourse`. */
  editStation(at: StationView, edits: Edit[]): Promise<boolean> {
    return edits.length === 0 ? Promise.resolve(false) : this.change(at.station.id, edits, at.revision, {});
  }

  /** Takes the last change of this tab back, or the one of that id; what it is known by from then on, null where there is none. */
  undo(id = this.done.value.at(-1)?.id): string | null {
    const one = this.done.value.find((each) => each.id === id);
    if (!one) return null;
    const back = this.back(one);
    this.done.value = this.done.value.filter((each) => each !== one);
    this.undone.value = [...this.undone.value, back];
    return back.id;
  }

  /** Does what was taken back last, or under that id, once more. */
  redo(id = this.undone.value.at(-1)?.id): string | null {
    const one = this.undone.value.find((each) => each.id === id);
    if (!one) return null;
    const again = one.edits.length > 0 ? this.put(one) : this.back(one);
    this.undone.value = this.undone.value.filter((each) => each !== one);
    this.done.value = [...this.done.value, again];
    return again.id;
  }

  /** A change that has not left yet is dropped, and kept to be done again; another one is taken back on the server. */
  private back(done: Done): Done {
    if (done.edits.length > 0 && this.outbox.cancel(done.id)) return done;
    const batch = { course: this.name, station: null, base: 1, seen: {}, edits: [], undo: done.id, who: who.value };
    return { id: this.outbox.add(batch).batch.id, station: done.station, edits: [], words: done.words };
  }

  private put({ station, edits, words }: Done): Done {
    const base = station === null ? this.told.value?.revision : this.stations.value.find((at) => at.station.id === station)?.revision;
    const { batch } = this.outbox.add({ course: this.name, station, base: base ?? 1, seen: {}, edits, undo: null, who: who.value });
    return { id: batch.id, station, edits, words };
  }

  private async change(station: string | null, edits: Edit[], base: number, seen: Record<string, number>): Promise<boolean> {
    needWho();
    this.problem.value = null;
    const saw = this.since(station, base);
    const sawAll = Object.fromEntries(Object.entries(seen).map(([id, revision]) => [id, this.since(id, revision)]));
    const { batch, outcome } = this.outbox.add({ course: this.name, station, base: saw, seen: sawAll, edits, undo: null, who: who.value });
    const words = edits.map((edit) => editWords(edit, this.stationOf(edit, station)));
    this.done.value = [...this.done.value, { id: batch.id, station, edits, words: listed(words) }];
    this.undone.value = [];
    if ((await outcome) !== "held") return true;
    this.done.value = this.done.value.filter((each) => each.id !== batch.id);
    await this.load();
    return false;
  }

  /** The station that a change is of, also where it is made from the course's page. */
  private stationOf(edit: Edit, station: string | null): Station | null {
    const [number] = numbersOf(edit);
    const at = this.stations.value.find(({ station: one }) => (station === null ? one.number === number : one.id === station));
    return at?.station ?? null;
  }

  /** The revision that a person really saw: their own changes on the way may hide what somebody saved since those were made. */
  private since(station: string | null, revision: number): number {
    const earlier = this.waiting.value.filter((each) => each.station === station && each.undo === null).map((each) => each.base);
    const within = this.waiting.value.flatMap((each) => (station !== null && station in each.seen ? [each.seen[station] ?? revision] : []));
    return Math.min(revision, ...earlier, ...within);
  }

  /** What a person chose about changes that were held: these go again, made while seeing the version of the others that was shown. */
  settle(held: Held, edits: readonly Edit[]): void {
    const { id, station, base, seen } = held.batch;
    this.done.value = this.done.value.filter((each) => each.id !== id);
    const now = held.problem.current;
    const other = held.problem.theirs?.id;
    if (now === null) this.outbox.settle(id, edits, base, seen);
    else if (station === null && typeof other === "string") this.outbox.settle(id, edits, base, { ...seen, [other]: now });
    else this.outbox.settle(id, edits, now, seen);
    void this.load();
  }

  /** Who changed a station (or with null the course) last, as far as it is told; null for somebody without a name. */
  whoChanged(station: string | null): string | null {
    const by = station === null ? this.told.value?.who : this.toldStations.value.find((at) => at.station.id === station)?.who;
    return by === undefined || by === STAFF ? null : by;
  }

  /** The server has taken a batch: what it answers stands from now on, and the rest is looked at soon. */
  private saved(batch: Batch, value: CourseView | StationView): void {
    if (batch.course !== this.name) return;
    this.version += 1;
    if ("station" in value)
      this.toldStations.value = this.toldStations.value.map((at) => (at.station.id === value.station.id ? value : at));
    else {
      // The answer shows the course alone; until its stations are loaded they stay as they were foreseen, and nothing jumps back.
      const ahead = foreseen(value, this.toldStations.value, [batch]);
      together(() => {
        this.told.value = value;
        this.toldStations.value = ahead.stations;
      });
    }
    const structural = !("station" in value) || batch.edits.some((edit) => edit.do.endsWith("-station") && edit.do !== "rename-station");
    if (structural) void this.load();
    else this.soon();
  }

  private soon(): void {
    if (this.closed) return;
    clearTimeout(this.timer);
    this.timer = setTimeout(async () => {
      if (this.waiting.value.length === 0) await this.load();
      if (!this.closed) await this.open();
    }, 300);
  }

  /** One step at a time: do it, keep what was wrong, look again. */
  private async does(step: () => Promise<Answer<unknown>>, wrong: Signal<Problem | null> = this.problem): Promise<boolean> {
    if (this.busy.value) return false;
    this.busy.value = true;
    this.problem.value = null;
    this.publishProblem.value = null;
    const answer = await step();
    if (answer.kind === "problem") wrong.value = answer.problem;
    if (answer.kind === "away") wrong.value = awayProblem();
    await this.load();
    this.busy.value = false;
    if (answer.kind === "ok" && !this.closed) {
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.open(), POLL_MS);
    }
    return answer.kind === "ok";
  }
}

/** What was done in one go, each once: "draw a mark × 5; accept station 1". */
function listed(words: readonly string[]): string {
  const count = (word: string) => words.filter((each) => each === word).length;
  return [...new Set(words)].map((word) => (count(word) > 1 ? `${word} × ${count(word)}` : word)).join("; ");
}

/** The stations as they are told now; one that is as it was stays the same value, so that nothing of it is drawn anew. */
function kept(before: readonly StationView[], now: readonly StationView[]): readonly StationView[] {
  const known = new Map(before.map((at) => [at.station.id, at]));
  const next = now.map((at) => {
    const old = known.get(at.station.id);
    return old && old.revision === at.revision && JSON.stringify(old) === JSON.stringify(at) ? old : at;
  });
  return next.length === before.length && next.every((at, place) => at === before[place]) ? before : next;
}

function numbersOf(edit: Edit): number[] {
  if (!("station" in edit) || typeof edit.station !== "number") return [];
  if (edit.do === "merge-stations" || edit.do === "retell-station") return [edit.station, edit.other ?? edit.station + 1];
  return [edit.station];
}

export function awayProblem(): Problem {
  const none = { reasons: [], course: null, offset: null, current: null, mine: null, theirs: null, clashes: [] };
  return { kind: "away", sentence: strings.line.awayNow, ...none };
}

/** What to do next with a course, in the order in which it is done. */
export type NextStep = "wait" | "draft" | "no-station" | "look" | "accept" | "accept-rules" | "publish" | "republish" | "nothing";

export function nextStep(view: CourseView): NextStep {
  if (view.job && isOpen(view.job) && view.job.kind !== "films") return "wait"; // films give way to everything
  if (view.course.state === "taken in") return "draft";
  if (view.plates.length === 0) return "no-station";
  const blocks = view.findings.filter((finding) => finding.severity === "blocks");
  if (blocks.some((finding) => finding.kind !== "not-accepted")) return "look";
  if (blocks.length > 0) return blocks.every((finding) => finding.station === null) ? "accept-rules" : "accept";
  if (view.editions.length === 0) return "publish";
  return view.unpublished ? "republish" : "nothing";
}
