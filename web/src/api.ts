/** The only door to the server: every request goes through `send`, and every answer comes back as a value. */

import type { components } from "./described";
import { line } from "./models/line";
import type { Batch } from "./models/outbox";
import { who } from "./models/who";

type Schemas = components["schemas"];
export type CourseRow = Schemas["CourseRow"];
export type CourseView = Schemas["CourseView"];
export type StationView = Schemas["StationView"];
export type Station = Schemas["Station"];
export type Course = Schemas["Course"];
export type Surface = Schemas["Surface"];
export type BlanketRule = Schemas["BlanketRule"];
export type Said = Schemas["Said"];
export type Still = Schemas["Still"];
export type Finding = Schemas["Finding"];
export type Job = Schemas["JobView"];
export type Edition = Schemas["EditionView"];
export type Output = Schemas["OutputView"];
export type Plate = Schemas["PlateView"];
export type Mark = Schemas["Mark"];
export type Proposal = Schemas["ProposalView"];
export type Snug = Schemas["SnugView"];
export type Piece = Schemas["PieceView"];
export type RoughOutline = Readonly<{ points: [number, number][]; holes?: [number, number][][]; width?: number | null; words?: string }>;
export type Carried = Schemas["CarriedView"];
export type PointRuling = Schemas["RulingView"];
export type Upload = Schemas["UploadView"];
export type UploadKind = Upload["kind"];
export type Problem = Schemas["Problem"];
export type Edit = Schemas["Edits"]["edits"][number];
export type Here = Schemas["HereView"];
export type TypedView = Schemas["TypedView"];
export type TypedRule = Schemas["TypedRule"];
export type Reading = Schemas["ReadingView"];
export type TakeIn = Schemas["TakeIn"];
export type Binned = Schemas["BinnedView"];
export type AddClips = Schemas["AddClips"];
export type Limb = "hands" | "feet";
export type Words = Schemas["WordsView"];
export type WalkWord = Schemas["WalkWord"];
export type WordsEdit = Schemas["WordsEdit"];
export type News = Schemas["NewsView"];
export type HeardName = Schemas["HeardName"];
export type FilmWishes = Required<Schemas["MakeFilms"]>;
export type WalkCaptions = Schemas["CaptionsOfView"];

/** What a request can come to. Expected outcomes are values; only bugs are thrown. */
export type Answer<T> = { kind: "ok"; value: T } | { kind: "problem"; status: number; problem: Problem } | { kind: "away" };

type Sent = {
  method?: string;
  json?: unknown;
  bytes?: Blob;
  headers?: Record<string, string>;
  quiet?: boolean;
  signal?: AbortSignal;
  who?: string;
  /** It is sent although the page is being closed. */
  last?: boolean;
};

async function send<T>(address: string, sent: Sent = {}, text = false): Promise<Answer<T>> {
  const method = sent.method ?? (sent.json === undefined ? "GET" : "POST");
  const headers: Record<string, string> = { ...sent.headers };
  const name = sent.who ?? who.value;
  if (name) headers["Annotator-Who"] = encodeURIComponent(name);
  if (sent.json !== undefined) headers["Content-Type"] = "application/json";
  const writes = method !== "GET" && !sent.quiet;
  const done = writes ? line.saving() : () => {};
  try {
    const body = sent.bytes ?? (sent.json === undefined ? null : JSON.stringify(sent.json));
    const response = await fetch(address, {
      method,
      headers,
      body,
      keepalive: sent.last ?? false,
      ...(sent.signal ? { signal: sent.signal } : {}),
    });
    if (response.status === 502 || response.status === 503 || response.status === 504) throw new TypeError("no server behind the door");
    line.back();
    if (!response.ok) return { kind: "problem", status: response.status, problem: await problemOf(response) };
    if (response.status === 204) return { kind: "ok", value: undefined as T };
    return { kind: "ok", value: (text ? await response.text() : await response.json()) as T };
  } catch (error) {
    if (!(error instanceof TypeError) && !(error instanceof DOMException)) throw error;
    if (!sent.signal?.aborted) line.gone();
    return { kind: "away" };
  } finally {
    done();
  }
}

async function problemOf(response: Response): Promise<Problem> {
  const none = { reasons: [], course: null, offset: null, current: null, mine: null, theirs: null, clashes: [] };
  try {
    return { ...none, ...((await response.json()) as Problem) };
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    return { ...none, kind: "unreadable", sentence: `The server answered ${response.status} ${response.statusText}.` };
  }
}

const part = encodeURIComponent;
const courseAt = (course: string) => `/api/courses/${part(course)}`;
const stillAt = (course: string, station: string, still: string) => `${courseAt(course)}/stations/${part(station)}/stills/${part(still)}`;

export const api = {
  courses: () => send<{ courses: CourseRow[] }>("/api/courses"),
  course: (course: string) => send<CourseView>(courseAt(course)),
  stations: (course: string) => send<{ stations: StationView[] }>(`${courseAt(course)}/stations`),
  takeIn: (body: TakeIn) => send<Job>("/api/courses", { json: body }),
  addClips: (course: string, body: AddClips) => send<Job>(`${courseAt(course)}/clips`, { json: body }),
  /** With `anyway` also while work or others are at it. */
  putInBin: (course: string, client: string, anyway: boolean) => send<Binned>(`${courseAt(course)}/bin`, { json: { client, anyway } }),
  bin: () => send<{ courses: Binned[] }>("/api/bin"),
  bringBack: (course: string) => send<{ name: string; title: string }>(`/api/bin/${part(course)}/back`, { json: {} }),
  removeForGood: (course: string) => send<Job>(`/api/bin/${part(course)}/remove`, { json: {} }),
  draft: (course: string) => send<Job>(`${courseAt(course)}/draft`, { json: {} }),
  accept: (course: string, station: number | null) => send<CourseView>(`${courseAt(course)}/accept`, { json: { station } }),
  /** Sends a batch from the outbox; one that comes twice is done once. */
  save: (batch: Batch): Promise<Answer<CourseView | StationView>> => {
    const { client, id, who, base, seen, edits, undo } = batch;
    const at = courseAt(batch.course);
    if (undo !== null) return send<CourseView>(`${at}/undo`, { json: { of: undo, client, batch: id }, who });
    const json = { base, edits, client, batch: id, seen };
    if (batch.station === null) return send<CourseView>(`${at}/edits`, { json, who });
    return send<StationView>(`${at}/stations/${part(batch.station)}/edits`, { json, who });
  },
  /** Tells that this page is open at a course, and at which of its stations. */
  here: (course: string, client: string, station: string | null) =>
    send<Here>(`${courseAt(course)}/here`, { json: { client, station }, quiet: true }),
  gone: (course: string, client: string) =>
    send<Here>(`${courseAt(course)}/here`, { json: { client, station: null, gone: true }, quiet: true, last: true }),
  /** Reads what was typed as a rule for every station; changes nothing. */
  typed: (course: string, text: string) => send<TypedView>(`${courseAt(course)}/typed`, { json: { text }, quiet: true }),
  reading: (course: string) => send<Reading>(`${courseAt(course)}/reading`),
  publish: (course: string, address: string) => send<Job>(`${courseAt(course)}/editions`, { json: { address: address || null } }),
  films: (course: string, edition: number, wishes: FilmWishes) =>
    send<Job>(`${courseAt(course)}/editions/${edition}/films`, { json: wishes }),
  showFaces: (course: string, because: string | null) => send<CourseView>(`${courseAt(course)}/faces`, { json: { because } }),
  captions: (course: string) => send<{ captions: WalkCaptions[] }>(`${courseAt(course)}/captions`),
  layIn: (course: string, language: string, upload: string) =>
    send<CourseView>(`${courseAt(course)}/captions/${part(language)}`, { method: "PUT", json: { upload } }),
  takeOut: (course: string, language: string) =>
    send<CourseView>(`${courseAt(course)}/captions/${part(language)}`, { method: "DELETE", json: {} }),
  words: (course: string) => send<Words>(`${courseAt(course)}/words`),
  reword: (course: string, edits: readonly WordsEdit[]) =>
    send<{ words: Words; back: WordsEdit[] }>(`${courseAt(course)}/words`, { json: { edits } }),
  news: (course: string) => send<News>(`${courseAt(course)}/news`),
  putNewsAway: (course: string, reading: string) => send<News>(`${courseAt(course)}/news`, { json: { reading } }),
  frames: (course: string, clip: number, start: number, end: number) =>
    send<{ times: number[] }>(
      `${courseAt(course)}/clips/${clip}/frames?${new URLSearchParams({ start: String(start), end: String(end) })}`,
    ),
  grab: (course: string, station: string, clip: number, time_s: number) =>
    send<Still>(`${courseAt(course)}/stations/${part(station)}/grab`, { json: { clip, time_s } }),
  proxies: (course: string) => send<Job>(`${courseAt(course)}/proxies`, { json: {} }),
  job: (job: string) => send<Job>(`/api/jobs/${part(job)}`),
  jobs: () => send<{ jobs: Job[] }>("/api/jobs"),
  stop: (job: string) => send<Job>(`/api/jobs/${part(job)}/stop`, { json: {} }),
  overlay: (course: string, station: string, still: string, division: string | null) =>
    send<string>(`${stillAt(course, station, still)}/overlay${division === null ? "" : `?division=${part(division)}`}`, {}, true),
  madeAlt: (course: string, station: string, still: string) =>
    send<{ made: Record<string, string> }>(`${stillAt(course, station, still)}/alt`),
  ruling: (course: string, station: string, still: string, x: number, y: number, limb: Limb | null, division: string | null) => {
    const query = new URLSearchParams({ x: x.toFixed(2), y: y.toFixed(2) });
    if (limb !== null) query.set("limb", limb);
    if (division !== null) query.set("division", division);
    return send<PointRuling>(`${stillAt(course, station, still)}/ruling?${query}`);
  },
  offers: (course: string, station: string, still: string, words: string, of: string | null) =>
    send<{ proposals: Proposal[] }>(`${stillAt(course, station, still)}/offers?${new URLSearchParams({ words, ...(of && { part: of }) })}`),
  likeIt: (course: string, station: string, still: string, piece: RoughOutline) =>
    send<{ pieces: Piece[] }>(`${stillAt(course, station, still)}/like-it`, { json: piece, quiet: true }),
  snug: (course: string, station: string, still: string, rough: RoughOutline) =>
    send<Snug>(`${stillAt(course, station, still)}/snug`, { json: rough, quiet: true }),
  carried: (course: string, station: string, still: string, from: string, marks: string[] | null) =>
    send<Carried>(`${stillAt(course, station, still)}/carried`, { json: { still: from, marks }, quiet: true }),
  beginUpload: (kind: UploadKind, name: string, size: number) => send<Upload>("/api/uploads", { json: { kind, name, size }, quiet: true }),
  upload: (id: string) => send<Upload>(`/api/uploads/${part(id)}`),
  sendPiece: (id: string, offset: number, bytes: Blob, signal: AbortSignal) =>
    send<Upload>(`/api/uploads/${part(id)}`, {
      method: "PATCH",
      bytes,
      headers: { "Upload-Offset": String(offset), "Content-Type": "application/octet-stream" },
      quiet: true,
      signal,
    }),
  finishUpload: (id: string) => send<Upload>(`/api/uploads/${part(id)}/finish`, { json: {}, quiet: true }),
  dropUpload: (id: string) => send<void>(`/api/uploads/${part(id)}`, { method: "DELETE", quiet: true }),
};

/** Addresses that an element loads by itself. */
export const pictureAt = (course: string, station: string, still: string, width: number) =>
  `${stillAt(course, station, still)}/picture?width=${width}`;
export const clipAt = (course: string, clip: number) => `/courses/${part(course)}/clips/${clip}.mp4`;
