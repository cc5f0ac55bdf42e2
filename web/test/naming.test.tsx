/** Names in other languages, a still in words, and how the booklet reads: what a volunteer sees, and what is sent. */
import { cleanup, fireEvent, render, screen, within } from "@testing-library/preact";
import { afterEach, expect, test, vi } from "vitest";
import type { CourseView, Edit, Station, StationView } from "../src/api";
import { AllNames, InOtherLanguages } from "../src/components/naming";
import { HowItReads } from "../src/components/reading";
import { StillWords } from "../src/components/stillwords";
import { CourseModel } from "../src/models/course";
import { foresee } from "../src/models/foresee";
import { calledIn, ease, languageName, namesOf } from "../src/models/naming";
import { Outbox } from "../src/models/outbox";
import { editWords, placeName, placeWords } from "../src/models/words";
import { PATIENCE, serve } from "./server";

afterEach(() => {
  cleanup();
  vi.unstubAllGlobals();
});

const still = { id: "s1", time_s: 16, width: 320, height: 180, alt: {} };
const surface = { id: "u1", name: "Blue  platform", part: "top", ruling: "in", role: "start" };
const station = { id: "t1", number: 1, name: "stump hop", surfaces: [surface], stills: [still], marks: [], dismissed: [] };
const at = { station, revision: 4, standing: "drafted", who: "Ana", at: "2026-05-01T10:00:00Z" } as unknown as StationView;
const course = {
  name: "spring",
  title: "Spring",
  language: "en",
  translated: [{ said: "Stump Hop", language: "es", translation: "salto de tocones" }],
  blanket: [{ rule: "surface", surface: "post pads", part: "top" }],
  divisions: ["under-tens"],
  format: { retries: 1, ranking: "most stations" },
  order: ["t1"],
  heard: [],
  clips: [],
  dismissed: [],
};
const view = {
  course,
  revision: 7,
  plates: [{ number: 1 }],
  findings: [],
  editions: [],
  languages: ["en", "es", "de"],
  job: null,
} as unknown as CourseView;
const levels = [
  { language: "en", lines: 9, words_a_line: 4.31, lix: 21.4, too_long: [{ station: 1, text: "A long line.", words: 14 }] },
  { language: "de", lines: 9, words_a_line: 4, lix: 46, too_long: [] },
];

async function opened() {
  const sent: Edit[] = [];
  serve(({ method, path, body }) => {
    if (method === "POST" && path.endsWith("/here")) return { json: { others: [], revisions: {} } };
    if (path.endsWith("/alt")) return { json: { made: { en: "Made words.", es: "Palabras hechas.", de: "Gemacht." } } };
    if (path.endsWith("/reading")) return { json: { levels } };
    if (method === "POST") {
      sent.push(...(body as { edits: Edit[] }).edits);
      return { json: path.includes("/stations/") ? at : view };
    }
    return { json: path.endsWith("/stations") ? { stations: [at] } : view };
  });
  const model = new CourseModel("spring", new Outbox(null));
  await model.load();
  return { model, sent };
}

test("a name is called otherwise in a language, whatever its case and spaces, and each name of the course stands once", () => {
  expect(calledIn(view.course.translated, "stump  hop", "es")).toBe("salto de tocones");
  expect(calledIn(view.course.translated, "stump hop", "de")).toBe("");
  const twice = { ...station, surfaces: [surface, { ...surface, id: "u2", name: "blue platform" }] } as unknown as Station;
  expect(namesOf(view.course, [twice])).toEqual(["stump hop", "Blue  platform", "top", "post pads", "under-tens", "most stations"]);
});

test("beside a name its translations are folded away, with how many there are; one that is typed goes out for that name", () => {
  const sent: Edit[] = [];
  const naming = {
    languages: ["es", "de"],
    translated: view.course.translated,
    edit: (edits: readonly Edit[]) => void sent.push(...edits),
  };
  render(<InOtherLanguages said="stump hop" naming={naming} />);
  expect(screen.getByText("In other languages (1 of 2)")).toBeTruthy();
  expect((screen.getByLabelText("Spanish") as HTMLInputElement).value).toBe("salto de tocones");
  const german = screen.getByLabelText("German");
  fireEvent.input(german, { target: { value: " Baumstumpf " } });
  fireEvent.keyDown(german, { key: "Enter" });
  const spanish = screen.getByLabelText("Spanish");
  fireEvent.input(spanish, { target: { value: "" } });
  fireEvent.blur(spanish);
  expect(sent).toEqual([
    { do: "translate", said: "stump hop", language: "de", translation: "Baumstumpf" },
    { do: "translate", said: "stump hop", language: "es", translation: null },
  ]);
});

test("all names stand together for one language, with how many have none yet", async () => {
  const { model } = await opened();
  render(<AllNames model={model} view={view} />);
  expect(screen.getByText("5 names have none yet.")).toBeTruthy();
  fireEvent.click(screen.getByLabelText("German"));
  expect(screen.getByText("6 names have none yet.")).toBeTruthy();
  expect((screen.getByLabelText("stump hop") as HTMLInputElement).lang).toBe("de");
  model.close();
});

test("a still's words are the made ones until somebody writes them, and go back to the made ones", async () => {
  const { model, sent } = await opened();
  const written = { ...still, alt: { es: "Un salto." } } as never;
  const { container } = render(<StillWords model={model} at={at} still={written} />);
  const fold = container.querySelector("details") as HTMLDetailsElement;
  fold.open = true;
  fireEvent(fold, new Event("toggle"));
  const english = (await screen.findByLabelText("English made from its marks", {}, PATIENCE)) as HTMLTextAreaElement;
  expect(english.value).toBe("Made words.");
  expect((screen.getByLabelText("Spanish written by hand") as HTMLTextAreaElement).value).toBe("Un salto.");
  fireEvent.input(english, { target: { value: "A hop over <b>stumps</b>" } });
  fireEvent.blur(english);
  fireEvent.click(screen.getByRole("button", { name: "Back to the made one: Spanish" }));
  const alt = { do: "set-alt", station: 1, still: "s1" };
  await vi.waitFor(
    () =>
      expect(sent).toEqual([
        { ...alt, language: "en", text: "A hop over <b>stumps</b>" },
        { ...alt, language: "es", text: null },
      ]),
    PATIENCE,
  );
  const german = screen.getByLabelText(/^German/);
  fireEvent.input(german, { target: { value: "x".repeat(1001) } });
  fireEvent.blur(german);
  expect(screen.getByRole("alert").textContent).toBe("That has 1001 characters; use at most 1000. It is not saved yet.");
  expect(sent.length).toBe(2);
  model.close();
});

test("how it reads is a plain sentence, and a line that is too long leads to its station", async () => {
  const { model } = await opened();
  const { container } = render(<HowItReads model={model} view={view} />);
  await screen.findByText(/In English it reads very easily: a line has 4.3 words on average./, {}, PATIENCE);
  const long = container.querySelector(".long-lines") as HTMLElement;
  expect(within(long).getByRole("link").getAttribute("href")).toBe("/course/spring/1");
  expect(long.textContent).toContain("A long line.");
  model.close();
});

test.each([
  [21, "very easily"],
  [31, "easily"],
  [40, "a little hard"],
  [52, "hard"],
])("a readability index of %d reads %s", (lix, word) => {
  expect(ease(lix)).toBe(word); // Björnsson, Läsbarhet (1968): about 20 very easy, 30 easy, 40 medium, 50 and more difficult
});

test("translations and a still's words show at once, and a clash about them says which name and what stands there", () => {
  const docs = { course: view.course, stations: [at.station] };
  const edits: Edit[] = [
    { do: "translate", said: "stump hop", language: "es", translation: "brincos" },
    { do: "set-alt", station: 1, still: "s1", language: "es", text: "Un  salto." },
  ];
  const now = foresee(docs, edits, "Ana");
  expect(now.course.translated).toEqual([{ said: "stump hop", language: "es", translation: "brincos" }]);
  expect(now.stations[0]?.stills[0]?.alt).toEqual({ es: "Un salto." });
  expect(placeName("name stump hop in es", now.course as never)).toBe("“stump hop” in Spanish");
  expect(placeWords("name stump hop in es", now.course as never)).toBe("brincos");
  expect(placeWords("name stump hop in de", now.course as never)).toBe("nothing");
  expect(edits.map((edit) => editWords(edit, null))).toEqual(["what “stump hop” is called in Spanish", "a still in words"]);
  expect(languageName("pt")).toBe("Portuguese");
});
