/** Taking a course out: what goes is told before, what is in use says so, and the bin gives back or deletes. */
import { cleanup, fireEvent, render, screen } from "@testing-library/preact";
import { afterEach, expect, test, vi } from "vitest";
import type { Binned } from "../src/api";
import { Bin } from "../src/components/bin";
import { RemoveCourse } from "../src/components/removing";
import { CourseModel } from "../src/models/course";
import { Outbox } from "../src/models/outbox";
import { type Asked, PATIENCE, problem, serve } from "./server";

afterEach(() => {
  cleanup();
  vi.unstubAllGlobals();
  history.pushState(null, "", "/");
});

const course = {
  name: "spring",
  title: "Spring",
  state: "drafted",
  blanket: [],
  heard: [],
  order: [],
  clips: [{ number: 1 }],
  divisions: [],
};
const view = { course, revision: 1, plates: [], findings: [], editions: [{ number: 1 }], length_s: 34, unpublished: true, job: null };
const station = { id: "t1", number: 1, stills: [{ id: "s01-1" }, { id: "s01-2" }], marks: [{ id: "m1" }], surfaces: [] };

async function opened(refusals: readonly object[]): Promise<{ asked: Asked[]; model: CourseModel }> {
  const left = [...refusals];
  const asked = serve(({ method, path }) => {
    if (method === "POST" && path.endsWith("/bin")) {
      const refused = left.shift();
      return refused ? { status: 409, json: refused } : { json: { name: "spring" } };
    }
    return { json: path.endsWith("/stations") ? { stations: [{ station, revision: 1 }] } : view };
  });
  const model = new CourseModel("spring", new Outbox(null));
  await model.load();
  function Shown() {
    return model.view.value && <RemoveCourse model={model} view={model.view.value} />;
  }
  render(<Shown />);
  return { asked, model };
}

test("what goes is told first, and keeping it sends nothing", async () => {
  const { asked } = await opened([]);
  fireEvent.click(screen.getByRole("button", { name: "Remove this course" }));
  const panel = screen.getByRole("region", { name: "Remove “Spring”?" });
  for (const told of ["1 clip of the walk, 0:34", "1 station with all rules", "2 stills and 1 mark", "1 edition: nobody", "For 30 days"])
    expect(panel.textContent).toContain(told);
  expect(document.activeElement).toBe(panel);
  fireEvent.click(screen.getByRole("button", { name: "No, keep it" }));
  expect(screen.queryByRole("region")).toBeNull();
  expect(asked.filter((each) => each.method === "POST")).toEqual([]);
});

test("a course that is in use says by whom and goes only where that is said once more", async () => {
  const reasons = ["Ben has it open."];
  const { asked, model } = await opened([problem("“Spring” is in use", { kind: "in-use", reasons })]);
  fireEvent.click(screen.getByRole("button", { name: "Remove this course" }));
  fireEvent.click(screen.getByRole("button", { name: "Yes, move it to the bin" }));
  await screen.findByText("Ben has it open.", {}, PATIENCE);
  fireEvent.click(screen.getByRole("button", { name: "Move it to the bin all the same" }));
  const sent = () => asked.filter((each) => each.path === "/api/courses/spring/bin").map((each) => each.body);
  const client = model.outbox.client;
  await vi.waitFor(
    () =>
      expect(sent()).toEqual(
        [
          { client, anyway: false },
          { client, anyway: true },
        ].map((each) => each),
      ),
    PATIENCE,
  );
});

const binned: Binned = {
  name: "spring",
  title: "Spring",
  who: "Ana",
  at: "2026-04-02T10:00:00Z",
  until: "2026-05-02T10:00:00Z",
  stations: 2,
  length_s: 34,
  job: null,
};

test("what is in the bin comes back with one press and is deleted with two", async () => {
  const asked = serve(() => ({ json: {} }));
  const load = vi.fn(async () => {});
  const { container } = render(<Bin courses={[binned]} load={load} />);
  container.querySelector("details")?.setAttribute("open", "");
  fireEvent.click(screen.getByRole("button", { name: "Bring Spring back" }));
  await vi.waitFor(() => expect(load).toHaveBeenCalledTimes(1), PATIENCE);
  fireEvent.click(screen.getByRole("button", { name: "Remove Spring for good" }));
  fireEvent.click(screen.getByRole("button", { name: "No, keep it" }));
  fireEvent.click(screen.getByRole("button", { name: "Remove Spring for good" }));
  fireEvent.click(screen.getByRole("button", { name: "Yes, delete it" }));
  await vi.waitFor(() => expect(load).toHaveBeenCalledTimes(2), PATIENCE);
  expect(asked.map((each) => each.path)).toEqual(["/api/bin/spring/back", "/api/bin/spring/remove"]);
});

test("a page whose course was removed elsewhere says where it went, and shows it again once it is back", async () => {
  let gone = false;
  serve(({ path }) => {
    if (gone) return { status: 404, json: problem("Ben put the course 'spring' in the bin.", { kind: "in-bin" }) };
    if (path.endsWith("/here")) return { json: { others: [], revisions: {} } };
    return { json: path.endsWith("/stations") ? { stations: [] } : view };
  });
  const model = new CourseModel("spring", new Outbox(null));
  await model.open();
  gone = true;
  await vi.waitFor(() => expect(model.missing.value).toContain("Ben put the course"), PATIENCE);
  gone = false;
  await vi.waitFor(() => expect(model.missing.value).toBeNull(), PATIENCE);
  model.close();
});
