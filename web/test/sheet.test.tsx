import { cleanup, fireEvent, render, screen, within } from "@testing-library/preact";
import { afterEach, expect, test } from "vitest";
import type { BlanketRule, Edit, Finding, Mark, Station, StationView, Surface } from "../src/api";
import { Hand as Mending, sentence } from "../src/components/findings";
import { Whose } from "../src/components/half";
import { Plates } from "../src/components/plates";
import { type Hand, Sheet } from "../src/components/sheet";
import { goesInto, mends } from "../src/models/mends";
import { blanketSentence } from "../src/models/words";
import { strings } from "../src/strings";

afterEach(() => {
  cleanup();
  localStorage.clear();
});

const surface = (change: Partial<Surface>): Surface => ({
  id: "u1",
  name: "blue platform",
  part: null,
  role: "route",
  ruling: "in",
  contact: null,
  overshoot: null,
  divisions: null,
  optional: false,
  said: [],
  confidence: null,
  state: "draft",
  ...change,
});
const rule = (change: Partial<BlanketRule>): BlanketRule =>
  ({
    rule: "surface",
    surface: "post pads",
    part: "top",
    ruling: "out",
    contact: null,
    said: [],
    id: "b1",
    state: "accepted",
    ...change,
  }) as BlanketRule;
const station = (surfaces: Surface[]) =>
  ({
    id: "t1",
    number: 1,
    name: "stump hop",
    contact: ["feet"],
    surfaces,
    demonstration: "fail",
    stills: [],
    marks: [],
    said: [],
    dismissed: [],
  }) as unknown as Station;

const at = (surfaces: Surface[], change: Partial<Station> = {}) =>
  ({
    station: { ...station(surfaces), ...change },
    revision: 3,
    standing: "drafted",
    who: "Ana",
    at: "2026-05-01T10:00:00Z",
  }) as StationView;
const hand = (edit: (edits: readonly Edit[]) => void = () => {}): Hand => ({
  edit,
  around: { before: null, after: null },
  divisions: [],
  naming: { languages: [], translated: [], edit },
});

function lines(title: string): string[] {
  const section = screen.getByRole("heading", { name: title }).parentElement as HTMLElement;
  return within(section)
    .queryAllByRole("listitem")
    .map((each) => (each.textContent ?? "").replace(/(Accept|Change|Put aside …|not marked yet)/g, ""));
}

test("each surface stands under what it is for, in the order of a run", () => {
  render(
    <Sheet
      at={at([
        surface({ id: "u1", role: "start" }),
        surface({ id: "u2", name: "stumps", contact: ["feet"] }),
        surface({ id: "u3", name: "red frame", ruling: "out" }),
        surface({ id: "u4", name: "green platform", role: "finish", overshoot: "not allowed", divisions: { "under-tens": "out" } }),
      ])}
      blanket={[rule({}), rule({ id: "b2", rule: "unnamed-out", surface: null, part: null, ruling: null })]}
      findings={[]}
      lit={null}
      point={() => {}}
      hand={hand()}
    />,
  );
  expect(screen.getAllByRole("heading").map((each) => each.textContent)).toEqual([
    "Name and limbs",
    "Start",
    "In play",
    "Out of play",
    "Finish",
  ]);
  expect(lines("Start")[0]).toContain("blue platform");
  expect(lines("In play")[0]).toBe("stumpsdraft");
  expect(lines("Out of play").map((each) => each.replace("draft", ""))).toEqual([
    "red frame",
    "post pads: top As at every station",
    "And everything that is not named here.",
  ]);
  expect(lines("Finish")[0]).toContain("Do not land past it");
  expect(lines("Finish")[0]).toContain("under-tens: out of play");
  expect(screen.getByText(strings.station.demonstration.fail)).toBeTruthy();
});

test("what was not named is said, and a finding speaks at the surface that it is about", () => {
  const findings = [
    {
      kind: "no-finish",
      station: 1,
      about: "no finish is named",
      severity: "blocks",
      said: [],
      surface: null,
      across: false,
      instead: null,
      other: null,
    },
    {
      kind: "contradiction",
      station: 1,
      about: "the red frame is called in and out",
      severity: "blocks",
      said: [],
      surface: "u3",
      across: false,
      instead: null,
      other: null,
    },
  ] as Finding[];
  render(
    <Sheet
      hand={hand()}
      at={at([surface({ id: "u3", name: "red frame" })])}
      blanket={[]}
      findings={findings}
      lit={null}
      point={() => {}}
    />,
  );
  expect(screen.getByText(strings.station.noFinish)).toBeTruthy();
  expect(lines("In play").join()).toContain("The red frame is called in and out.");
  expect(lines("In play").join()).not.toContain("No finish is named.");
  expect(screen.getByText(/No finish is named\./)).toBeTruthy();
});

test("markup in a name is shown as letters", () => {
  const { container } = render(
    <Sheet
      hand={hand()}
      at={at([surface({ name: "<img src=x onerror=alert(1)>" })])}
      blanket={[]}
      findings={[]}
      lit={null}
      point={() => {}}
    />,
  );
  expect(container.querySelector("img")).toBeNull();
  expect(screen.getByText("<img src=x onerror=alert(1)>")).toBeTruthy();
});

test("plates tell number, standing and what is open in words, and which one is shown", () => {
  const plates = [
    { id: "t1", number: 1, name: "stump hop", standing: "signed", findings: 0 },
    { id: "t2", number: 2, name: null, standing: "drafted", findings: 2 },
  ] as const;
  render(<Plates course="spring" title="Spring" plates={plates} at={2} />);
  const links = screen.getAllByRole("link");
  expect(links.map((each) => each.getAttribute("href"))).toEqual([
    "/course/spring",
    "/course/spring/walk",
    "/course/spring/1",
    "/course/spring/2",
  ]);
  expect(links[2]?.textContent).toContain("signed");
  expect(links[3]?.textContent).toContain("2 things are open");
  expect(links[3]?.getAttribute("aria-current")).toBe("page");
});

test.each([
  [rule({ rule: "unnamed-out" }), "What is not named is out of play."],
  [rule({ rule: "no-skip", surface: "platforms", part: null }), "Do not skip any of the platforms."],
  [rule({ rule: "no-skip", surface: "platform", part: null }), "Do not skip any platform."],
  [rule({}), "post pads: top: out of play."],
  [rule({ part: null, ruling: "in", contact: ["hands"] }), "post pads: in play, hands only."],
])("a rule of every station is one sentence", (each, words) => {
  expect(blanketSentence(each)).toBe(words);
});

test("a finding's words become a sentence, once", () => {
  expect(sentence("no start is named")).toBe("No start is named.");
  expect(sentence("Station 4 (ring row): it is not said where it ends. Add the finish.")).toBe(
    "It is not said where it ends. Add the finish.",
  );
  expect(sentence("Station 1: nobody has looked at the faces on the still at 1:42 (s02-1, none found).")).toBe(
    "Nobody has looked at the faces on the still at 1:42 (none found).",
  );
  expect(sentence("Did he mean the green platform?")).toBe("Did he mean the green platform?");
});

const one = (change: Partial<Surface> = {}, more: Partial<Station> = {}) => {
  const made: Edit[] = [];
  const shown = at([surface(change)], more);
  const view = render(
    <Sheet hand={hand((edits) => made.push(...edits))} at={shown} blanket={[]} findings={[]} lit={null} point={() => {}} />,
  );
  return { made, ...view };
};

test("a line is accepted by itself, and changed where it stands", () => {
  const { made } = one();
  fireEvent.click(screen.getByRole("button", { name: "Accept blue platform" }));
  fireEvent.click(screen.getByRole("button", { name: "Change blue platform" }));
  fireEvent.click(screen.getByRole("radio", { name: "out of play" }));
  fireEvent.click(screen.getByRole("radio", { name: "the finish" }));
  fireEvent.click(screen.getByRole("checkbox", { name: "May be left out" }));
  expect(made).toEqual([
    { do: "accept-item", station: 1, id: "u1" },
    { do: "change-surface", station: 1, surface: "u1", set: { ruling: "out" } },
    { do: "change-surface", station: 1, surface: "u1", set: { role: "finish" } },
    { do: "change-surface", station: 1, surface: "u1", set: { optional: true } },
  ]);
});

test("what is typed is kept when the field is left, given back by Escape, and refused in a sentence where it is too long", () => {
  const { made } = one({}, { name: "stump hop" });
  fireEvent.click(screen.getByRole("button", { name: "Change name and limbs" }));
  const field = screen.getByLabelText<HTMLInputElement>("Name");
  fireEvent.input(field, { target: { value: "log hop" } });
  fireEvent.keyDown(field, { key: "Escape" });
  fireEvent.blur(field);
  expect([made, field.value]).toEqual([[], "stump hop"]);
  fireEvent.input(field, { target: { value: "x".repeat(10_000) } });
  fireEvent.blur(field);
  expect(made).toEqual([]);
  expect(screen.getByRole("alert").textContent).toContain("That has 10000 characters; use at most 200.");
  expect(field.value).toHaveLength(10_000);
  fireEvent.input(field, { target: { value: " <b>log</b> hop " } });
  fireEvent.blur(field);
  expect(made).toEqual([{ do: "rename-station", station: 1, name: "<b>log</b> hop" }]);
});

test("what was half typed is there again after Back, in its own place, until it is sent or left by Escape", () => {
  const made: Edit[] = [];
  const page = (place: string) => (
    <Whose.Provider value={place}>
      <Sheet at={at([])} blanket={[]} findings={[]} lit={null} point={() => {}} hand={hand((edits) => made.push(...edits))} />
    </Whose.Provider>
  );
  render(page("spring t1"));
  fireEvent.click(screen.getByRole("button", { name: "Add a finish" }));
  fireEvent.input(screen.getByLabelText("What is the finish?"), { target: { value: "grey ma" } });
  cleanup();
  render(page("spring t2"));
  expect(screen.queryByLabelText("What is the finish?")).toBeNull();
  cleanup();
  render(page("spring t1"));
  const field = screen.getByLabelText<HTMLInputElement>("What is the finish?");
  expect([field.value, document.activeElement === field]).toEqual(["grey ma", false]);
  fireEvent.input(field, { target: { value: "grey mat" } });
  fireEvent.submit(field.form as HTMLFormElement);
  expect(made).toMatchObject([{ do: "add-surface", surface: { name: "grey mat", role: "finish" } }]);
  cleanup();
  render(page("spring t1"));
  expect(screen.getByRole("button", { name: "Add a finish" })).toBeTruthy();
});

test.each<[string, () => void]>([
  ["the page is left by Back", cleanup],
  ["the tab is closed", () => dispatchEvent(new Event("pagehide"))],
])("what is typed over a name is kept when %s", (_, left) => {
  const { made } = one({}, { name: "stump hop" });
  fireEvent.click(screen.getByRole("button", { name: "Change name and limbs" }));
  fireEvent.input(screen.getByLabelText("Name"), { target: { value: "log hop" } });
  left();
  expect(made).toEqual([{ do: "rename-station", station: 1, name: "log hop" }]);
  cleanup();
  expect(made).toHaveLength(1);
});

test("what somebody types is not touched by what others save meanwhile, and is sent as made on what they saw", () => {
  const seen: (StationView | undefined)[] = [];
  const page = (name: string, revision: number) => (
    <Sheet
      hand={{ ...hand(), edit: (_, since) => seen.push(since) }}
      at={{ ...at([], { name }), revision }}
      blanket={[]}
      findings={[]}
      lit={null}
      point={() => {}}
    />
  );
  const { rerender } = render(page("stump hop", 3));
  fireEvent.click(screen.getByRole("button", { name: "Change name and limbs" }));
  const field = screen.getByLabelText<HTMLInputElement>("Name");
  fireEvent.input(field, { target: { value: "log h" } });
  rerender(page("stone hop", 4));
  expect(screen.getByLabelText<HTMLInputElement>("Name")).toBe(field);
  expect(field.value).toBe("log h");
  fireEvent.blur(field);
  expect(seen[0]?.revision).toBe(3);
});

test("a new draft beside what was accepted is chosen or declined, and never stands as a line of its own", () => {
  const made: Edit[] = [];
  const both = [surface({ state: "accepted" }), surface({ id: "u9", ruling: "out" })];
  render(<Sheet hand={hand((edits) => made.push(...edits))} at={at(both)} blanket={[]} findings={[]} lit={null} point={() => {}} />);
  expect(lines("Out of play")).toEqual([]);
  expect(screen.getByText("blue platform, out of play")).toBeTruthy();
  fireEvent.click(screen.getByRole("button", { name: "Take the new one" }));
  expect(made.map((each) => each.do)).toEqual(["remove-surface", "change-surface"]);
  expect(made[1]).toMatchObject({ surface: "u1", set: { ruling: "out" } });
  fireEvent.click(screen.getByRole("button", { name: "Keep what was accepted" }));
  expect(made[2]).toMatchObject({ do: "remove-surface", surface: "u9" });
});

const mark = (change: Partial<Station["marks"][number]>) =>
  ({ id: "m1", surface: "u1", state: "accepted", ...change }) as Station["marks"][number];

test.each([
  [surface({}), [], "not marked yet", "none"],
  [surface({ ruling: "out" }), [], null, null],
  [surface({}), [mark({})], "1 mark", "in"],
  [surface({ ruling: "out" }), [mark({}), mark({ id: "m2" })], "2 marks", "out"],
  [surface({}), [mark({ state: "draft" })], "1 mark, proposed", "proposed"],
])("a line has the sign of its marks", (each, marks, words, look) => {
  const { container } = render(<Sheet hand={hand()} at={at([each], { marks })} blanket={[]} findings={[]} lit={null} point={() => {}} />);
  expect(container.querySelector(".mark-sign")?.textContent?.replace("?", "") ?? null).toBe(words);
  expect(container.querySelector(".swatch")?.className ?? null).toBe(look && `swatch swatch-${look}`);
});

const found = (kind: string, change: Partial<Finding> = {}) =>
  ({
    kind,
    station: 1,
    about: "x",
    severity: "blocks",
    said: [],
    surface: null,
    across: false,
    instead: null,
    other: null,
    ...change,
  }) as Finding;
const said = (start: number) => [{ start, end: start + 1, text: "" }];
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
