import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { Sending } from "../src/models/upload";
import { PATIENCE, problem, serve } from "./server";

const SIZE = 10 * 2 ** 20;
const film = { name: "walk.mp4", size: SIZE, lastModified: 7, slice: (from: number, to: number) => new Blob([new Uint8Array(to - from)]) };
const noPause = () => Promise.resolve();

beforeEach(() => localStorage.clear());
afterEach(() => vi.unstubAllGlobals());

/** Keeps one upload; `fails` decides, request by request, whether the line is down. */
function keeper(fails: (request: number) => boolean) {
  const kept = { offset: 0, begun: 0, bytes: 0 };
  let requests = 0;
  const asked = serve(async ({ method, path, headers, body }) => {
    requests += 1;
    const view = () => ({
      id: "u1",
      kind: "clip",
      name: film.name,
      size: SIZE,
      offset: kept.offset,
      finished: false,
      already: [],
      remarks: [],
    });
    if (fails(requests)) throw new TypeError("Failed to fetch");
    if (path === "/api/uploads") {
      kept.begun += 1;
      return { status: 201, json: view() };
    }
    if (method === "PATCH") {
      if (Number(headers["Upload-Offset"]) !== kept.offset) return { status: 409, json: problem("elsewhere", { offset: kept.offset }) };
      kept.offset += (body as Blob).size;
      kept.bytes += (body as Blob).size;
      return { json: view() };
    }
    if (path.endsWith("/finish")) return { json: { ...view(), finished: true, duration_s: 34, width: 320, height: 180, has_audio: true } };
    return { json: view() };
  });
  return { kept, asked };
}

test("a whole file goes in pieces and ends as an upload that was looked at", async () => {
  const { kept } = keeper(() => false);
  const sending = new Sending("clip", film, noPause);
  await sending.run();
  expect(sending.state.value).toMatchObject({ at: "here", upload: { finished: true, duration_s: 34 } });
  expect(kept).toEqual({ offset: SIZE, begun: 1, bytes: SIZE });
});

test("whatever request the line drops at, every byte arrives once and the upload is begun once", async () => {
  for (let dropped = 1; dropped <= 6; dropped += 1) {
    localStorage.clear();
    const { kept } = keeper((request) => request === dropped);
    const sending = new Sending("clip", film, noPause);
    await sending.run();
    expect(sending.state.value.at, `dropped at request ${dropped}`).toBe("here");
    expect(kept.bytes).toBe(SIZE);
    expect(kept.begun).toBe(1);
  }
});

test("after the tab was closed, the same file goes on from where the server stands", async () => {
  const { kept, asked } = keeper((request) => request === 3);
  const before = new Sending("clip", film, () => {
    before.drop();
    return Promise.resolve();
  });
  // A closed tab says nothing to the server, so what drop() forgets is put back.
  localStorage.setItem(`annotator upload clip ${film.name} ${SIZE} 7`, "u1");
  await before.run();
  await vi.waitFor(() => expect(asked.at(-1)?.method).toBe("DELETE"), PATIENCE);
  localStorage.setItem(`annotator upload clip ${film.name} ${SIZE} 7`, "u1");
  const after = new Sending("clip", film, noPause);
  await after.run();
  expect(after.state.value.at).toBe("here");
  expect(kept.begun).toBe(0);
  expect(kept.bytes).toBe(SIZE);
});

test("a file that cannot be used is refused with the server's sentence, and chosen again begins anew", async () => {
  serve(({ path }) =>
    path === "/api/uploads"
      ? { status: 422, json: problem("'walk.mp4' is empty. Choose another file.") }
      : { status: 404, json: problem("none") },
  );
  const sending = new Sending("clip", film, noPause);
  await sending.run();
  expect(sending.state.value).toMatchObject({ at: "refused", problem: { sentence: "'walk.mp4' is empty. Choose another file." } });
  expect(localStorage.length).toBe(0);
});
