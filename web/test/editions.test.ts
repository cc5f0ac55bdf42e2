/** Editions, captions and films as the pages read them: which shelf an output is on, a file's language, what is remembered of wishes. */

import { describe, expect, it } from "vitest";
import type { Output, WalkCaptions } from "../src/api";
import { outputName, shelved } from "../src/components/editions";
import { wishesFrom } from "../src/components/films";
import { brokenLimits, captionLanguages, languageOf, wishedSpeed } from "../src/models/captions";

const output = (kind: string): Output => ({ kind, address: `/${kind}`, size_bytes: 1 });
const kinds = (outputs: readonly Output[]) => outputs.map((each) => each.kind);

describe("outputs of an edition", () => {
  it("stand on the shelf where people look for them", () => {
    const all = ["booklet", "booklet.pdf", "es/booklet.pdf", "es/judge-cards.pdf", "captions/captions.vtt", "change-slip/slip.pdf"];
    const films = ["films", "films/reading.html", "films/station-1.mp4", "films/walk.mp4"];
    const shelves = shelved([...all, ...films].map(output));
    expect(kinds(shelves.whole)).toEqual([
      "booklet",
      "booklet.pdf",
      "change-slip/slip.pdf",
      "films",
      "films/reading.html",
      "films/walk.mp4",
    ]);
    expect([...shelves.languages].map(([language, outputs]) => [language, kinds(outputs)])).toEqual([
      ["es", ["es/booklet.pdf", "es/judge-cards.pdf"]],
    ]);
    expect(kinds(shelves.captions)).toEqual(["captions/captions.vtt"]);
    expect(kinds(shelves.films)).toEqual(["films/station-1.mp4"]);
  });

  it("are each on one shelf", () => {
    const all = ["booklet", "pt/booklet.epub", "captions/reading.txt", "films/station-12.mp4", "odd", "odd/thing"].map(output);
    const { whole, languages, captions, films } = shelved(all);
    expect(kinds([...whole, ...[...languages.values()].flat(), ...captions, ...films]).sort()).toEqual(kinds(all).sort());
  });

  it("have the same name in every language", () => {
    expect(outputName(output("fr/booklet.pdf"))).toBe(outputName(output("booklet.pdf")));
    expect(outputName(output("films/station-3.mp4"))).toBe("Station 3");
    expect(outputName(output("captions/captions.vtt"))).toBe("captions.vtt");
  });
});

describe("the language of a caption file", () => {
  it.each([
    ["walk.es.srt", "es"],
    ["captions_pt-br.vtt", "pt-BR"],
    ["walk es final.srt", "es"],
    ["captions.vtt", ""],
    ["es.srt", ""],
    ["walk.clean.vtt", ""],
  ])("is told by the name %s: %s", (name, language) => {
    expect(languageOf(name)).toBe(language);
  });

  it("is never the one that the walk is spoken in", () => {
    expect(captionLanguages("en").some(([tag]) => tag === "en")).toBe(false);
    expect(captionLanguages("en")).toContainEqual(["es", "Spanish"]);
  });
});

describe("wishes for films", () => {
  it("are kept as far as they still fit", () => {
    const kept = JSON.stringify({ lines: 720, division: "Giants", wording: "clean", in_picture: true, whole_walk: false });
    expect(wishesFrom(kept, ["Giants"])).toEqual(JSON.parse(kept));
    expect(wishesFrom(kept, []).division).toBeNull();
  });

  it("are the plain ones where nothing, or nothing sound, was kept", () => {
    const plain = { lines: 480, division: null, wording: "as spoken", in_picture: false, whole_walk: true };
    expect(wishesFrom(null, [])).toEqual(plain);
    expect(wishesFrom("{", [])).toEqual(plain);
    expect(wishesFrom('{"lines": 1080, "wording": "shouted"}', [])).toEqual(plain);
  });
});

describe("how captions read", () => {
  const limit = (kept: number, wish: boolean) => ({ limit: "x", kept, of: 4, source: "", wish });
  const limits = [limit(4, false), limit(3, false), limit(2, true), limit(0, true)];
  const captions = (wording: WalkCaptions["wording"], limits: WalkCaptions["limits"]): WalkCaptions => ({
    language: "en",
    wording,
    cues: 4,
    problems: [],
    limits,
    worst: [],
  });

  it("tells limits that are not kept, and the speed that is wished", () => {
    expect(brokenLimits(captions("clean", limits)).map((each) => each.kept)).toEqual([3]);
    expect(wishedSpeed(captions("clean", limits))?.kept).toBe(2);
    expect(wishedSpeed(captions("children", limits))?.kept).toBe(0);
    expect(wishedSpeed(captions(null, []))).toBeNull();
  });
});
