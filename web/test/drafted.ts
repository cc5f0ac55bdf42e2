/** What the tests of the sheet draft: a station with its surfaces, and whose hand is on it. */
import type { BlanketRule, Edit, Finding, Station, StationView, Surface } from "../src/api";
import type { Hand } from "../src/components/sheet";

export const surface = (change: Partial<Surface>): Surface => ({
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
export const rule = (change: Partial<BlanketRule>): BlanketRule =>
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
export const station = (surfaces: Surface[]) =>
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

export const at = (surfaces: Surface[], change: Partial<Station> = {}) =>
  ({
    station: { ...station(surfaces), ...change },
    revision: 3,
    standing: "drafted",
    who: "Ana",
    at: "2026-05-01T10:00:00Z",
  }) as StationView;
export const hand = (edit: (edits: readonly Edit[]) => void = () => {}): Hand => ({
  edit,
  around: { before: null, after: null },
  divisions: [],
  naming: { languages: [], translated: [], edit },
});

export const mark = (change: Partial<Station["marks"][number]>) =>
  ({ id: "m1", surface: "u1", state: "accepted", ...change }) as Station["marks"][number];

export const found = (kind: string, change: Partial<Finding> = {}) =>
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
export const said = (start: number) => [{ start, end: start + 1, text: "" }];
