/** A rule for every station as somebody types it: a thing goes in at once, a sentence when it was seen what was understood. */
import { cleanup, fireEvent, render, screen } from "@testing-library/preact";
import { afterEach, expect, test, vi } from "vitest";
import type { BlanketRule, CourseView, Edit, TypedRule, TypedView } from "../src/api";
import { AddRule } from "../src/components/addrule";
import { understood } from "../src/models/typed";
import { strings } from "../src/strings";
import { PATIENCE, problem, serve } from "./server";

afterEach(() => {
  cleanup();
  vi.unstubAllGlobals();
});

const s = strings.typedRule;
const rule = (surface: string | null, change: Partial<TypedRule> = {}): TypedRule => ({
  rule: "surface",
  surface,
  part: null,
  ruling: "out",
  contact: null,
  divisions: null,
  ...change,
});
const read = (change: Partial<TypedView>): TypedView => ({ rules: [], format: null, name: false, left: [], may_be_name: false, ...change });
const stands = (of: TypedRule, change: Partial<BlanketRule> = {}): BlanketRule => ({
  ...of,
  id: "b1",
  said: [],
  confidence: null,
  state: "accepted",
  ...change,
});
const none = { blanket: [], format: null };

test("what is new is added, what stands already is not, and what stands otherwise is changed", () => {
  const floor = rule("floor");
  const put = (blanket: BlanketRule[], told = floor) =>
    understood(read({ rules: [told] }), { blanket, format: null }, () => "b-x").map((each) => [each.note, each.edits]);
  expect(put([])).toEqual([[null, [{ do: "add-blanket", id: "b-x", rule: floor }]]]);
  expect(put([stands(rule("Floor "))])).toEqual([[s.there, []]]);
  expect(put([stands(floor, { state: "draft" })])).toEqual([[s.draft, [{ do: "accept-item", id: "b1" }]]]);
  expect(put([stands(floor, { ruling: "in" })])).toEqual([
    ["(in place of: floor: in play.)", [{ do: "change-blanket", blanket: "b1", set: { ruling: "out" } }]],
  ]);
  expect(put([stands(floor, { part: "edge" })])).toEqual([[null, [{ do: "add-blanket", id: "b-x", rule: floor }]]]);
  const ropes = rule("ropes", { ruling: "in", contact: ["hands"] });
  expect(put([stands(ropes)], rule("ropes", { ruling: "in" }))).toEqual([[s.there, []]]);
  const set = (there: TypedRule, told: TypedRule) =>
    put([stands(there)], told).map(([, edits]) => (edits as Edit[]).map((each) => "set" in each && each.set));
  expect(set(ropes, rule("ropes"))).toEqual([[{ ruling: "out", contact: null }]]);
  expect(set(rule("ropes", { contact: ["feet"] }), rule("ropes"))).toEqual([[{ ruling: "out", contact: null }]]);
  expect(set(rule("ropes", { contact: ["feet"] }), rule("ropes", { ruling: "in" }))).toEqual([[{ ruling: "in", contact: null }]]);
  expect(set(ropes, rule("ropes", { contact: ["feet"] }))).toEqual([[{ ruling: "out", contact: ["feet"] }]]);
});

test("how a run is counted is set where it differs", () => {
  const run = (format: object | null) =>
    understood(read({ format: { retries: 1, ranking: null } }), { blanket: [], format: format as never }, () => "b-x").map(
      (each) => each.edits,
    );
  expect(run(null)).toEqual([[{ do: "set-format", retries: 1 }]]);
  expect(run({ retries: 0, ranking: "time", said: [] })).toEqual([[{ do: "set-format", retries: 1 }]]);
  expect(run({ retries: 1, ranking: "time", said: [] })).toEqual([[]]);
});

function opened(answer: { status?: number; json?: unknown } | "no line") {
  const made: Edit[] = [];
  const asked = serve(() => answer);
  render(<AddRule view={{ course: { name: "spring", ...none } } as unknown as CourseView} edit={(...edits) => made.push(...edits)} />);
  fireEvent.click(screen.getByRole("button", { name: strings.coursePage.addRule }));
  const type = (text: string) => {
    fireEvent.input(screen.getByLabelText(s.label), { target: { value: text } });
    fireEvent.click(screen.getByRole("button", { name: strings.coursePage.ruleGo }));
  };
  return { made, asked, type };
}

test("a thing goes in at once", async () => {
  const { made, asked, type } = opened({ json: read({ name: true }) });
  type(" post pads ");
  await screen.findByRole("button", { name: strings.coursePage.addRule }, PATIENCE);
  expect(asked.map(({ path, body }) => [path, body])).toEqual([["/api/courses/spring/typed", { text: "post pads" }]]);
  expect(made).toMatchObject([{ do: "add-blanket", rule: { rule: "surface", surface: "post pads", ruling: "out" } }]);
});

test("a sentence goes in when it was seen what was understood, and what was not", async () => {
  const { made, type } = opened({ json: read({ rules: [rule("floor"), rule("moss")], left: ["The sun shines."] }) });
  type("The floor and moss are out. The sun shines.");
  await screen.findByText("floor: out of play.", {}, PATIENCE);
  screen.getByText("Not understood: “The sun shines.”");
  expect(made).toEqual([]);
  fireEvent.click(screen.getByRole("button", { name: "Put them in" }));
  expect(made).toMatchObject([
    { do: "add-blanket", rule: { surface: "floor" } },
    { do: "add-blanket", rule: { surface: "moss" } },
  ]);
  screen.getByRole("button", { name: strings.coursePage.addRule });
});

test.each([
  ["nobody understands", { json: read({ left: ["Be kind."] }) }, s.nothing],
  ["the server does not answer", "no line" as const, s.away],
  ["the server refuses", { status: 422, json: problem("No.") }, "No."],
])("a sentence that %s is told and stays as typed", async (_, answer, told) => {
  const { made, type } = opened(answer);
  type("Be kind.");
  await screen.findByText(told, {}, PATIENCE);
  expect(screen.getByLabelText<HTMLInputElement>(s.label).value).toBe("Be kind.");
  expect(made).toEqual([]);
  const asName = screen.queryByRole("button", { name: s.asName });
  expect(asName === null).toBe(told === s.nothing); // what was read and is no name is not offered as one
  if (asName) fireEvent.click(asName);
  expect(made).toMatchObject(asName ? [{ do: "add-blanket", rule: { surface: "Be kind." } }] : []);
});

test("what was read and may be a name goes in as one", async () => {
  const { made, type } = opened({ json: read({ left: ["spinning thing"], may_be_name: true }) });
  type("spinning thing");
  fireEvent.click(await screen.findByRole("button", { name: s.asName }, PATIENCE));
  expect(made).toMatchObject([{ do: "add-blanket", rule: { surface: "spinning thing" } }]);
});

test("what was understood of other words than those that stand there is not shown", async () => {
  const { made, type } = opened({ json: read({ rules: [rule("floor")] }) });
  type("The floor is out.");
  fireEvent.input(screen.getByLabelText(s.label), { target: { value: "The floor is in." } });
  await new Promise((resolve) => setTimeout(resolve, 50));
  expect(screen.queryByText("floor: out of play.")).toBeNull();
  expect(made).toEqual([]);
});
