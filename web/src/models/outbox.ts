/** Changes on their way to the server. Each is kept in this browser before anything else happens, sent in order, and let go when the
 * server has it: a closed tab, a dropped line or a server that is down for days lose nothing. A batch has a name of its own, so the server
 * does one that comes twice only once; therefore anything unclear is sent again.
 *
 * What the server will not take waits with its reason until a person chooses; what comes after it for the same document waits behind it.
 */

import { computed, effect, signal, batch as together } from "@preact/signals";
import { type Answer, api, type CourseView, type Edit, type Problem, type StationView } from "../api";
import { line } from "./line";

/** Changes made at one go: edits of a station (or, with null, of the course), or the taking back of an earlier batch. */
export type Batch = Readonly<{
  id: string;
  client: string;
  course: string;
  station: string | null;
  base: number;
  seen: Readonly<Record<string, number>>;
  edits: readonly Edit[];
  undo: string | null;
  who: string;
  at: number;
}>;

/** A batch that the server did not take: it meets somebody else's change, or does not fit. */
export type Held = Readonly<{ batch: Batch; problem: Problem; clash: boolean }>;
export type Sent = Answer<CourseView | StationView>;
export type Outcome = "saved" | "kept" | "held";
type Kept = Readonly<{ batch: Batch; held: Held["problem"] | null }>;
export type Store = Pick<Storage, "getItem" | "setItem" | "removeItem" | "key" | "length">;
export type Timing = Readonly<{ first: number; most: number; beat: number; stale: number }>;

const TIMING: Timing = { first: 500, most: 15_000, beat: 5_000, stale: 90_000 };
const BROKEN_TRIES = 5;
const KEPT = "annotator outbox";
const PAGE = "annotator page";

/** A short name that nobody else makes up. */
export function fresh(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(10));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export class Outbox {
  readonly client = `p${fresh()}`;
  readonly waiting = signal<readonly Batch[]>([]);
  readonly held = signal<readonly Held[]>([]);
  /** The browser would not keep what waits: it lasts as long as this page. */
  readonly homeless = signal(false);
  /** What stands in the way, where the server answers but cannot save (a full disk, a fault). */
  readonly trouble = signal<Problem | null>(null);
  /** Why something could not be taken back. */
  readonly refused = signal<Problem | null>(null);
  readonly onServer = computed(() => this.waiting.value.length === 0 && this.held.value.length === 0);
  private readonly listeners = new Set<(batch: Batch, value: CourseView | StationView) => void>();
  private readonly outcomes = new Map<string, (outcome: Outcome) => void>();
  private order = 0;
  private flying: string | null = null;
  private tries = 0;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private beating: ReturnType<typeof setInterval> | undefined;

  constructor(
    private readonly store: Store | null = theStore(),
    private readonly deliver: (batch: Batch) => Promise<Sent> = api.save,
    private readonly timing: Timing = TIMING,
  ) {}

  /** Takes over what pages that are gone left behind, and keeps telling that this page is open. Returns the call that ends it. */
  open(): () => void {
    this.beat();
    this.adopt();
    this.beating = setInterval(() => {
      this.beat();
      this.adopt();
    }, this.timing.beat);
    const now = () => this.now();
    const leave = () => this.drop(`${PAGE} ${this.client}`);
    const back = (event: PageTransitionEvent) => event.persisted && location.reload();
    const elsewhere = (event: StorageEvent) => this.takenOver(event);
    addEventListener("online", now);
    addEventListener("pagehide", leave);
    addEventListener("pageshow", back);
    addEventListener("storage", elsewhere);
    return () => {
      clearInterval(this.beating);
      clearTimeout(this.timer);
      removeEventListener("online", now);
      removeEventListener("pagehide", leave);
      removeEventListener("pageshow", back);
      removeEventListener("storage", elsewhere);
      leave();
    };
  }

  /** Called with each batch that the server has taken, and its answer. Returns the call that stops it. */
  listen(listener: (batch: Batch, value: CourseView | StationView) => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  /** Keeps a change and sends it as soon as can be. The promise tells the first that becomes of it. */
  add(change: Omit<Batch, "id" | "client" | "at">): { batch: Batch; outcome: Promise<Outcome> } {
    const batch: Batch = { ...change, id: `e${fresh()}`, client: this.client, at: Date.now() };
    const outcome = new Promise<Outcome>((resolve) => this.outcomes.set(batch.id, resolve));
    this.keep(batch, null);
    this.waiting.value = [...this.waiting.value, batch];
    // It waits with the others until the line is back, or behind what a person has to choose about.
    if (this.timer !== undefined || this.held.value.some((each) => place(each.batch) === place(batch))) this.tell(batch, "kept");
    this.send();
    return { batch, outcome };
  }

  /** Takes back a change that has not left yet; false where it may have. */
  cancel(id: string): boolean {
    const at = this.waiting.value.find((each) => each.id === id);
    if (!at || this.flying === id) return false;
    this.forget(id);
    this.waiting.value = this.waiting.value.filter((each) => each.id !== id);
    return true;
  }

  /** What a person chose about a batch that was held: send these edits again (looked at beside revision `base`), or let it go. */
  settle(id: string, edits: readonly Edit[], base: number, seen: Readonly<Record<string, number>>): void {
    const held = this.held.value.find((each) => each.batch.id === id);
    if (!held) return;
    this.forget(id);
    const again: Batch = { ...held.batch, id: `e${fresh()}`, client: this.client, edits, base, seen, at: Date.now() };
    together(() => {
      this.held.value = this.held.value.filter((each) => each !== held);
      if (edits.length > 0) {
        this.keep(again, null);
        this.waiting.value = [again, ...this.waiting.value];
      }
    });
    this.now();
  }

  /** Tries now, without waiting longer. */
  now(): void {
    this.tries = 0;
    clearTimeout(this.timer);
    this.timer = undefined;
    this.send();
  }

  /** The first batch that nothing of its own document stands in front of. */
  private next(): Batch | undefined {
    const shut = new Set(this.held.value.map((each) => place(each.batch)));
    return this.waiting.value.find((each) => !shut.has(place(each)));
  }

  private send(): void {
    if (this.flying !== null || this.timer !== undefined) return;
    const batch = this.next();
    if (!batch) return;
    this.flying = batch.id;
    void this.deliver(batch).then((answer) => this.answered(batch, answer));
  }

  private answered(batch: Batch, answer: Sent): void {
    this.flying = null;
    if (answer.kind === "ok") {
      this.tries = 0;
      this.trouble.value = null;
      this.forget(batch.id);
      together(() => {
        this.waiting.value = this.waiting.value.filter((each) => each.id !== batch.id);
        for (const listener of this.listeners) listener(batch, answer.value);
      });
      this.tell(batch, "saved");
    } else if (answer.kind === "away" || (answer.status >= 500 && this.tries < BROKEN_TRIES) || answer.status === 507) {
      this.trouble.value = answer.kind === "problem" ? answer.problem : null;
      for (const each of this.waiting.value) this.tell(each, "kept");
      const wait = Math.min(this.timing.most, this.timing.first * 2 ** this.tries);
      this.tries += 1;
      this.timer = setTimeout(() => {
        this.timer = undefined;
        this.send();
      }, wait);
    } else {
      this.tries = 0;
      this.trouble.value = null;
      const clash = answer.problem.kind === "stale-edit";
      const lost = batch.undo === null; // what was to be taken back still stands as it did; nothing to hold
      if (lost) this.keep(batch, answer.problem);
      else this.forget(batch.id);
      together(() => {
        this.waiting.value = this.waiting.value.filter((each) => each.id !== batch.id);
        if (lost) this.held.value = [...this.held.value, { batch, problem: answer.problem, clash }];
        else this.refused.value = answer.problem;
      });
      this.tell(batch, "held");
      for (const each of this.waiting.value) if (place(each) === place(batch)) this.tell(each, "kept");
    }
    this.send();
  }

  private tell(batch: Batch, outcome: Outcome): void {
    this.outcomes.get(batch.id)?.(outcome);
    if (outcome !== "kept") this.outcomes.delete(batch.id);
  }

  // What the browser keeps: one entry a batch, under the page that looks after it, in the order in which they were made

  private keep(batch: Batch, held: Problem | null): void {
    this.forget(batch.id);
    this.order += 1;
    const kept: Kept = { batch, held };
    this.homeless.value = !this.write(`${KEPT} ${this.client} ${String(this.order).padStart(8, "0")} ${batch.id}`, JSON.stringify(kept));
  }

  private forget(id: string): void {
    for (const key of this.keys(`${KEPT} ${this.client} `)) if (key.endsWith(` ${id}`)) this.drop(key);
  }

  private beat(): void {
    this.write(`${PAGE} ${this.client}`, String(Date.now()));
  }

  /** Takes over all that this browser keeps, whoever looked after it: for a browser in which no other page can be open. */
  adoptAll(): void {
    this.adopt(() => false);
  }

  private adopt(alive: (client: string) => boolean = (client) => this.alive(client)): void {
    const found: Kept[] = [];
    for (const key of this.keys(`${KEPT} `)) {
      const [client] = key.slice(KEPT.length + 1).split(" ");
      if (client === undefined || client === this.client || alive(client)) continue;
      const kept = read(this.store?.getItem(key) ?? null);
      if (kept && this.has(kept.batch.id)) continue; // taken before, where the browser had no room for it under our name
      if (kept) {
        found.push(kept);
        this.keep(kept.batch, kept.held); // before the old entry goes: a tab that is closed just here loses nothing
      }
      if (!kept || !this.homeless.value) this.drop(key);
    }
    if (found.length === 0) return;
    together(() => {
      const held = found.flatMap(({ batch, held: problem }) => (problem ? [{ batch, problem, clash: problem.kind === "stale-edit" }] : []));
      this.waiting.value = [...this.waiting.value, ...found.filter((each) => each.held === null).map((each) => each.batch)];
      this.held.value = [...this.held.value, ...held];
    });
    this.send();
  }

  private has(id: string): boolean {
    return [...this.waiting.value, ...this.held.value.map((each) => each.batch)].some((each) => each.id === id);
  }

  private alive(client: string): boolean {
    const told = Number(this.store?.getItem(`${PAGE} ${client}`) ?? Number.NaN);
    return Date.now() - told < this.timing.stale;
  }

  /** Another page thought that this one was gone, and looks after its batches now. */
  private takenOver(event: StorageEvent): void {
    const mine = `${KEPT} ${this.client} `;
    if (!event.key?.startsWith(mine) || event.newValue !== null) return;
    const id = event.key.split(" ").at(-1);
    this.waiting.value = this.waiting.value.filter((each) => each.id !== id || each.id === this.flying);
    this.held.value = this.held.value.filter((each) => each.batch.id !== id);
  }

  private keys(prefix: string): string[] {
    const all: string[] = [];
    for (let at = 0; this.store && at < this.store.length; at += 1) {
      const key = this.store.key(at);
      if (key?.startsWith(prefix)) all.push(key);
    }
    return all.sort();
  }

  private write(key: string, value: string): boolean {
    try {
      this.store?.setItem(key, value);
      return this.store !== null;
    } catch {
      return false; // full, or forbidden
    }
  }

  private drop(key: string): void {
    try {
      this.store?.removeItem(key);
    } catch {
      // A browser that forbids it kept nothing either.
    }
  }
}

const place = (batch: Batch) => `${batch.course} ${batch.station ?? ""}`;

function read(text: string | null): Kept | null {
  try {
    const kept = text === null ? null : (JSON.parse(text) as Kept);
    return kept?.batch?.id && Array.isArray(kept.batch.edits) ? kept : null;
  } catch {
    return null;
  }
}

function theStore(): Store | null {
  try {
    return typeof localStorage === "undefined" ? null : localStorage;
  } catch {
    return null;
  }
}

/** The outbox of this page. */
export const outbox = new Outbox();
effect(() => {
  line.wait(outbox.waiting.value.length, outbox.held.value.length);
});
