/** Which of the regions that the program sees are offered, so that no two things are offered the same region. Pure. */

import type { Mark, Proposal } from "../api";
import { areaOf, areaPx2, shared } from "../geometry/combine";
import { boundsOf, type Shape, shapeOf } from "../geometry/shape";
import type { Thing } from "./things";

/** Of the best score: what a name in the plural means too, each region a mark of its own. Chosen on the demo's stills. */
const ALIKE = 0.6;
const SAME = 0.5;
/** A carried mark less sure than this gives way to a region that is seen on the still itself. Chosen on the demo's stills. */
export const SURE = 0.8;

/** `unsure`: another region fits the thing nearly as well, or a carried mark has no certain place. */
export type Offer = Readonly<{ surface: string; shape: Shape; origin: "proposed" | "carried"; confidence: number | null; unsure: boolean }>;
export type Found = Readonly<{ proposals: readonly Proposal[]; skip: number }>;

/** What is offered for things that have no mark here, the surest first. `skip`: how many a person passed over for "another". */
export function offersOf(
  things: readonly Thing[],
  marks: readonly Pick<Mark, "surface" | "rings" | "line" | "width">[],
  found: ReadonlyMap<string, Found>,
): readonly Offer[] {
  const taken = marks.map(shapeOf);
  const asked = things
    .filter((thing) => !marks.some((mark) => mark.surface === thing.id || thing.replaces.includes(mark.surface)))
    .map((thing) => ({ thing, proposals: found.get(thing.id)?.proposals.slice(found.get(thing.id)?.skip ?? 0) ?? [] }))
    .filter(({ proposals }) => proposals.length > 0)
    .sort((one, other) => (other.proposals[0]?.score ?? 0) - (one.proposals[0]?.score ?? 0));
  const offers: Offer[] = [];
  for (const { thing, proposals } of asked) {
    const free = proposals
      .map((proposal) => ({ shape: { kind: "outline", rings: proposal.rings } as Shape, score: proposal.score }))
      .filter(({ shape }) => !taken.some((other) => overlap(shape, other) > SAME));
    const best = free[0]?.score ?? 0;
    for (const [place, { shape, score }] of free.entries()) {
      if (place > 0 && (!thing.many || score < ALIKE * best)) break;
      taken.push(shape);
      const rivals = thing.many ? 0 : free.filter((other) => other.shape !== shape && other.score >= ALIKE * score).length;
      offers.push({ surface: thing.id, shape, origin: "proposed", confidence: score, unsure: rivals > 0 });
    }
  }
  return offers;
}

/** Intersection over union of two shapes. */
export function overlap(one: Shape, other: Shape): number {
  const [a, b] = [boundsOf(one), boundsOf(other)];
  if (a.left > b.right || b.left > a.right || a.top > b.bottom || b.top > a.bottom) return 0;
  const [first, second] = [areaOf(one), areaOf(other)];
  const both = areaPx2(shared(first, second));
  return both / Math.max(1e-9, areaPx2(first) + areaPx2(second) - both);
}
