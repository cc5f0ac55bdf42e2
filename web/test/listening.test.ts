import fc from "fast-check";
import { afterEach, expect, test, vi } from "vitest";
import type { HeardName, Station, StationView, WalkWord, Words, WordsEdit } from "../src/api";
import { clipAt, fine, neighbour, pieceAt, pieces, room } from "../src/listening/line";
import { isOpen, waiting, whatIsNew } from "../src/listening/news";
import { Playing } from "../src/listening/playing";
import { foreseen, Spoken } from "../src/listening/spoken";
import {
  alike,
  around,
  change,
  dressed,
  nearestGap,
  nextGap,
  paragraphs,
  placesOf,
  runIn,
  textOf,
  whole,
  wordAt,
} from "../src/listening/text";
import { PATIENCE, problem, serve } from "./server";

afterEach(() => {
  vi.unstubAllGlobals();
  vi.useRealTimers();
  localStorage.clear();
});

const SAID = "Now the swing runs, um, hands only on the runs. Then we";

/** Half a second a word, with a tenth of silence after each. */
function spoken(text = SAID): WalkWord[] {
  return text.split(" ").map((word, at) => ({
    text: word,
    start: at / 2,
    end: at / 2 + 0.4,
    first: at,
    last: at + 1,
    by: "heard",
    sure: 0.9,
  }));
}

const station = (id: string, start: number, end: number, number = Number(id.slice(1))): StationView =>
  ({ station: { id, number, start, end, name: `station ${id}`, surfaces: [], stills: [] }, revision: 1 }) as unknown as StationView;

test.each([
  [-1, -1],
  [0, 0],
  [0.49, 0],
  [0.5, 1],
  [100, 11],
])("at %s s the word is the %sth", (time, place) => {
  expect(wordAt(spoken(), time)).toBe(place);
});

test("the words of a span are those that start in it", () => {
  expect(runIn(spoken(), { start: 0.5, end: 1.5 })).toEqual({ from: 1, to: 2 });
  expect(runIn(spoken(), { start: 40, end: 50 })).toBeNull();
  expect(runIn([], { start: 0, end: 50 })).toBeNull();
});

test("paragraphs hold every word once, in order, whatever the pauses are", () => {
  fc.assert(
    fc.property(fc.array(fc.tuple(fc.double({ min: 0, max: 4, noNaN: true }), fc.boolean()), { minLength: 1, maxLength: 400 }), (gaps) => {
      let time = 0;
      const words = gaps.map(([gap, stop], at) => {
        time += gap;
        return { ...(spoken("x")[0] as WalkWord), start: time, end: time + 0.1, text: stop ? "x." : "x", first: at, last: at + 1 };
      });
      const parts = paragraphs(words, { from: 0, to: words.length - 1 });
      expect(parts.flatMap((part) => Array.from({ length: part.to - part.from + 1 }, (_, at) => part.from + at))).toEqual(
        words.map((_, at) => at),
      );
      expect(Math.max(...parts.map((part) => part.to - part.from))).toBeLessThanOrEqual(180);
    }),
  );
});

test.each<[string, string, WordsEdit | null]>([
  ["another word", "rungs,", { first: 3, last: 4, was: "runs,", parts: [{ first: 3, last: 4, text: "rungs," }] }],
  ["nothing", "  ", { first: 3, last: 4, was: "runs,", parts: [{ first: 3, last: 4, text: "" }] }],
  ["several words", " rung \n set, ", { first: 3, last: 4, was: "runs,", parts: [{ first: 3, last: 4, text: "rung set," }] }],
  ["the same", " runs,  ", null],
  ["markup", "<b>runs</b>", { first: 3, last: 4, was: "runs,", parts: [{ first: 3, last: 4, text: "<b>runs</b>" }] }],
])("a change of one word into %s", (_, text, edit) => {
  expect(change(spoken(), { from: 3, to: 3 }, text)).toEqual(edit);
});

test("a change of part of what was written together keeps the rest of it", () => {
  const words = spoken();
  words.splice(
    2,
    2,
    ...["swing", "rung", "set,"].map((text, at) => ({
      ...(words[2] as WalkWord),
      text,
      start: 1 + at * 0.3,
      first: 2,
      last: 4,
      by: "hand" as const,
    })),
  );
  expect(whole(words, { from: 3, to: 3 })).toEqual({ from: 2, to: 4 });
  expect(change(words, { from: 3, to: 3 }, "ring")).toEqual({
    first: 2,
    last: 4,
    was: "swing rung set,",
    parts: [{ first: 2, last: 4, text: "swing ring set," }],
  });
});

test("the same words elsewhere are found, whatever stands around them", () => {
  expect(alike(spoken(), { from: 3, to: 3 })).toEqual([{ from: 9, to: 9 }]);
  expect(alike(spoken("A a"), { from: 0, to: 0 })).toEqual([]);
});

test.each([
  ["runs,", "rungs", "rungs,"],
  ["Runs.", "rungs", "Rungs."],
  ["“runs”", "Rungs", "“Rungs”"],
  ["runs,", "", ""],
  ["أهلا", "سلام", "سلام"],
])("%s written as %s becomes %s", (old, text, now) => {
  expect(dressed(old, text)).toBe(now);
});

test("a border stops at the gap between words, and goes from gap to gap", () => {
  const words = spoken();
  expect(nearestGap(words, 1.3)).toBeCloseTo(1.45);
  expect(nextGap(words, 1.45, 1)).toBeCloseTo(1.95);
  expect(nextGap(words, 1.45, -1)).toBeCloseTo(0.95);
  expect(nextGap(words, 99, 1)).toBeNull();
  expect(nextGap([], 3, 1)).toBeNull();
  expect(nearestGap([], 3)).toBe(3);
  expect(around(words, 1.45, 2)).toEqual({ before: "the swing", after: "runs, um," });
});

test("going from gap to gap never stands still and never turns round", () => {
  const times = fc.array(fc.tuple(fc.double({ min: 0, max: 2, noNaN: true }), fc.double({ min: 0, max: 1, noNaN: true })), {
    minLength: 1,
    maxLength: 30,
  });
  fc.assert(
    fc.property(times, fc.double({ min: -1, max: 40, noNaN: true }), fc.constantFrom<1 | -1>(1, -1), (spans, from, towards) => {
      let end = 0;
      const words = spans.map(([gap, length]) => {
        const word = { ...(spoken("x")[0] as WalkWord), start: end + gap, end: end + gap + length };
        end = word.end;
        return word;
      });
      const next = nextGap(words, from, towards);
      if (next !== null) expect((next - from) * towards).toBeGreaterThan(0);
    }),
  );
});

test("a name that was heard wrong stands where it still reads so", () => {
  const name = { heard: "swing runs", name: "swing rungs", at: [1], state: "proposed" } as unknown as HeardName;
  expect(placesOf(spoken(), name)).toEqual([{ from: 2, to: 3 }]);
  const corrected = spoken().map((word, at) => (at === 3 ? { ...word, text: "rungs,", by: "hand" as const } : word));
  expect(placesOf(corrected, name)).toEqual([]);
});

test("the walk falls into stations and what lies between them", () => {
  const silent = () => false;
  const all = pieces([station("t2", 40, 60), station("t1", 10, 39.5)], 100, silent);
  expect(all.map((piece) => [piece.at?.station.id ?? null, piece.start, piece.end])).toEqual([
    [null, 0, 10],
    ["t1", 10, 39.5],
    ["t2", 40, 60],
    [null, 60, 100],
  ]);
  expect(pieces([station("t1", 10, 39.5), station("t2", 40, 60)], 60, () => true)).toHaveLength(4);
  expect(pieceAt(all, 5)?.at).toBeNull();
  expect(pieceAt(all, 39.7)?.at?.station.id).toBe("t1");
  expect(pieceAt(all, 1000)?.start).toBe(60);
  expect(pieces([], 0, silent)).toEqual([]);
});

test("a border that two stations share moves for both, and not past either", () => {
  const all = [station("t1", 0, 20), station("t2", 20, 50), station("t3", 55, 70)];
  const second = all[1] as StationView;
  expect(neighbour(all, second, "start")?.station.id).toBe("t1");
  expect(neighbour(all, second, "end")).toBeUndefined();
  expect(room(all, second, "start", 100)).toEqual({ start: 0, end: 50 });
  expect(room(all, second, "end", 100)).toEqual({ start: 20, end: 100 });
});

test.each([
  [0, "0:00.0"],
  [59.96, "0:59.9"],
  [252.3, "4:12.3"],
  [3723.5, "1:02:03.5"],
])("%s s is told as %s", (seconds, told) => {
  expect(fine(seconds)).toBe(told);
});

const clips = [
  { number: 1, start_s: 0, duration_s: 10, proxy: "aa", title: "one" },
  { number: 2, start_s: 10, duration_s: 5, proxy: "bb", title: "two" },
] as unknown as Parameters<Playing["of"]>[0];

test("the clip at a time of the walk is the one that runs then", () => {
  expect([0, 9.99, 10, 14, 99, -1].map((time) => clipAt(clips, time)?.number)).toEqual([1, 1, 2, 2, 2, 1]);
});

/** As much of a video element as is needed: it shows the last frame that is not after what is sought. */
function film(times: readonly number[]) {
  const video = document.createElement("video") as HTMLVideoElement;
  let callbacks: ((now: number, told: { mediaTime: number }) => void)[] = [];
  let current = 0;
  const show = () => {
    const due = times.findLast((time) => time <= current + 1e-9) ?? 0;
    const now = callbacks;
    callbacks = [];
    for (const each of now) each(0, { mediaTime: due });
  };
  Object.defineProperties(video, {
    readyState: { get: () => 4 },
    seeking: { get: () => false },
    currentTime: {
      get: () => current,
      set: (time: number) => {
        current = time;
        queueMicrotask(show);
      },
    },
    requestVideoFrameCallback: { value: (call: (typeof callbacks)[number]) => callbacks.push(call) },
    cancelVideoFrameCallback: { value: () => {} },
    pause: { value: () => {} },
    play: { value: () => Promise.resolve() },
  });
  return video;
}

test("steps go from frame to frame at a rate that varies, and over the border of two clips", async () => {
  const one = [0, 0.033, 0.1, 0.8, 9.9];
  const two = [0, 0.04, 0.5];
  const playing = new Playing("spring", async (clip) => (clip === 1 ? one : two));
  playing.of(clips);
  const first = playing.attach(film(one));
  playing.seek(0.05);
  expect(await playing.shown()).toEqual({ clip: 1, time_s: 0.033 });
  expect(playing.time.value).toBe(0.05);
  await playing.step(1);
  expect(playing.time.value).toBe(0.1);
  await Promise.all([playing.step(1), playing.step(1)]);
  expect(playing.time.value).toBe(9.9);
  void playing.step(1);
  await vi.waitFor(() => expect(playing.clip.value?.number).toBe(2), PATIENCE);
  expect(playing.time.value).toBe(10);
  first();
});

test("steps back stop at the first frame of the walk", async () => {
  const times = [0, 0.5, 1];
  const playing = new Playing("spring", async () => times);
  playing.of(clips);
  playing.attach(film(times));
  playing.seek(0.6);
  expect(await playing.shown()).toEqual({ clip: 1, time_s: 0.5 });
  await Promise.all([playing.step(-1), playing.step(-1), playing.step(-1)]);
  expect(playing.time.value).toBe(0);
  expect(await playing.shown()).toEqual({ clip: 1, time_s: 0 });
});

const view = (words: WalkWord[]): Words => ({ revision: 1, words, corrections: [], changed: true });

test("a change of words is shown at once and kept until the server is back", async () => {
  let there = false;
  const asked = serve(({ method }) => {
    if (!there) return "no line";
    return { json: method === "POST" ? { words: view(spoken("Now the swing rungs,")), back: [] } : view(spoken()) };
  });
  const model = new Spoken("spring");
  model.words.value = spoken();
  const edit = change(spoken(), { from: 3, to: 3 }, "rungs,") as WordsEdit;
  const done = model.edit([edit]);
  expect(textOf(model.words.value, { from: 0, to: 3 })).toBe("Now the swing rungs,");
  await vi.waitFor(() => expect(asked).toHaveLength(1), PATIENCE);
  model.close();
  there = true;
  const next = new Spoken("spring");
  expect(next.kept.value).toBe(1);
  await next.load();
  await vi.waitFor(() => expect(next.kept.value).toBe(0), PATIENCE);
  expect(asked.filter((each) => each.method === "POST").at(-1)?.body).toEqual({ edits: [edit] });
  expect(localStorage.getItem("annotator words spring")).toBeNull();
  void done;
});

test("two people's changes of the same words are both shown, and one can take theirs or mine", async () => {
  const met = problem("changed", { kind: "stale-edit", mine: { text: "poles" }, theirs: { text: "logs" } });
  let refuse = true;
  const asked = serve(({ method }) => {
    if (method !== "POST") return { json: view(spoken()) };
    return refuse ? { status: 409, json: met } : { json: { words: view(spoken()), back: [] } };
  });
  const model = new Spoken("spring");
  model.words.value = spoken();
  expect(await model.edit([change(spoken(), { from: 3, to: 3 }, "poles") as WordsEdit])).toBeNull();
  expect(model.meeting.value).toMatchObject({ mine: "poles", theirs: "logs" });
  refuse = false;
  expect(await model.settle(true)).toEqual({ back: [] });
  expect(asked.filter((each) => each.method === "POST").at(-1)?.body).toMatchObject({ edits: [{ was: "logs", first: 3, last: 4 }] });
  expect(model.meeting.value).toBeNull();
});

test("words that were asked for before a change and come after it do not take it back", async () => {
  let late = () => {};
  const slow = new Promise<void>((done) => {
    late = done;
  });
  const edit = change(spoken(), { from: 3, to: 3 }, "rungs,") as WordsEdit;
  const now = foreseen(spoken(), edit);
  serve(async ({ method }) => {
    if (method === "POST") return { json: { words: { ...view(now), revision: 2 }, back: [] } };
    await slow;
    return { json: view(spoken()) };
  });
  const model = new Spoken("spring");
  model.words.value = spoken();
  const asked = model.load();
  await model.edit([edit]);
  late();
  await asked;
  expect(textOf(model.words.value, { from: 0, to: 3 })).toBe("Now the swing rungs,");
});

test("what is foreseen holds the other words, whatever is written", () => {
  const text = fc.array(fc.constantFrom("a", "<i>", "سلام", "x".repeat(80)), { maxLength: 4 }).map((each) => each.join(" "));
  fc.assert(
    fc.property(fc.integer({ min: 0, max: 11 }), fc.integer({ min: 1, max: 4 }), text, (first, length, written) => {
      const last = Math.min(12, first + length);
      const now = foreseen(spoken(), { first, last, was: "", parts: [{ first, last, text: written }] });
      const plain = written.split(" ").filter(Boolean);
      expect(now.map((word) => word.text)).toEqual([...SAID.split(" ").slice(0, first), ...plain, ...SAID.split(" ").slice(last)]);
      expect(now.every((word, at) => at === 0 || word.start >= (now[at - 1]?.start ?? 0))).toBe(true);
    }),
  );
});

test("what a new reading proposes is told, what was accepted is not news", () => {
  const surface = (id: string, name: string, state = "draft", ruling = "in") => ({
    id,
    name,
    state,
    ruling,
    part: null,
    role: "route",
    said: [],
  });
  const at = (id: string, ...surfaces: unknown[]) => {
    const made = station(id, 0, 10);
    return { ...made.station, surfaces } as unknown as Station;
  };
  const before = [at("t1", surface("u1", "red bar", "accepted"), surface("u2", "net")), at("t2")];
  const after = [
    at("t1", surface("u1", "red bar", "accepted"), surface("u2", "net", "draft", "out"), surface("u3", "rope")),
    at("t3", surface("u4", "mat")),
  ];
  expect(whatIsNew(before, before)).toEqual([]);
  expect(
    whatIsNew(before, after).map((each) => [each.id, each.kind, each.added.map((line) => line.id), each.gone.map((line) => line.id)]),
  ).toEqual([
    ["t1", "same", ["u2", "u3"], []],
    ["t3", "new", ["u4"], []],
    ["t2", "gone", [], []],
  ]);
  const [first] = whatIsNew(before, after);
  const open = (now: Station) => (first ? waiting(first, now).map((each) => [each.line.id, each.twin?.id ?? null]) : null);
  expect(open(after[0] as Station)).toEqual([
    ["u2", null],
    ["u3", null],
  ]);
  const taken = at("t1", surface("u1", "red bar", "accepted"), surface("u2", "net", "accepted"));
  expect(open(taken)).toEqual([]);
  expect(isOpen(first ? [first] : [], [taken])).toBe(false);
  expect(open(at("t1", surface("u9", "net", "accepted"), surface("u2", "net", "draft", "out")))).toEqual([["u2", "u9"]]);
  expect(isOpen(whatIsNew(before, after), [taken])).toBe(true);
});
