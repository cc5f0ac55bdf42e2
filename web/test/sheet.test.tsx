import { cleanup, render, screen, within } from "@testing-library/preact";
import { afterEach, expect, test } from "vitest";
import type { BlanketRule, Finding, Station, Surface } from "../src/api";
import { sentence } from "../src/components/findings";
import { Plates } from "../src/components/plates";
import { Sheet } from "../src/components/sheet";
import { blanketSentence } from "../src/models/words";
import { strings } from "../src/strings";

afterEach(cleanup);

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
  }) as unknown as Station;

function lines(title: string): string[] {
  const section = screen.getByRole("heading", { name: title }).parentElement as HTMLElement;
  return within(section)
    .queryAllByRole("listitem")
    .map((each) => each.textContent ?? "");
}

test("each surface stands under what it is for, in the order of a run", () => {
  render(
    <Sheet
      station={station([
        surface({ id: "u1", role: "start" }),
        surface({ id: "u2", name: "stumps", contact: ["feet"] }),
        surface({ id: "u3", name: "red frame", ruling: "out" }),
        surface({ id: "u4", name: "green platform", role: "finish", overshoot: "not allowed", divisions: { "under-tens": "out" } }),
      ])}
      blanket={[rule({}), rule({ id: "b2", rule: "unnamed-out", surface: null, part: null, ruling: null })]}
      findings={[]}
      lit={null}
      point={() => {}}
    />,
  );
  expect(screen.getAllByRole("heading").map((each) => each.textContent)).toEqual(["Start", "In play", "Out of play", "Finish"]);
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
    { kind: "no-finish", station: 1, about: "no finish is named", severity: "blocks", said: [], surface: null, across: false },
    {
      kind: "contradiction",
      station: 1,
      about: "the red frame is called in and out",
      severity: "blocks",
      said: [],
      surface: "u3",
      across: false,
    },
  ] as Finding[];
  render(
    <Sheet station={station([surface({ id: "u3", name: "red frame" })])} blanket={[]} findings={findings} lit={null} point={() => {}} />,
  );
  expect(screen.getByText(strings.station.noFinish)).toBeTruthy();
  expect(lines("In play").join()).toContain("The red frame is called in and out.");
  expect(lines("In play").join()).not.toContain("No finish is named.");
  expect(screen.getByText(/No finish is named\./)).toBeTruthy();
});

test("markup in a name is shown as letters", () => {
  const { container } = render(
    <Sheet station={station([surface({ name: "<img src=x onerror=alert(1)>" })])} blanket={[]} findings={[]} lit={null} point={() => {}} />,
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
  expect(links.map((each) => each.getAttribute("href"))).toEqual(["/course/spring", "/course/spring/1", "/course/spring/2"]);
  expect(links[1]?.textContent).toContain("signed");
  expect(links[2]?.textContent).toContain("2 things are open");
  expect(links[2]?.getAttribute("aria-current")).toBe("page");
});

test.each([
  [rule({ rule: "unnamed-out" }), "What is not named is out of play."],
  [rule({ rule: "no-skip", surface: "platforms", part: null }), "Do not skip any of the platforms."],
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
  expect(sentence("Did he mean the green platform?")).toBe("Did he mean the green platform?");
});
