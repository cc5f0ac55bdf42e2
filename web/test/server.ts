/** A server of a few lines that keeps an upload, for tests of what the browser does when the line drops. */
import { vi } from "vitest";

/** For `vi.waitFor`: a busy machine may take its time. */
export const PATIENCE = { timeout: 60_000 };

export type Asked = { method: string; path: string; headers: Record<string, string>; body: unknown };
export type Answering = (asked: Asked) => { status?: number; json?: unknown } | "no line" | Promise<{ status?: number; json?: unknown }>;

/** Puts `answering` in place of the network and returns what was asked so far. */
export function serve(answering: Answering): Asked[] {
  const all: Asked[] = [];
  vi.stubGlobal("fetch", async (path: string, init: RequestInit = {}) => {
    const body = typeof init.body === "string" ? JSON.parse(init.body) : init.body;
    const asked = { method: init.method ?? "GET", path, headers: (init.headers ?? {}) as Record<string, string>, body };
    all.push(asked);
    const answer = await answering(asked);
    if (answer === "no line") throw new TypeError("Failed to fetch");
    return new Response(answer.json === undefined ? null : JSON.stringify(answer.json), { status: answer.status ?? 200 });
  });
  return all;
}

export const problem = (sentence: string, more: Record<string, unknown> = {}) => ({
  kind: "input-error",
  sentence,
  reasons: [],
  course: null,
  offset: null,
  current: null,
  mine: null,
  theirs: null,
  ...more,
});
