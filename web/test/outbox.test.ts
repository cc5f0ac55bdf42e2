/** The outbox: what is kept, in which order it goes, and what becomes of it when the line drops, the page closes or the server refuses. */
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import type { Edit } from "../src/api";
import { type Batch, Outbox, type Sent, type Store } from "../src/models/outbox";
import { problem } from "./server";

class Shelf implements Store {
  readonly kept = new Map<string, string>();
  full = false;
  get length() {
    return this.kept.size;
  }
  key(at: number) {
    return [...this.kept.keys()][at] ?? null;
  }
  getItem(key: string) {
    return this.kept.get(key) ?? null;
  }
  setItem(key: string, value: string) {
    if (this.full) throw new DOMException("full", "QuotaExceededError");
    this.kept.set(key, value);
  }
  removeItem(key: string) {
    this.kept.delete(key);
  }
}

const QUICK = { first: 1, most: 4, beat: 3_600_000, stale: 90_000 };
const ok = (): Sent => ({ kind: "ok", value: {} as never });
const away = (): Sent => ({ kind: "away" });
const refused = (status: number, kind = "input-error"): Sent => ({
  kind: "problem",
  status,
  problem: problem("No.", { kind, clashes: [] }) as never,
});
const rename = (name: string): Edit => ({ do: "rename-station", station: 1, name });
const change = (name: string, station: string | null = "t1") => ({
  course: "spring",
  station,
  base: 1,
  seen: {},
  edits: [rename(name)],
  undo: null,
  who: "Ana",
});
const names = (batches: readonly Batch[]) => batches.map((each) => (each.edits[0] as { name: string }).name);

let opened: (() => void)[] = [];
beforeEach(() => {
  opened = [];
});
afterEach(() => {
  for (const close of opened) close();
});
function open(store: Store | null, deliver: (batch: Batch) => Promise<Sent>): Outbox {
  const outbox = new Outbox(store, deliver, QUICK);
  opened.push(outbox.open());
  return outbox;
}
/** A page that is gone: its browser wrote down its last change, and nothing more. */
function crashed(shelf: Shelf, box: Outbox): void {
  shelf.removeItem(`annotator page ${box.client}`);
}

test("what is added is kept before it is sent, goes in order, and is let go when the server has it", async () => {
  const shelf = new Shelf();
  const went: Batch[] = [];
  const outbox = open(shelf, async (batch) => {
    expect([...shelf.kept.keys()].filter((key) => key.endsWith(batch.id))).toHaveLength(1);
    went.push(batch);
    return ok();
  });
  const outcomes = ["a", "b", "c"].map((name) => outbox.add(change(name)).outcome);
  expect(await Promise.all(outcomes)).toEqual(["saved", "saved", "saved"]);
  expect(names(went)).toEqual(["a", "b", "c"]);
  expect([...shelf.kept.keys()].filter((key) => key.startsWith("annotator outbox"))).toEqual([]);
});

test.each([
  ["a request that never arrives", away()],
  ["a full disk", refused(507, "library-trouble")],
  ["a fault of the server", refused(500, "bug")],
])("%s is tried again under the same name until it is done, and what comes after waits its turn", async (_, answer) => {
  const went: Batch[] = [];
  let down = 3;
  const outbox = open(new Shelf(), async (batch) => {
    went.push(batch);
    down -= 1;
    return down >= 0 ? answer : ok();
  });
  expect(await outbox.add(change("a")).outcome).toBe("kept");
  outbox.add(change("b"));
  await vi.waitFor(() => expect(outbox.onServer.value).toBe(true));
  expect(names(went)).toEqual(["a", "a", "a", "a", "b"]);
  expect(new Set(went.map((each) => each.id)).size).toBe(2);
});

test("what a closed page left is sent by the next one, under the name that it had", async () => {
  const shelf = new Shelf();
  const first = open(shelf, async () => away());
  const { batch } = first.add(change("a"));
  first.add(change("b"));
  for (const close of opened.splice(0)) close();
  const went: Batch[] = [];
  const second = open(shelf, async (each) => {
    went.push(each);
    return ok();
  });
  await vi.waitFor(() => expect(second.onServer.value).toBe(true));
  expect(names(went)).toEqual(["a", "b"]);
  expect(went[0]).toEqual(batch);
});

test("a page that is open keeps its own; one that crashed has heirs", async () => {
  const shelf = new Shelf();
  const living = open(shelf, async () => away());
  living.add(change("a"));
  expect(open(shelf, async () => ok()).waiting.value).toEqual([]);
  crashed(shelf, living);
  const heir = open(shelf, async () => away());
  expect(names(heir.waiting.value)).toEqual(["a"]);
});

test("a change that meets another is held, what comes behind it for the same station waits, and other stations go on", async () => {
  const went: Batch[] = [];
  const shelf = new Shelf();
  const outbox = open(shelf, async (batch) => {
    went.push(batch);
    return names([batch])[0] === "clash" && batch.base === 1 ? refused(409, "stale-edit") : ok();
  });
  expect(await outbox.add(change("clash")).outcome).toBe("held");
  expect(await outbox.add(change("behind")).outcome).toBe("kept");
  expect(await outbox.add(change("elsewhere", "t2")).outcome).toBe("saved");
  expect(names(outbox.waiting.value)).toEqual(["behind"]);
  const [held] = outbox.held.value;
  expect(held?.clash).toBe(true);
  outbox.settle(held?.batch.id ?? "", held?.batch.edits ?? [], 7, {});
  await vi.waitFor(() => expect(outbox.onServer.value).toBe(true));
  expect(names(went)).toEqual(["clash", "elsewhere", "clash", "behind"]);
  expect(went[2]?.base).toBe(7);
  expect(went[2]?.id).not.toBe(went[0]?.id);
});

test("what was held is still held, with its reason, after the page was closed", async () => {
  const shelf = new Shelf();
  const first = open(shelf, async () => refused(422));
  await first.add(change("a")).outcome;
  for (const close of opened.splice(0)) close();
  const second = open(shelf, async () => ok());
  expect(second.held.value.map((each) => [names([each.batch])[0], each.problem.sentence, each.clash])).toEqual([["a", "No.", false]]);
  second.settle(second.held.value[0]?.batch.id ?? "", [], 1, {});
  expect(second.onServer.value).toBe(true);
  expect([...shelf.kept.keys()].filter((key) => key.startsWith("annotator outbox"))).toEqual([]);
});

test("a fault that stays is held after some tries, so that the rest can go on", async () => {
  const outbox = open(new Shelf(), async (batch) => (names([batch])[0] === "poison" ? refused(500, "bug") : ok()));
  outbox.add(change("poison"));
  outbox.add(change("b", "t2"));
  await vi.waitFor(() => expect(outbox.waiting.value).toEqual([]));
  expect(outbox.held.value).toHaveLength(1);
});

test("a change that has not left can be cancelled, one that is on its way cannot", async () => {
  let answer: (sent: Sent) => void = () => {};
  const outbox = open(new Shelf(), () => new Promise((resolve) => (answer = resolve)));
  const first = outbox.add(change("a"));
  const second = outbox.add(change("b"));
  expect(outbox.cancel(first.batch.id)).toBe(false);
  expect(outbox.cancel(second.batch.id)).toBe(true);
  answer(ok());
  await first.outcome;
  expect(outbox.onServer.value).toBe(true);
});

test.each([
  ["is full", Object.assign(new Shelf(), { full: true })],
  ["keeps nothing", null],
])("a browser that %s still sends, and says that the page must stay open", async (_, shelf) => {
  const outbox = open(shelf, async () => ok());
  const { outcome } = outbox.add(change("a"));
  expect(outbox.homeless.value).toBe(true);
  expect(await outcome).toBe("saved");
});

test("what is kept and cannot be read is left aside", () => {
  const shelf = new Shelf();
  shelf.setItem("annotator outbox pgone 00000001 ex", "{");
  shelf.setItem("annotator outbox pgone 00000002 ey", '{"batch":null}');
  expect(open(shelf, async () => ok()).onServer.value).toBe(true);
});
