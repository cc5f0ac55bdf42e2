// @vitest-environment node
/** The colours of floor.css, pair by pair, against WCAG 2.2: 4.5:1 for text (1.4.3), 3:1 for what must be seen to use a page (1.4.11). */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";

const css = readFileSync(new URL("../src/style/floor.css", import.meta.url), "utf-8");

function colours(part: string): Record<string, string> {
  return Object.fromEntries([...part.matchAll(/--([a-z-]+):\s*(#[0-9a-f]{6})/g)].map((found) => [found[1], found[2]]));
}

function luminance(hex: string): number {
  const [red = 0, green = 0, blue = 0] = [1, 3, 5].map((at) => {
    const value = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

function contrast(a: string, b: string): number {
  const [light = 0, dark = 0] = [luminance(a), luminance(b)].sort((x, y) => y - x);
  return (light + 0.05) / (dark + 0.05);
}

const [first = "", second = ""] = css.split("@media (prefers-color-scheme: dark)");
const light = colours(first);
const schemes = { light, dark: { ...light, ...colours(second.split("\n}\n")[0] ?? "") } };

describe.each(Object.entries(schemes))("%s", (_, scheme) => {
  const of = (name: string) => scheme[name] ?? "missing";

  it.each([
    ["ink", "paper"],
    ["ink", "sheet"],
    ["ink", "tape"],
    ["quiet", "paper"],
    ["quiet", "sheet"],
    ["paper", "ink"],
    ["in-text", "sheet"],
    ["in-text", "paper"],
    ["out-text", "sheet"],
    ["out-text", "paper"],
  ])("text in %s on %s", (text, ground) => {
    expect(contrast(of(text), of(ground))).toBeGreaterThanOrEqual(4.5);
  });

  it.each([
    ["quiet", "paper"],
    ["in-text", "paper"],
    ["out", "paper"],
    ["in", "paper"],
  ])("a line in %s on %s", (drawn, ground) => {
    expect(contrast(of(drawn), of(ground))).toBeGreaterThanOrEqual(3);
  });

  it("attention yellow stands behind ink only", () => {
    expect(contrast(of("attention"), "#1d2329")).toBeGreaterThanOrEqual(4.5);
  });
});

it("knows the published example: #767676 on white is 4.54", () => {
  // WCAG's often-cited lightest grey that still passes on white.
  expect(contrast("#767676", "#ffffff")).toBeCloseTo(4.54, 2);
});
