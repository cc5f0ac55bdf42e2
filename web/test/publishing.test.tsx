/** Publishing is told where it was asked: at once, how far it is, where the booklet is, or why nothing came out. */
import { cleanup, fireEvent, render, screen } from "@testing-library/preact";
import { afterEach, expect, test, vi } from "vitest";
import type { CourseView, Job } from "../src/api";
import { Editions } from "../src/components/editions";
import { Publishing } from "../src/components/publishing";
import { CourseModel } from "../src/models/course";
import { Outbox } from "../src/models/outbox";
import { PATIENCE, problem, serve } from "./server";

afterEach(() => {
  cleanup();
  vi.unstubAllGlobals();
});

const job = (change: Partial<Job>): Job => ({
  id: "j1",
  kind: "publish",
  course: "spring",
  state: "working",
  stopping: false,
  stage: "writing the booklet",
  share: 0.4,
  seconds_left: 20,
  sentence: null,
  edition: null,
  ...change,
});

function view(change: object): CourseView {
  const course = { name: "spring", title: "Spring", state: "drafted", blanket: [], heard: [], order: [], clips: [], divisions: [] };
  const plates = [{ id: "t1", number: 1, name: "hop", standing: "signed", findings: 0 }];
  return { course, revision: 1, plates, findings: [], editions: [], unpublished: true, job: null, ...change } as unknown as CourseView;
}

/** The part of the page under a server that tells `told.now`, and answers the wish to publish with `asked`. */
async function opened(first: CourseView, asked: () => Promise<{ status?: number; json?: unknown }> | { status?: number; json?: unknown }) {
  const told = { now: first };
  serve(({ method, path }) => {
    if (method === "POST") return asked();
    return { json: path.endsWith("/stations") ? { stations: [] } : told.now };
  });
  const model = new CourseModel("spring", new Outbox(null));
  await model.load();
  function Shown() {
    return model.view.value && <Publishing model={model} view={model.view.value} />;
  }
  const { container } = render(<Shown />);
  return { model, told, stands: container.querySelector<HTMLElement>(".publishing") };
}

test("after the press the place itself says at once that it is on its way, then how far it is, then where the booklet is", async () => {
  let answer: (value: { json: unknown }) => void = () => {};
  const { model, told, stands } = await opened(view({}), () => new Promise((resolve) => (answer = resolve)));
  fireEvent.click(screen.getByRole("button", { name: "Publish edition 1" }));
  await screen.findByText("Edition 1 is on its way …", {}, PATIENCE);
  expect(document.activeElement).toBe(stands);
  told.now = view({ job: job({}) });
  answer({ json: job({}) });
  await screen.findByText("40 %", {}, PATIENCE);
  const outputs = [{ kind: "booklet", address: "/booklet/spring/1/", size_bytes: null }];
  told.now = view({
    job: job({ state: "done", edition: 1 }),
    editions: [{ number: 1, code: "ABC", who: "Ana", at: "", outputs }],
    unpublished: false,
  });
  await model.load();
  await screen.findByText("Edition 1 is out.", {}, PATIENCE);
  expect(screen.getByRole("link", { name: "Open the booklet" }).getAttribute("href")).toBe("/booklet/spring/1/");
  expect(document.activeElement).toBe(stands);
  model.close();
});

test("what was published before the page was opened is no news, and what failed says so above the button that tries again", async () => {
  const done = view({ job: job({ state: "done", edition: 1 }), unpublished: false });
  const { model, told, stands } = await opened(done, () => ({ json: {} }));
  expect(stands?.textContent).toBe("");
  told.now = view({ job: job({ state: "broken", sentence: "The disk is full." }) });
  await model.load();
  await screen.findByText("No edition came out.", {}, PATIENCE);
  expect(screen.getByText("The disk is full.", { exact: false }).closest("[role=alert]")).toBeTruthy();
  expect(screen.getByRole("button", { name: "Publish edition 1" })).toBeTruthy();
  model.close();
});

test("a wish that the server refuses is answered in the same place, not at the top of the page", async () => {
  const { model } = await opened(view({}), () => ({ status: 422, json: problem("That is not an address of a page.") }));
  fireEvent.click(screen.getByRole("button", { name: "Publish edition 1" }));
  await screen.findByText("That is not an address of a page.", {}, PATIENCE);
  expect(model.problem.value).toBeNull();
  await screen.findByRole("button", { name: "Publish edition 1" }, PATIENCE);
  model.close();
});

test("the edition that holds stands open, and those before it are folded away with the word that they are replaced", () => {
  const edition = (number: number, written = true) => ({
    number,
    code: `CODE${number}`,
    who: "Ana",
    at: "2026-05-01T10:00:00Z",
    outputs: written ? [{ kind: "judge-cards.pdf", address: `/${number}.pdf`, size_bytes: 1 }] : [],
  });
  const model = new CourseModel("spring", new Outbox(null));
  const shown = (editions: object[]) => {
    cleanup();
    const { container } = render(<Editions model={model} view={view({ editions, job: null })} />);
    return [...container.querySelectorAll(".edition .code")].map((each) => [each.textContent, each.closest("details.earlier") !== null]);
  };
  const folded = [
    ["CODE3", false],
    ["CODE2", true],
    ["CODE1", true],
  ];
  expect(shown([edition(1)])).toEqual([["CODE1", false]]);
  expect(shown([edition(1), edition(2), edition(3)])).toEqual(folded);
  screen.getByText("Edition 3 holds now. Hand none of these papers out.");
  expect(shown([edition(1), edition(2), edition(3), edition(4, false)])).toEqual([["CODE4", false], ...folded]);
  model.close();
});
