/** The course page: steps and what is next, stations in their order, and the whole under one model with changes that are on their way. */
import { cleanup, fireEvent, render, screen } from "@testing-library/preact";
import { afterEach, expect, test, vi } from "vitest";
import type { CourseView, Edit, StationView } from "../src/api";
import { Choices, Others } from "../src/components/choices";
import { Everywhere } from "../src/components/everywhere";
import { StationList } from "../src/components/stationlist";
import { CourseModel } from "../src/models/course";
import { foreseen } from "../src/models/foresee";
import { Outbox } from "../src/models/outbox";
import { nextStation, openEnds, readClock, steps } from "../src/models/steps";
import { setWho } from "../src/models/who";
import { strings } from "../src/strings";
import { PATIENCE, problem, serve } from "./server";

afterEach(() => {
  cleanup();
  vi.unstubAllGlobals();
  sessionStorage.clear();
});

const at = (number: number, standing: StationView["standing"] = "drafted", change: object = {}): StationView =>
  ({
    station: {
      id: `t${number}`,
      number,
      name: `hop ${number}`,
      start: number * 10,
      end: number * 10 + 10,
      contact: ["feet"],
      surfaces: [],
      stills: [],
      marks: [],
      dismissed: [],
      said: [],
      state: standing === "drafted" || standing === "marked" ? "draft" : "accepted",
      signed_by: standing === "signed" ? "Kim" : null,
      ...change,
    },
    revision: 4,
    standing,
    who: "Ana",
    at: "2026-05-01T10:00:00Z",
  }) as unknown as StationView;
const surfaceOf = (id: string) => ({ id, name: "", part: null, role: "route", ruling: "in", contact: null, said: [], state: "draft" });
const view = (change: object = {}): CourseView =>
  ({
    course: {
      name: "spring",
      title: "Spring",
      state: "drafted",
      blanket: [],
      heard: [],
      order: [],
      clips: [],
      divisions: [],
      format: null,
      dismissed: [],
    },
    revision: 7,
    plates: [],
    findings: [],
    editions: [],
    unpublished: true,
    standing: "drafted",
    job: null,
    ...change,
  }) as unknown as CourseView;

async function opened(stations: StationView[], answer: (body: { edits: Edit[] }) => { status?: number; json?: unknown } | "no line") {
  const asked = serve(({ method, path, body }) => {
    if (method === "POST" && path.endsWith("/here")) return { json: { others: [], revisions: {} } };
    if (method === "POST") return answer(body as { edits: Edit[] });
    return { json: path.endsWith("/stations") ? { stations } : view() };
  });
  const model = new CourseModel("spring", new Outbox(null));
  await model.load();
  return { model, asked };
}

test("a course stands somewhere on each of six steps, and goes on with the first station that needs a hand", () => {
  const surface = { id: "u1", ruling: "in" };
  const marked = { surfaces: [surface], marks: [{ surface: "u1", state: "accepted" }] };
  const stations = [at(1, "signed", marked), at(2, "accepted", marked), at(3, "marked")];
  const findings = [{ station: 3, severity: "blocks", kind: "no-finish" }];
  const told = steps(view({ findings }), stations).map((each) => `${each.name} ${each.done}/${each.all}`);
  expect(told).toEqual(["taken 1/1", "read 1/1", "marked 2/3", "checked 2/3", "signed 1/3", "published 0/1"]);
  expect(nextStation(stations)?.station.number).toBe(3);
  expect(nextStation(stations.slice(0, 2))?.station.number).toBe(2);
  expect(nextStation(stations.slice(0, 1))).toBeNull();
});

test("before publishing it is told how many stations nobody signed and how much wants a look", () => {
  const findings = ["no-finish", "not-accepted", "unmarked", "read"].map((kind) => ({
    station: 1,
    severity: kind === "read" ? "note" : "look",
    kind,
  }));
  const plates = ["signed", "accepted", "marked"].map((standing, k) => ({ id: `t${k}`, number: k + 1, name: null, standing, findings: 0 }));
  const { unsigned, look } = openEnds(view({ findings, plates }));
  expect([unsigned, look]).toEqual([2, 2]);
  expect(strings.editions.openEnds(unsigned, look)).toContain("Not signed by a second person: 2 stations.");
  expect(strings.course.rest(0, 0)).toBe("Nothing is left to do.");
  expect(strings.course.rest(look, unsigned)).toBe("Nobody signed 2 of its stations. 2 smaller things want a look.");
});

test.each([
  [["signed", "accepted", "signed"], "2 stations are signed"],
  [["signed", "accepted"], "1 station is signed"],
  [["accepted"], null],
])("beside the rules for every station stands what a change of them takes away: %s", async (standings, told) => {
  const { model } = await opened([], () => "no line");
  const plates = (standings as string[]).map((standing, k) => ({ id: `t${k}`, number: k + 1, name: null, standing, findings: 0 }));
  render(<Everywhere model={model} view={view({ plates })} />);
  const line = screen.queryByText(/signatures? away/);
  expect(line?.textContent ?? null).toEqual(told === null ? null : expect.stringContaining(told as string));
});

test.each([
  ["4:12", 252],
  [" 0:07.5 ", 7.5],
  ["1:04:12", 3852],
  ["90", 90],
  ["", null],
  ["4:1x", null],
  ["1:2:3:4", null],
  ["-1", null],
])("the time “%s” is %s seconds", (text, seconds) => {
  expect(readClock(text)).toBe(seconds);
});

test("a station is moved by its arrows at once, said to who listens, and sent with what was seen", async () => {
  const { model, asked } = await opened([at(1), at(2), at(3)], () => "no line");
  const { container } = render(<StationList model={model} view={model.view.value as CourseView} />);
  fireEvent.click(screen.getByRole("button", { name: "Move hop 3 one place forward" }));
  expect(model.stations.value.map((each) => [each.station.name, each.station.number])).toEqual([
    ["hop 1", 1],
    ["hop 3", 2],
    ["hop 2", 3],
  ]);
  await vi.waitFor(() => expect(container.textContent).toContain("hop 3 is number 2 now."));
  const sent = asked.find((each) => each.path.endsWith("/edits"))?.body;
  expect(sent).toMatchObject({ base: 7, seen: { t3: 4 }, edits: [{ do: "move-station", station: 3, to: 2 }] });
  expect(await model.editCourse([{ do: "remove-station", station: 1 }])).toBe(true);
  expect(model.waiting.value).toHaveLength(2);
  model.close();
});

test("changes are never refused because something else is being saved, and go one after the other", async () => {
  const { model, asked } = await opened([at(1)], (body) => ({
    json: { ...at(1), revision: 5, station: { ...at(1).station, name: (body.edits[0] as { name: string }).name } },
  }));
  const first = model.stations.value[0] as StationView;
  const saved = ["a", "b", "c"].map((name) => model.editStation(first, [{ do: "rename-station", station: 1, name }]));
  expect(model.stations.value[0]?.station.name).toBe("c");
  expect(await Promise.all(saved)).toEqual([true, true, true]);
  const names = asked
    .filter((each) => each.path.endsWith("/edits"))
    .map((each) => (each.body as { edits: { name: string }[] }).edits[0]?.name);
  expect(names).toEqual(["a", "b", "c"]);
  model.close();
});

test("a change that the server refuses goes off the page again and is held with its sentence", async () => {
  const { model } = await opened([at(1)], () => ({ status: 422, json: problem("There is no such thing.", { clashes: [] }) }));
  expect(await model.editStation(model.stations.value[0] as StationView, [{ do: "rename-station", station: 1, name: "x" }])).toBe(false);
  expect(model.stations.value[0]?.station.name).toBe("hop 1");
  expect(model.held.value[0]?.problem.sentence).toBe("There is no such thing.");
  expect(model.done.value).toEqual([]);
  model.close();
});

test("undo drops what has not left, and asks the server to take back what it has", async () => {
  let line = false;
  const { model, asked } = await opened([at(1)], () => (line ? { json: { ...at(1), revision: 5 } } : "no line"));
  const now = () => model.stations.value[0] as StationView;
  await model.editStation(now(), [{ do: "rename-station", station: 1, name: "a" }]);
  await model.editStation(now(), [{ do: "rename-station", station: 1, name: "b" }]);
  model.undo();
  expect(now().station.name).toBe("a");
  model.redo();
  expect(now().station.name).toBe("b");
  line = true;
  model.outbox.now();
  await vi.waitFor(() => expect(model.waiting.value).toEqual([]));
  const last = model.done.value.at(-1)?.id;
  model.undo();
  await vi.waitFor(() => expect(asked.some((each) => each.path.endsWith("/undo"))).toBe(true));
  expect(asked.find((each) => each.path.endsWith("/undo"))?.body).toMatchObject({ of: last });
  model.close();
});

test("a change of a station that is made from the course's page is told by the thing's name", async () => {
  const post = { ...surfaceOf("u23"), name: "post", part: "top" };
  const { model } = await opened([at(1), at(2, "drafted", { surfaces: [post] })], () => ({ json: view({ revision: 8 }) }));
  await model.editCourse([{ do: "change-surface", station: 2, surface: "u23", set: { ruling: "out" } as never }]);
  expect(model.done.value.map((each) => each.words)).toEqual(["change “post: top”"]);
  const off = (id: string): Edit => ({ do: "remove-mark", station: 2, id });
  await model.editCourse([off("m1"), off("m2"), { do: "accept", station: 2 }, off("m3")]);
  expect(model.done.value.at(-1)?.words).toBe("take a mark off × 3; accept station 2");
  model.close();
});

test("what was done before a reload is still taken back, and done again, and another course is not touched by it", async () => {
  const answer = () => ({ json: { ...at(1), revision: 5 } });
  const before = await opened([at(1)], answer);
  await before.model.editStation(before.model.stations.value[0] as StationView, [{ do: "rename-station", station: 1, name: "a" }]);
  const done = before.model.done.value[0]?.id;
  before.model.close();
  const { model, asked } = await opened([at(1)], answer);
  expect(model.done.value.map((each) => each.words)).toEqual(["call station 1 “a”"]);
  expect(new CourseModel("autumn", new Outbox(null)).done.value).toEqual([]);
  const again = model.undo();
  await vi.waitFor(() => expect(asked.find((each) => each.path.endsWith("/undo"))?.body).toMatchObject({ of: done }), PATIENCE);
  model.redo();
  await vi.waitFor(() => expect(asked.filter((each) => each.path.endsWith("/undo")).at(-1)?.body).toMatchObject({ of: again }), PATIENCE);
  model.close();
});

test.each([
  ["Lee", "Lee", "You changed the same in another page of yours", "Keep what the other page has", "You are here in another page too."],
  ["Lee", "lee", "You changed the same in another page of yours", "Keep what the other page has", "You are here in another page too."],
  ["Ana", "Lee", "You and Lee changed the same", "Keep theirs", "Lee is here too."],
])("%s, whose change meets one by %s, is told who that is", async (me, by, told, keep, present) => {
  setWho(me);
  const clash = { kind: "stale-edit", current: 5, mine: at(1).station, theirs: { ...at(1).station, name: "b" } };
  const refusal = problem("Changed meanwhile.", { ...clash, clashes: [{ edit: 0, places: ["name"] }] });
  const { model } = await opened([{ ...at(1), who: by }], () => ({ status: 409, json: refusal }));
  await model.editStation(model.stations.value[0] as StationView, [{ do: "rename-station", station: 1, name: "a" }]);
  model.at.value = "t1";
  model.others.value = [{ who: by, station: "t1" }];
  render(
    <>
      <Choices model={model} />
      <Others model={model} />
    </>,
  );
  expect(screen.getByRole("alert").textContent).toContain(told);
  expect(screen.getByRole("button", { name: keep })).toBeTruthy();
  expect(screen.getByRole("status").textContent?.trim()).toBe(present);
  setWho("");
  model.close();
});

const finding = (station: number | null, kind = "no-finish", surface: string | null = null) =>
  ({
    kind,
    station,
    surface,
    severity: "blocks",
    about: "",
    said: [],
    across: false,
    instead: null,
    other: null,
  }) as CourseView["findings"][number];

test("findings go with their station to its new number, and go away with it, with their surface, and when they are put aside", () => {
  const stations = [at(1), at(2, "drafted", { surfaces: [{ id: "u1", state: "draft" }] }), at(3)];
  const findings = [finding(null), finding(1), finding(2, "no-contact"), finding(2, "contradiction", "u1"), finding(3, "no-start")];
  const edits: Edit[] = [
    { do: "remove-station", station: 1 },
    { do: "remove-surface", station: 1, surface: "u1" },
    { do: "dismiss", station: 2, kind: "no-start", because: "x" },
  ];
  const shown = foreseen(view({ findings }), stations, [{ edits, who: "Ana" }]);
  expect(shown.view.findings.map((each) => [each.station, each.kind])).toEqual([
    [null, "no-finish"],
    [1, "no-contact"],
  ]);
  expect(shown.view.plates.map((each) => [each.id, each.number, each.findings])).toEqual([
    ["t2", 1, 1],
    ["t3", 2, 0],
  ]);
});
