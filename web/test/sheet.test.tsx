import { cleanup, fireEvent, render, screen, within } from "@testing-library/preact";
import { afterEach, expect, test } from "vitest";
import type { Edit, Finding, Station, StationView, Surface } from "../src/api";
import { sentence } from "../src/components/findings";
import { Whose } from "../src/components/half";
import { Plates } from "../src/components/plates";
import { Sheet } from "../src/components/sheet";
import { blanketSentence } from "../src/models/words";
import { strings } from "../src/strings";
import { at, hand, mark, rule, surface } from "./drafted";

afterEach(() => {
  cleanup();
  localStorage.clear();
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
