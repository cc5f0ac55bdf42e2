import { cleanup, fireEvent, render, screen } from "@testing-library/preact";
import { afterEach, expect, test } from "vitest";
import type { Edit, Finding, Mark, Station, Surface } from "../src/api";
import { Hand as Mending } from "../src/components/findings";
import { Sheet } from "../src/components/sheet";
import { goesInto, mends } from "../src/models/mends";
import { strings } from "../src/strings";
import { at, found, hand, said, station, surface } from "./drafted";

afterEach(() => {
  cleanup();
  localStorage.clear();
});

const twoOnTheWay = [surface({ id: "u1", name: "stump", said: said(20) }), surface({ id: "u2", name: "green platform", said: said(401) })];

test.each<[string, Finding, Surface[], Partial<Station> | null, readonly unknown[]]>([
  [
    "what was said last may be the finish",
    found("no-finish"),
    twoOnTheWay,
    null,
    ["Did he mean the green platform (6:41)?", "Did he mean the stump (0:20)?"],
  ],
  [
    "the next start may be the finish",
    found("no-finish"),
    twoOnTheWay,
    { surfaces: [surface({ id: "u7", name: "red mat", role: "start" })] },
    ["Did he mean the red mat?", "Did he mean the green platform (6:41)?"],
  ],
  ["limbs are one of three", found("no-contact"), [], null, [null, null, null]],
  ["what was said two ways is one of two", found("contradiction", { surface: "u1" }), twoOnTheWay, null, [null, null]],
  [
    "what was drafted as the start is asked for alone",
    found("no-start"),
    [...twoOnTheWay, surface({ id: "u3", name: "box", role: "start", said: said(10) })],
    null,
    ["Did he mean the box (0:10)?"],
  ],
  ["nothing is guessed where nothing is known", found("no-start"), [], null, []],
  ["what only words can mend has no button", found("number-disagrees"), [], null, []],
])("%s", (_, finding, surfaces, after, asks) => {
  const around = { before: null, after: after && ({ ...station([]), ...after } as Station) };
  expect(mends(finding, station(surfaces), around).map((each) => each.ask)).toEqual(asks);
});

test("a thing that the words call otherwise now is renamed in one press", () => {
  const made: Edit[] = [];
  const findings = [found("name-heard-wrong", { severity: "note", surface: "u1", instead: "stumps" })];
  const lines = [surface({ id: "u1", name: "stomps" })];
  render(<Sheet hand={hand((edits) => made.push(...edits))} at={at(lines)} blanket={[]} findings={findings} lit={null} point={() => {}} />);
  fireEvent.click(screen.getByRole("button", { name: "Rename it to “stumps”" }));
  expect(made).toEqual([{ do: "change-surface", station: 1, surface: "u1", set: { name: "stumps" } }]);
});

const wall = { ...station([]), id: "t9", number: 9, name: "tall wall" } as Station;
const near = { before: null, after: null, find: (id: string) => (id === "t9" ? wall : null) };

test("what goes on from an earlier clip is joined with the station it belongs to in one press", () => {
  const [mend, ...others] = mends(found("goes-on", { other: "t9" }), station([]), near);
  expect(mend).toEqual({ label: "Join it with station 9, tall wall", ask: null, edits: [{ do: "merge-stations", station: 9, other: 1 }] });
  expect(others).toEqual([]);
  expect(mends(found("goes-on", { other: "t7" }), station([]), near)).toEqual([]); // it is not here any more
});

test("what is told again takes the place of the old telling, or stands beside it", () => {
  expect(mends(found("told-again", { other: "t9" }), station([]), near).map((each) => [each.label, each.edits])).toEqual([
    ["Take the new telling in place of the old", [{ do: "retell-station", station: 9, other: 1 }]],
    ["Put both tellings together", [{ do: "merge-stations", station: 9, other: 1 }]],
  ]);
});

test("who joined a station with another is led to that one, also where it moves up a place", () => {
  const joinedWith = (station: number, other: number) => goesInto([{ do: "merge-stations", station, other }], other);
  expect([joinedWith(9, 1), joinedWith(1, 9), joinedWith(2, 1)]).toEqual([8, 1, 1]);
  expect(goesInto([{ do: "retell-station", station: 9, other: 1 }], 1)).toBe(8);
  expect(goesInto([{ do: "set-limbs", station: 1, limbs: null }], 1)).toBeNull();
});

test("what is not told again is named before the new telling takes the place of the old", () => {
  const said = [{ start: 1, end: 2, text: "" }];
  const earlier = {
    ...wall,
    surfaces: [surface({ said }), surface({ id: "u2", name: "strap", said }), surface({ id: "u3", name: "mine" })],
  };
  const find = () => earlier;
  const [retell] = mends(found("told-again", { other: "t9" }), station([surface({ id: "u9", name: "Blue platform" })]), { ...near, find });
  expect(retell?.ask).toBe(
    "Station 9 keeps its place, its stills and the marks of what is told again. Not told again, so it would go: strap.",
  );
});

test("of two lines that rule one thing otherwise, the one that holds stays and is agreed to", () => {
  const lines = [surface({ id: "u1", name: "post", state: "accepted" }), surface({ id: "u2", name: "Post", ruling: "out" })];
  const [isIn, isOut] = mends(found("contradiction", { surface: "u2" }), station(lines), near);
  expect(isIn?.edits).toEqual([{ do: "remove-surface", station: 1, surface: "u2" }]);
  expect(isOut?.edits).toEqual([
    { do: "remove-surface", station: 1, surface: "u1" },
    { do: "accept-item", station: 1, id: "u2" },
  ]);
});

test("what was drawn for the line that goes is kept for the one that stays", () => {
  const lines = [surface({ id: "u1", name: "post", state: "accepted" }), surface({ id: "u2", name: "post", ruling: "out" })];
  const mark = (id: string, still: string, of: string, change: Partial<Mark> = {}) =>
    ({ id, still, surface: of, origin: "drawn", state: "accepted", ...change }) as Mark;
  const drawn = mark("m1", "s01-1", "u1");
  const marks = [
    drawn,
    mark("m2", "s01-2", "u1"),
    mark("m3", "s01-3", "u1", { origin: "proposed", state: "draft" }),
    mark("m4", "s01-2", "u2"),
  ];
  const [, isOut] = mends(found("contradiction", { surface: "u2" }), { ...station(lines), marks }, near);
  expect(isOut?.edits).toEqual([
    { do: "put-mark", station: 1, mark: { ...drawn, surface: "u2" } },
    { do: "remove-surface", station: 1, surface: "u1" },
    { do: "accept-item", station: 1, id: "u2" },
  ]);
});

test("a line that holds otherwise for a division is no second telling: only its own ruling is set", () => {
  const lines = [
    surface({ id: "u1", name: "post", ruling: "out" }),
    surface({ id: "u2", name: "post", divisions: { "under-tens": "out" } }),
  ];
  const [, isOut] = mends(found("contradiction", { surface: "u2" }), station(lines), near);
  expect(isOut?.edits).toEqual([{ do: "change-surface", station: 1, surface: "u2", set: { ruling: "out" } }]);
});

test("what a rule for every station may not have meant stays as it is in one press, with the reason", () => {
  const lines = [surface({ id: "u1", name: "red mat", role: "start" })];
  const [stays, ...others] = mends(found("not-as-everywhere", { surface: "u1", severity: "warning" }), station(lines), near);
  const because = strings.sheet.mend.staysBecause;
  expect(stays?.edits).toEqual([{ do: "dismiss", station: 1, kind: "not-as-everywhere", surface: "u1", because }]);
  expect(others).toEqual([]);
});

test("nor is a line for other limbs", () => {
  const lines = [
    surface({ id: "u1", name: "rope", contact: ["hands"] }),
    surface({ id: "u2", name: "rope", ruling: "out", contact: ["feet"] }),
  ];
  const [isIn] = mends(found("contradiction", { surface: "u2" }), station(lines), near);
  expect(isIn?.edits).toEqual([{ do: "change-surface", station: 1, surface: "u2", set: { ruling: "in" } }]);
});

test("a finding is put aside with a reason, and one that must be mended is not", () => {
  const made: Edit[] = [];
  const findings = [found("no-overshoot", { severity: "note" }), found("sign-not-in-font")];
  render(<Sheet hand={hand((edits) => made.push(...edits))} at={at([])} blanket={[]} findings={findings} lit={null} point={() => {}} />);
  expect(screen.getAllByRole("button", { name: "Put aside …" })).toHaveLength(1);
  fireEvent.click(screen.getByRole("button", { name: "Put aside …" }));
  fireEvent.input(screen.getByLabelText("Why may it stay so?"), { target: { value: "mats all around" } });
  fireEvent.click(screen.getByRole("button", { name: "Put aside" }));
  expect(made).toEqual([{ do: "dismiss", station: 1, kind: "no-overshoot", surface: null, because: "mats all around" }]);
});

test("a reason that is too long is told, kept as typed, and not sent before it is shorter", () => {
  const edits: Edit[] = [];
  const open = { station: 1, kind: "no-start", surface: null, severity: "problem", about: "No start.", said: [] } as unknown as Finding;
  const { container } = render(<Mending finding={open} mends={[]} edit={(some) => edits.push(...some)} />);
  fireEvent.click(screen.getByRole("button", { name: strings.sheet.aside }));
  const field = screen.getByLabelText<HTMLInputElement>(strings.sheet.asideWhy);
  const form = container.querySelector("form") as HTMLFormElement;
  const long = "x".repeat(201);
  fireEvent.input(field, { target: { value: long } });
  screen.getByText(strings.sheet.tooLong(201, 200));
  expect(field.value).toBe(long);
  expect(field.validity.customError).toBe(true);
  expect(form.checkValidity()).toBe(false);
  fireEvent.input(field, { target: { value: long.slice(1) } });
  expect(form.checkValidity()).toBe(true);
  fireEvent.submit(form);
  expect(edits).toMatchObject([{ do: "dismiss", because: long.slice(1) }]);
});
