/** Two pages of the real model change one course on a real server at random. The second one's line drops requests and answers, and its tab
 * is closed now and then. What each did, saw and was told goes into a file; whoever started the server holds it against its history.
 *
 * Told by the environment: the server's ADDRESS, the COURSE, a SEED, how many EDITS each makes (or for how many SECONDS), and the OUT file. */
import { writeFileSync } from "node:fs";
import { expect, test, vi } from "vitest";
import { api, type Edit, type StationView } from "../src/api";
import { CourseModel } from "../src/models/course";
import { type Batch, Outbox, type Sent, type Store } from "../src/models/outbox";
import { setWho } from "../src/models/who";

const told = (name: string): string => {
  const value = process.env[name];
  if (!value) throw new Error(`${name} is not told`);
  return value;
};
const TIMING = { first: 2, most: 30, beat: 3_600_000, stale: 3_600_000 };

/** A generator of our own, so that a seed always gives the same choices (mulberry32, public domain). */
function dice(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

class Shelf implements Store {
  private readonly kept = new Map<string, string>();
  get length() {
    return this.kept.size;
  }
  key = (at: number) => [...this.kept.keys()][at] ?? null;
  getItem = (key: string) => this.kept.get(key) ?? null;
  setItem = (key: string, value: string) => void this.kept.set(key, value);
  removeItem = (key: string) => void this.kept.delete(key);
}

/** What one person did: an edit that sets one value nobody else sets, beside what stood there on their page; how it ended. */
type Deed = { who: string; place: string; value: string; saw: string | null; edit: Edit; end: "saved" | "let go" | "waits"; batch: string };

class Person {
  readonly deeds: Deed[] = [];
  readonly shelf = new Shelf();
  model: CourseModel;
  outbox: Outbox;
  drops = { requests: 0, answers: 0, tabs: 0, clashes: 0, sent: 0 };
  private count = 0;
  private alive = { yes: true };

  constructor(
    readonly who: string,
    private readonly course: string,
    private readonly roll: () => number,
    private readonly line: () => number,
    private readonly loss: number,
  ) {
    [this.outbox, this.model] = this.tab();
  }

  private tab(): [Outbox, CourseModel] {
    const alive = { yes: true };
    this.alive = alive;
    const outbox = new Outbox(this.shelf, (batch) => this.deliver(batch, alive), TIMING);
    outbox.listen((batch) => this.saved(batch));
    outbox.adoptAll();
    return [outbox, new CourseModel(this.course, outbox)];
  }

  private async deliver(batch: Batch, alive: { yes: boolean }): Promise<Sent> {
    if (this.line() < this.loss) {
      this.drops.requests += 1;
      return alive.yes ? { kind: "away" } : new Promise(() => {});
    }
    this.drops.sent += 1;
    const answer = await api.save(batch);
    if (!alive.yes) return new Promise(() => {}); // nobody is there to hear it
    if (this.line() >= this.loss) return answer;
    this.drops.answers += 1;
    return { kind: "away" };
  }

  private saved(batch: Batch): void {
    for (const deed of this.deeds) if (deed.batch === batch.id) deed.end = "saved";
  }

  /** The tab is closed with all that waits in it, and opened anew. */
  async reopen(): Promise<void> {
    this.drops.tabs += 1;
    this.alive.yes = false;
    this.model.close();
    [this.outbox, this.model] = this.tab();
    await this.look();
  }

  async look(): Promise<void> {
    setWho(this.who);
    await this.model.load();
  }

  private pick<T>(items: readonly T[]): T | undefined {
    return items[Math.floor(this.roll() * items.length)];
  }

  /** One change, of a random kind, as this person would make it on what the page shows. */
  act(): void {
    setWho(this.who);
    this.count += 1;
    const value = `${this.who} ${this.count}`;
    const at = this.pick(this.model.stations.value);
    const view = this.model.view.value;
    if (!at || !view) return;
    const number = at.station.number;
    const surface = this.pick(at.station.surfaces);
    const kind = this.roll();
    if (kind < 0.3) this.do(at, "name", value, at.station.name, { do: "rename-station", station: number, name: value });
    else if (kind < 0.5) {
      const id = `u-${this.who}-${this.count}`;
      this.do(at, `surface ${id}`, value, null, { do: "add-surface", station: number, id, surface: { name: value } as never });
    } else if (kind < 0.75 && surface)
      this.do(at, `surface ${surface.id}`, value, `${surface.name}|${surface.part ?? ""}`, {
        do: "change-surface",
        station: number,
        surface: surface.id,
        set: { part: value } as never,
      });
    else if (kind < 0.85 && surface && at.station.surfaces.length > 2)
      this.do(at, `surface ${surface.id}`, "gone", `${surface.name}|${surface.part ?? ""}`, {
        do: "remove-surface",
        station: number,
        surface: surface.id,
      });
    else this.do(null, "title", value, view.course.title, { do: "rename-course", title: value });
  }

  private do(at: StationView | null, place: string, value: string, saw: string | null, edit: Edit): void {
    const before = this.outbox.waiting.value.length;
    if (at) void this.model.editStation(at, [edit]);
    else void this.model.editCourse([edit]);
    const batch = this.outbox.waiting.value[before];
    if (!batch) throw new Error("a change was refused");
    this.deeds.push({ who: this.who, place: `${at?.station.id ?? ""}/${place}`, value, saw, edit, end: "waits", batch: batch.id });
  }

  /** Chooses about what is held: theirs or mine, as it falls. */
  choose(): void {
    for (const held of this.outbox.held.value) {
      setWho(this.who);
      const deed = this.deeds.find((each) => each.batch === held.batch.id);
      this.drops.clashes += 1;
      const gone = held.problem.clashes.some((each) => each.places.length === 0);
      const mine = held.clash && !gone && this.roll() < 0.5;
      if (mine && deed) deed.saw = seen(deed, held.problem.theirs as Record<string, unknown> | null);
      else if (deed) deed.end = "let go";
      const before = new Set(this.outbox.waiting.value.map((each) => each.id));
      this.model.settle(held, mine ? held.batch.edits : []);
      const again = this.outbox.waiting.value.find((each) => !before.has(each.id));
      if (deed && again) deed.batch = again.id;
    }
  }
}

/** What stands in the other's version where this deed wants to put its value. */
function seen(deed: Deed, theirs: Record<string, unknown> | null): string | null {
  if (deed.place.endsWith("/name")) return (theirs?.name ?? null) as string | null;
  if (deed.place === "/title") return (theirs?.title ?? null) as string | null;
  const id = deed.place.split(" ").at(-1);
  const found = (theirs?.surfaces as { id: string; name: string; part: string | null }[] | undefined)?.find((each) => each.id === id);
  return found ? `${found.name}|${found.part ?? ""}` : null;
}

test("two people at once agree at the end, and no change that was taken is missing", async () => {
  const address = told("ADDRESS");
  const real = fetch;
  vi.stubGlobal("fetch", (path: string, init?: RequestInit) => real(address + path, init));
  // Each takes from dice of their own, so that no answer's place in time changes who turns when, or whether a tab is closed.
  const seed = Number(told("SEED"));
  const [roll, ...own] = [0, 1, 2, 3, 4].map((each) => dice(seed * 100 + each)) as [() => number, ...(() => number)[]];
  const person = (who: string, at: number, loss: number) =>
    new Person(who, told("COURSE"), own[at] as () => number, own[at + 1] as () => number, loss);
  const people = [person("Ana", 0, 0), person("Ben", 2, 0.25)];
  await Promise.all(people.map((each) => each.look()));
  const until = process.env.SECONDS ? Date.now() + Number(process.env.SECONDS) * 1000 : null;
  const most = until === null ? Number(told("EDITS")) * 2 : Number.POSITIVE_INFINITY;
  for (let turn = 0; turn < most && (until === null || Date.now() < until); turn += 1) {
    const person = people[roll() < 0.5 ? 0 : 1] as Person;
    const [chooses, looks, closes] = [roll() < 0.3, roll() < 0.3, roll() < 0.04];
    person.act();
    if (chooses) person.choose();
    if (looks) await person.look();
    // In the middle the tab is closed for certain: a run that showed nothing of it would prove nothing of it.
    if (turn === 40 || (person.who === "Ben" && closes)) await (people[1] as Person).reopen();
    // For so many edits: as fast as can be. For so many seconds: about five a second, faster than two people but not than a server.
    if (until !== null || roll() < 0.5) await new Promise((resolve) => setTimeout(resolve, roll() * (until === null ? 12 : 400)));
  }
  await vi.waitFor(
    async () => {
      for (const person of people) person.choose();
      for (const person of people) person.outbox.now();
      expect(people.flatMap((each) => [...each.outbox.waiting.value, ...each.outbox.held.value])).toEqual([]);
    },
    { timeout: 300_000, interval: 20 },
  );
  for (const person of people) await person.look();
  const shown = people.map((each) => ({
    course: each.model.view.value?.course,
    stations: each.model.stations.value.map((at) => at.station),
  }));
  expect(shown[1]).toEqual(shown[0]);
  for (const person of people) person.model.close();
  writeFileSync(
    told("OUT"),
    JSON.stringify({ deeds: people.flatMap((each) => each.deeds), shown: shown[0], drops: people.map((each) => each.drops) }),
  );
});
