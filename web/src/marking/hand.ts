/** What a hand does on the still, whatever it is: a pointer that goes down, moves and leaves, or the cross that keys move.
 *
 * A drag draws or moves at once; taps put corners one by one. Escape, a second finger or a lost pointer leave everything as it was.
 */

import { batch as together } from "@preact/signals";
import type { Point } from "../geometry/point";
import {
  boxRing,
  covers,
  movedBy,
  nearestEdge,
  nearestOn,
  nearestPoint,
  pointAt,
  type Ring,
  roundRing,
  type Shape,
  type Spot,
  shapeOf,
  simplified,
  sizeOf,
  withNewPoint,
  withPoint,
} from "../geometry/shape";
import { strings } from "../strings";
import type { InHand, MarkingModel, Way } from "./model";

const s = strings.marking.says;
type Drawing = Extract<InHand, { doing: "drawing" }>;
/** What a press has come to, so that its caller knows whether the still itself is to be moved. */
export type Grip = "drawing" | "holding" | "nothing";

export class Hand {
  private from: Point | null = null;
  private start: Shape | null = null;
  private strayed = false;
  private before: InHand | null = null;

  constructor(private readonly model: MarkingModel) {}

  /** Goes down at a place. `reach`: how near, in pixels of the still, counts as on it. */
  down(at: Point, reach: number): Grip {
    const { model } = this;
    const hand = model.inHand.value;
    this.from = at;
    this.strayed = false;
    this.before = hand;
    if (hand?.doing === "drawing") {
      model.inHand.value = { ...hand, next: at };
      return "drawing";
    }
    if (model.purpose.value === "mark" && this.takeHold(at, reach)) return "holding";
    if (model.way.value === null || model.purpose.value === "join") return "nothing";
    model.inHand.value = { doing: "drawing", way: model.way.value, points: [], next: at, tracing: false };
    return "drawing";
  }

  /** Takes hold of a point of the chosen mark, of its edge (where a point is added), or, where nothing is drawn, of the whole. */
  private takeHold(at: Point, reach: number): boolean {
    const { model } = this;
    const mark = model.chosen.value;
    if (!mark) return false;
    const shape = shapeOf(mark);
    if (model.goesOn.value) return false; // things touch: the next one often begins where the last one ends
    const place = nearestPoint(shape, at, reach);
    const edge = place ? null : nearestEdge(shape, at, reach * 0.7);
    if (!place && !edge && (model.way.value !== null || !covers(shape, at))) return false;
    together(() => {
      if (edge) {
        const added = { ring: edge.place.ring, at: edge.place.at + 1 };
        this.start = withNewPoint(shape, edge.place, edge.spot);
        model.point.value = added;
        model.inHand.value = { doing: "changing", mark: mark.id, shape: this.start, place: added, added: true };
      } else {
        this.start = shape;
        model.point.value = place;
        model.inHand.value = { doing: "changing", mark: mark.id, shape, place, added: false };
      }
    });
    return true;
  }

  /** Moves without being down: the line to the next corner follows. */
  hover(at: Point): void {
    const hand = this.model.inHand.value;
    if (hand?.doing === "drawing" && hand.points.length > 0 && !hand.tracing) this.model.inHand.value = { ...hand, next: at };
  }

  /** Whether something is held that Enter or a release lets go. */
  get holds(): boolean {
    return this.model.inHand.value?.doing === "changing";
  }

  /** Moves while it is down. `slack`: what counts as no movement at all. */
  move(at: Point, slack: number): void {
    const { model, from } = this;
    const hand = model.inHand.value;
    if (!hand || !from) return;
    if (!this.strayed && Math.hypot(at.x - from.x, at.y - from.y) <= slack) return;
    this.strayed = true;
    if (hand.doing === "changing") this.carry(hand, at, from);
    else if ((hand.way === "around" || hand.way === "bar") && (hand.points.length === 0 || hand.tracing)) {
      const points = hand.tracing ? [...hand.points, at] : [from, at];
      model.inHand.value = { ...hand, points, next: null, tracing: true };
    } else if (hand.points.length === 0) model.inHand.value = { ...hand, points: [from], next: at };
    else model.inHand.value = { ...hand, next: at };
  }

  private carry(hand: Extract<InHand, { doing: "changing" }>, at: Point, from: Point): void {
    if (!this.start) return;
    const { place } = hand;
    const spot = place && pointAt(this.start, place);
    const [dx, dy] = [at.x - from.x, at.y - from.y];
    const shape = place && spot ? withPoint(this.start, place, [spot[0] + dx, spot[1] + dy]) : movedBy(this.start, dx, dy);
    this.model.inHand.value = { ...hand, shape };
  }

  /** Leaves the still again. True where what was begun is done, or nothing was begun. */
  up(at: Point, reach: number): boolean {
    const { model } = this;
    const hand = model.inHand.value;
    const strayed = this.strayed;
    this.from = null;
    if (!hand) return true;
    if (hand.doing === "changing") {
      model.inHand.value = null;
      if (strayed) model.changed(hand.mark, hand.shape);
      return true;
    }
    const done = strayed ? this.dragged(hand, at) : this.tapped(hand, at, reach);
    model.keepBegun();
    return done;
  }

  private dragged(hand: Drawing, at: Point): boolean {
    if (hand.tracing) return this.finish({ ...hand, points: hand.points });
    if (hand.way === "around") return this.corner(hand, at);
    return hand.way === "bar" && hand.points.length > 1 ? this.corner(hand, at) : this.finish({ ...hand, points: [...hand.points, at] });
  }

  private tapped(hand: Drawing, at: Point, reach: number): boolean {
    const { model } = this;
    const { points, way } = hand;
    const [first, last] = [points[0], points.at(-1)];
    if (!first && model.purpose.value === "mark" && model.more.value) {
      model.inHand.value = null;
      this.tap(at, reach);
      return true;
    }
    if (!first && model.purpose.value === "mark" && this.onOther(at, reach)) {
      model.inHand.value = null;
      return true;
    }
    const near = (other: Point | undefined) => other !== undefined && Math.hypot(other.x - at.x, other.y - at.y) <= reach;
    if ((way === "box" || way === "round") && first) return this.finish({ ...hand, points: [first, at] });
    if (way === "around" && points.length > 2 && (near(first) || near(last))) return this.finish(hand);
    if (way === "bar" && points.length > 1 && near(last)) return this.finish(hand);
    return this.corner(hand, at);
  }

  /** A tap that means something that is there: a proposed region, or the edge of another mark. */
  private onOther(at: Point, reach: number): boolean {
    const { model } = this;
    const piece = model.seen.pieceAt(at);
    if (piece !== null) {
      model.seen.leaveOut(piece);
      return true;
    }
    const offer = model.seen.offerAt(at);
    if (offer) {
      model.seen.take(offer.surface);
      return true;
    }
    const met = model.marks.value.find(
      (mark) => (mark.id !== model.chosenId.value || model.goesOn.value) && nearestEdge(shapeOf(mark), at, reach * 0.7),
    );
    if (met) model.choose(met.id);
    return met !== undefined;
  }

  /** A tap where nothing is drawn: chooses the smallest mark there, at the next tap the one around it. */
  tap(at: Point, reach: number): void {
    const { model } = this;
    const piece = model.purpose.value === "mark" ? model.seen.pieceAt(at) : null;
    if (piece !== null) {
      model.seen.leaveOut(piece);
      return;
    }
    const under = model.under(at);
    const near = under.length > 0 ? under : model.marks.value.filter((mark) => nearestEdge(shapeOf(mark), at, reach));
    if (model.purpose.value === "join") {
      const other = near.find((mark) => mark.id !== model.chosenId.value);
      if (other) model.join(other.id);
      else model.said.value = s.nothingHere;
      return;
    }
    const offer = model.seen.offerAt(at);
    const smallest = under[0];
    if (offer && (!smallest || sizeOf(offer.shape) < sizeOf(shapeOf(smallest)))) {
      model.seen.take(offer.surface);
      return;
    }
    const place = near.findIndex((mark) => mark.id === model.chosenId.value);
    const next = near[(place + 1) % Math.max(1, near.length)];
    model.choose(next?.id ?? null);
    if (!next) model.said.value = s.nothingHere;
  }

  private corner(hand: Drawing, at: Point): boolean {
    const points = [...hand.points, at];
    this.model.inHand.value = { ...hand, points, next: null, tracing: false };
    this.model.said.value = hand.way === "box" || hand.way === "round" ? s.cornerSet : s.corner(points.length);
    return false;
  }

  /** What is being drawn is whole as it is. */
  finish(hand = this.model.inHand.value): boolean {
    if (hand?.doing !== "drawing") return true;
    const { model } = this;
    model.inHand.value = null;
    model.keepBegun();
    const shape = drawnShape(hand, hand.points, model.widthOfBars, hand.tracing ? traceSlack(model, hand.way) : 0);
    if (shape) model.drawn(shape);
    else model.refuse("too few points");
    return true;
  }

  /** Takes the last corner back; the first one with it ends the drawing. */
  back(): void {
    const hand = this.model.inHand.value;
    if (hand?.doing !== "drawing") return;
    const points = hand.points.slice(0, -1);
    this.model.inHand.value = points.length > 0 ? { ...hand, points, next: null } : null;
    this.model.said.value = points.length > 0 ? s.corner(points.length) : s.left;
    this.model.keepBegun();
  }

  /** Everything as it was before what the hand is at: a drag leaves corners that were put before it. */
  leave(all = true): void {
    const { model } = this;
    if (!model.inHand.value) return;
    const kept = !all && this.before?.doing === "drawing" && this.before.points.length > 0 ? this.before : null;
    model.inHand.value = kept && { ...kept, next: null };
    model.said.value = s.left;
    this.from = null;
    model.keepBegun();
  }
}

/** How far a hand strays from what it follows, in pixels of the still. A bar is straight between its bends, so more is a slip there. */
const traceSlack = ({ still }: MarkingModel, way: Way) => (Math.max(still.width, still.height) / 960) * (way === "bar" ? 4 : 1);
/** An end this near to the beginning, in those slips, closes a bar. */
const CLOSES = 3;

/** What is drawn with these points, so far; null where they are too few for anything. */
export function drawnShape(hand: Pick<Drawing, "way">, points: readonly Point[], barWidth: number, slack = 0): Shape | null {
  const [first, last] = [points[0], points.at(-1)];
  if (!first || !last || points.length < 2) return null;
  const ring: Ring = points.map(({ x, y }) => [x, y]);
  const shapes: Readonly<Record<Way, () => Shape | null>> = {
    around: () => (points.length < 3 ? null : { kind: "outline", rings: [slack > 0 ? simplified(ring, slack) : ring] }),
    box: () => ({ kind: "outline", rings: [boxRing(first, last)] }),
    round: () => ({ kind: "outline", rings: [roundRing(first, last)] }),
    bar: () => ({ kind: "bar", line: slack > 0 ? straightened(ring, slack) : ring, width: barWidth }),
  };
  return shapes[hand.way]();
}

/** Without bends that hardly bend: the farthest point of a stroke becomes one even in the middle of a straight piece. */
function withoutIdle(line: Ring, slack: number): Ring {
  const kept: Spot[] = [];
  for (const [at, spot] of line.entries()) {
    const [before, after] = [kept.at(-1), line[at + 1]];
    if (!before || !after || nearestOn(before, after, { x: spot[0], y: spot[1] }).distance > slack) kept.push(spot);
  }
  return kept;
}

/** A traced bar as straight pieces; a loop that ends where it began is closed. */
function straightened(ring: Ring, slack: number): Ring {
  const line = withoutIdle(simplified(ring, slack), slack);
  const [first, last] = [line[0], line.at(-1)];
  if (!first || !last || line.length < 4 || Math.hypot(first[0] - last[0], first[1] - last[1]) > CLOSES * slack) return line;
  return [...line.slice(0, -1), first];
}
