import { afterEach, expect, test, vi } from "vitest";
import { api, type CourseView, type Job } from "../src/api";
import { AskModel } from "../src/models/ask";
import { CourseModel, nextStep } from "../src/models/course";
import { timeLeft } from "../src/models/job";
import { line } from "../src/models/line";
import { Outbox } from "../src/models/outbox";
import { read, to } from "../src/models/route";
import { setWho, who } from "../src/models/who";
import { problem, serve } from "./server";

afterEach(() => vi.unstubAllGlobals());

test.each([
  ["/", { page: "courses" }],
  ["/take-in", { page: "take-in" }],
  ["/course/spring", { page: "course", course: "spring" }],
  ["/course/spring/12", { page: "station", course: "spring", number: 12 }],
  ["/course/spring/0", { page: "nowhere" }],
  ["/course/spring/x", { page: "nowhere" }],
  ["/course/spring/1/2", { page: "nowhere" }],
  ["/elsewhere", { page: "nowhere" }],
  ["/course/%E0%A4", { page: "course", course: "%E0%A4" }],
])("the address %s is its page", (path, page) => {
  expect(read(path)).toEqual(page);
});

test("every course name survives the way through an address", () => {
  for (const course of ["spring", "a/b", "ä ö", "100%"])
    expect(read(to.station(course, 3))).toEqual({ page: "station", course, number: 3 });
});

test.each([
  [null, ""],
  [3, "nearly done"],
  [34, "about 40 seconds left"],
  [89, "about 90 seconds left"],
  [100, "about 2 minutes left"],
  [3600, "about 60 minutes left"],
])("%s seconds left are told as “%s”", (seconds, words) => {
  expect(timeLeft(seconds)).toBe(words);
});

const view = (change: Partial<CourseView> & { state?: string }): CourseView =>
  ({
    course: { name: "spring", state: change.state ?? "drafted" },
    plates: [{ number: 1 }],
    findings: [],
    editions: [],
    unpublished: true,
    job: null,
    ...change,
  }) as unknown as CourseView;
const finding = (kind: string, severity: string) =>
  [{ kind, severity, station: 1, about: "", said: [], surface: null }] as unknown as CourseView["findings"];

const everywhere = (kind: string) =>
  finding(kind, "blocks").map((each) => ({ ...each, station: null })) as unknown as CourseView["findings"];

test.each<[string, CourseView, string]>([
  ["a job is open", view({ job: { state: "working" } as Job }), "wait"],
  ["nobody listened yet", view({ state: "taken in" }), "draft"],
  ["no station was found", view({ plates: [] }), "no-station"],
  ["a finish is missing", view({ findings: finding("no-finish", "blocks") }), "look"],
  ["something is not accepted", view({ findings: finding("not-accepted", "blocks") }), "accept"],
  ["only what holds everywhere is not accepted", view({ findings: everywhere("not-accepted") }), "accept-rules"],
  ["only a warning is left", view({ findings: finding("no-overshoot", "warning") }), "publish"],
  ["it changed since the edition", view({ editions: [{}] as CourseView["editions"] }), "republish"],
  ["the edition says it all", view({ editions: [{}] as CourseView["editions"], unpublished: false }), "nothing"],
])("what to do next when %s", (_, course, step) => {
  expect(nextStep(course)).toBe(step);
});

test("a name goes with every request, in any letters", async () => {
  setWho("  Jörg   B. ");
  const asked = serve(() => ({ json: { courses: [] } }));
  await api.courses();
  expect(decodeURIComponent(asked[0]?.headers["Annotator-Who"] ?? "")).toBe("Jörg B.");
  setWho("");
  expect(who.value).toBe("");
});

test("the line is away while nobody answers, saving while a write is open, and saved after it", async () => {
  serve(() => "no line");
  expect(await api.courses()).toEqual({ kind: "away" });
  expect(line.state.value).toBe("away");
  let answer: (value: { json: unknown }) => void = () => {};
  serve(() => new Promise((resolve) => (answer = resolve)));
  const write = api.accept("spring", 1);
  await Promise.resolve();
  answer({ json: {} });
  await write;
  expect(line.state.value).toBe("saved");
});

test("an edit that the server refuses is held with its sentence, and how things stand is shown", async () => {
  const asked = serve(({ method, path }) => {
    if (method === "POST") return { status: 409, json: problem("Someone else changed it.", { kind: "stale-edit", current: 4 }) };
    return {
      json: path.endsWith("/stations") ? { stations: [] } : { ...view({}), course: { ...view({}).course, blanket: [] }, revision: 3 },
    };
  });
  const model = new CourseModel("spring", new Outbox(null));
  await model.load();
  expect(await model.editCourse([{ do: "accept-course" }])).toBe(false);
  expect(model.held.value[0]?.problem.sentence).toBe("Someone else changed it.");
  expect(asked.at(-1)?.method).toBe("GET");
  expect(asked.find((each) => each.method === "POST")?.body).toMatchObject({ base: 3, edits: [{ do: "accept-course" }] });
  model.close();
});

test("of two questions about a still only the last one's answer is shown", async () => {
  const waiting: ((value: { json: unknown }) => void)[] = [];
  serve(() => new Promise((resolve) => waiting.push(resolve)));
  const ask = new AskModel("spring", "t1", "s1");
  const first = ask.at({ x: 1, y: 1 });
  const second = ask.at({ x: 2, y: 2 });
  waiting[1]?.({ json: { ruling: "in play" } });
  await second;
  waiting[0]?.({ json: { ruling: "out of play" } });
  await first;
  expect(ask.asked.value?.point).toEqual({ x: 2, y: 2 });
  expect(ask.asked.value?.answer?.ruling).toBe("in play");
});
