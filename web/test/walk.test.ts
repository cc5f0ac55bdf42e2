import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { nameLines, WalkModel, walkAtHand } from "../src/models/walk";
import { type Asked, PATIENCE, problem, serve } from "./server";

const file = (name: string) => ({ name, size: 10, lastModified: 1, slice: () => new Blob(["0123456789"]) });
const job = {
  id: "j1",
  kind: "take in",
  course: null,
  state: "waiting",
  stopping: false,
  stage: null,
  share: 0,
  seconds_left: null,
  sentence: null,
};

beforeEach(() => localStorage.clear());
afterEach(() => vi.unstubAllGlobals());

function server(refuseFirst = false): Asked[] {
  let uploads = 0;
  return serve(({ method, path, body }) => {
    const view = (id: string, offset: number) => ({ json: { id, kind: "clip", name: id, size: 10, offset, already: [], remarks: [] } });
    if (path === "/api/uploads") {
      uploads += 1;
      return { status: 201, ...view(`u${uploads}`, 0) };
    }
    if (path === "/api/courses/spring/clips") return { status: 202, json: { ...job, kind: "add clips", course: "spring" } };
    if (path === "/api/courses") {
      const again = (body as { again: boolean }).again;
      return refuseFirst && !again
        ? { status: 409, json: problem("here already", { kind: "already-here", course: "spring" }) }
        : { status: 202, json: job };
    }
    if (method === "PATCH") return view("u", 10);
    return view(path.split("/")[3] ?? "", 10);
  });
}

test("a walk that was wished for goes off by itself when the last clip is here, in the order of the walk", async () => {
  const asked = server();
  const walk = new WalkModel();
  walk.add([file("two.mp4"), file("one.mp4")]);
  const [two] = walk.clips.value;
  if (two) walk.move(two, 1);
  walk.title.value = "Spring";
  walk.names.value = "stump hop\n\n# a remark\n  rung bridge  \n";
  walk.wish();
  await vi.waitFor(() => expect(walk.job.value?.id).toBe("j1"), PATIENCE);
  const taken = asked.filter((each) => each.path === "/api/courses");
  expect(taken).toHaveLength(1);
  expect(taken[0]?.body).toEqual({ title: "Spring", clips: ["u2", "u1"], captions: [], names: ["stump hop", "rung bridge"], again: false });
  expect(localStorage.length, "the browser forgets uploads that became a course").toBe(0);
  walk.stopWatching();
});

test("a walk that is here already is taken in again only where that is said", async () => {
  server(true);
  const walk = new WalkModel();
  walk.add([file("one.mp4")]);
  walk.wish();
  await vi.waitFor(() => expect(walk.problem.value?.kind).toBe("already-here"), PATIENCE);
  expect(walk.job.value).toBeNull();
  walk.wish(true);
  await vi.waitFor(() => expect(walk.job.value?.id).toBe("j1"), PATIENCE);
  walk.stopWatching();
});

test("further clips go to the course that they are for, and what is typed for it is no new course's", async () => {
  const asked = server();
  const walk = new WalkModel("spring");
  walk.names.value = "tall wall";
  expect(new WalkModel().names.value).toBe("");
  expect(new WalkModel("spring").names.value, "half typed is kept").toBe("tall wall");
  walk.add([file("later.mp4")]);
  walk.wish();
  await vi.waitFor(() => expect(walk.job.value?.kind).toBe("add clips"), PATIENCE);
  const added = asked.filter((each) => each.path === "/api/courses/spring/clips");
  expect(added.map((each) => each.body)).toEqual([{ clips: ["u1"], captions: [], names: ["tall wall"] }]);
  walk.stopWatching();
  expect(walkAtHand("spring")).toBe(walkAtHand("spring"));
  expect(walkAtHand("spring")).not.toBe(walkAtHand());
});

test("a clip that the course has already is not sent to it", async () => {
  serve(({ path }) => {
    const already = path.endsWith("/finish") ? [{ name: "spring", title: "Spring" }] : [];
    return { json: { id: "u1", kind: "clip", name: "u1", size: 10, offset: path === "/api/uploads" ? 0 : 10, already, remarks: [] } };
  });
  const walk = new WalkModel("spring");
  walk.add([file("one.mp4")]);
  await vi.waitFor(() => expect(walk.refused.value).toBe(true), PATIENCE);
  const other = new WalkModel("summer");
  other.add([file("two.mp4")]);
  await vi.waitFor(() => expect(other.allHere.value).toBe(true), PATIENCE);
  expect(other.refused.value, "another course's clip may be added").toBe(false);
});

test("captions for one of two clips hold the walk back", async () => {
  const asked = server();
  const walk = new WalkModel();
  walk.add([file("one.mp4"), file("two.mp4")]);
  const [one] = walk.clips.value;
  if (one) walk.setCaptions(one, file("one.vtt"));
  walk.wish();
  await vi.waitFor(() => expect(walk.allHere.value).toBe(true), PATIENCE);
  expect(walk.captionsFit.value).toBe(false);
  expect(asked.filter((each) => each.path === "/api/courses")).toHaveLength(0);
  walk.stopWatching();
});

test("names come one a line, as typed", () => {
  expect(nameLines("a\r\n b \n\n#c\nd")).toEqual(["a", "b", "d"]);
});

test("a file that is chosen twice stays once and is told; the title and the names outlast a closed tab", async () => {
  server();
  const walk = new WalkModel();
  walk.add([file("one.mp4"), file("two.mp4")]);
  expect(walk.twice.value).toEqual([]);
  walk.add([file("two.mp4"), file("three.mp4")]);
  expect(walk.twice.value).toEqual(["two.mp4"]);
  expect(walk.clips.value.map((clip) => clip.film.file.name)).toEqual(["one.mp4", "two.mp4", "three.mp4"]);
  walk.title.value = "Spring <course>";
  walk.names.value = "stump hop";
  walk.stopWatching();
  const next = new WalkModel();
  expect([next.title.value, next.names.value]).toEqual(["Spring <course>", "stump hop"]);
  next.stopWatching();
});

test("what a closed tab sent a part of is told until the same file is chosen again or forgotten; what the server forgot is not", async () => {
  localStorage.setItem("annotator upload clip one.mp4 10 1", "u7");
  localStorage.setItem("annotator upload clip gone.mp4 10 1", "u8");
  const view = { id: "u7", kind: "clip", name: "one.mp4", size: 10, offset: 6, already: [], remarks: [] };
  const asked = serve(({ method, path }) => {
    if (path.endsWith("u8")) return { status: 404, json: problem("There is no such upload.") };
    return method === "PATCH" ? { json: { ...view, offset: 10 } } : { json: view };
  });
  const walk = new WalkModel();
  await walk.lookForLeft();
  expect(walk.left.value.map((each) => [each.name, each.share])).toEqual([["one.mp4", 0.6]]);
  expect(localStorage.getItem("annotator upload clip gone.mp4 10 1")).toBeNull();
  walk.add([file("one.mp4")]);
  expect(walk.left.value).toEqual([]);
  const film = walk.clips.value[0]?.film;
  await vi.waitFor(() => expect(film?.state.value.at).toBe("here"), PATIENCE);
  expect(asked.filter((each) => each.method === "PATCH").map((each) => each.headers["Upload-Offset"])).toEqual(["6"]);
  walk.stopWatching();
});
