// @ts-check
/* The ruling at a point of a still, from the same zones and the same tolerance as the program that made the page. Nothing here touches the page. */

/** @typedef {{text: string, ruling: "in" | "out", area: number[][][][]}} Thing */
/** @typedef {{tolerance: number, edge: number[][][], things: Thing[], unmarked: string[]}} Answers */
/** @typedef {{ruling: "in" | "out" | "close", thing: Thing | null}} Ruled */

/** Is the point inside a polygon's rings (outline and holes), by the even-odd rule? @param {number[][][]} rings @param {number} x @param {number} y */
function inRings(rings, x, y) {
  let inside = false;
  for (const ring of rings)
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [ax, ay] = ring[i], [bx, by] = ring[j];
      if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
    }
  return inside;
}

/** Pixels from the point to the nearest of the lines; Infinity where there is none. @param {number[][][]} lines @param {number} x @param {number} y */
function toLines(lines, x, y) {
  let nearest = Infinity;
  for (const line of lines)
    for (let i = 1; i < line.length; i++) {
      const [ax, ay] = line[i - 1], [bx, by] = line[i];
      const dx = bx - ax, dy = by - ay, long = dx * dx + dy * dy;
      const t = long ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / long)) : 0;
      nearest = Math.min(nearest, Math.hypot(x - ax - t * dx, y - ay - t * dy));
    }
  return nearest;
}

/**
 * Out wins over in, what is not named is out, and within the tolerance of the zone's edge nobody can tell.
 * @param {Answers} answers @param {number} x @param {number} y @returns {Ruled}
 */
function rule(answers, x, y) {
  if (toLines(answers.edge, x, y) <= answers.tolerance) return { ruling: "close", thing: null };
  const under = answers.things.filter((one) => one.area.some((rings) => inRings(rings, x, y)));
  const thing = under.find((one) => one.ruling === "out") ?? under[0] ?? null;
  return { ruling: thing ? thing.ruling : "out", thing };
}
