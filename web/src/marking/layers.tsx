/** The marks as they are drawn on the still. What is in the hand has a layer of its own, so that moving it draws nothing else anew. */

import { type ReadonlySignal, useComputed } from "@preact/signals";
import type { Mark } from "../api";
import { shapePath } from "../geometry/combine";
import { dotsOf, middlesOf, pathOf, pointAt, ringsOf, type Shape, type Spot, shapeOf, sizeOf } from "../geometry/shape";
import { drawnShape } from "./hand";
import { DRAFT_LOOKS, FILL_OPACITY, HATCH, INK, type Look, OUT_OF_PLAY } from "./looks";
import type { MarkingModel } from "./model";
import { placed } from "./plates";
import { lookOf, type Thing } from "./things";

type Lit = ReadonlySignal<string | null>;
const PLAIN_ROOM_PX = 18;

/** Everything that lies still: the marks that are not chosen, and what is offered. */
export function RestLayer({ model, lit, unit }: { model: MarkingModel; lit: Lit; unit: ReadonlySignal<number> }) {
  const chosen = model.chosenId.value;
  const rest = model.marks.value.filter((mark) => mark.id !== chosen);
  const drawn = rest
    .map((mark) => ({ mark, thing: model.thing(mark) }))
    .filter((each): each is { mark: Mark; thing: Thing } => each.thing !== null)
    .sort((one, other) => order(one.thing) - order(other.thing));
  return (
    <svg class="marks-layer" viewBox={`0 0 ${model.still.width} ${model.still.height}`} aria-hidden="true">
      <Hatch id="hatch-rest" unit={unit.value} />
      {drawn.map(({ mark, thing }) => (
        <Drawn key={mark.id} mark={mark} thing={thing} lit={lit} unit={unit.value} />
      ))}
      {model.seen.offers.value.map((offer, at) => (
        <OfferedShape
          key={`${offer.surface} ${at}`}
          shape={offer.shape}
          thing={model.things.value.find((each) => each.id === offer.surface)}
        />
      ))}
    </svg>
  );
}

const order = (thing: Thing) => ["in play", "start", "finish", "out of play", "excepted part"].indexOf(thing.style);

const paths = new WeakMap<Mark, string>();

/** A mark's path, worked out once. */
export function pathOfMark(mark: Mark): string {
  const known = paths.get(mark);
  if (known !== undefined) return known;
  const path = shapePath(shapeOf(mark));
  paths.set(mark, path);
  return path;
}

function Drawn({ mark, thing, lit, unit }: { mark: Mark; thing: Thing; lit: Lit; unit: number }) {
  const own = useComputed(() => (lit.value === mark.surface || lit.value === thing.id ? "lit" : ""));
  return (
    <g class={own} data-mark={mark.id} data-surface={thing.id}>
      <InLook d={pathOfMark(mark)} look={lookOf(mark, thing)} hatch="hatch-rest" thinned={thinned(shapeOf(mark), unit)} />
    </g>
  );
}

type Path = string | ReadonlySignal<string>;

function InLook({ d, look, hatch, thinned = 1 }: { d: Path; look: Look; hatch: string; thinned?: number }) {
  return (
    <>
      {look.fill && <path d={d} fill={look.fill} fill-opacity={FILL_OPACITY} fill-rule="evenodd" />}
      {look.hatch && <path d={d} fill={`url(#${hatch})`} fill-rule="evenodd" />}
      {look.strokes.map(({ colour, width, dash }) => (
        <path
          key={`${colour} ${width}`}
          class="line"
          d={d}
          stroke={colour}
          stroke-width={width * thinned}
          stroke-dasharray={dash?.join(" ")}
          vector-effect="non-scaling-stroke"
        />
      ))}
    </>
  );
}

function Hatch({ id, unit }: { id: string; unit: number }) {
  const [period, under, width] = [HATCH.period * unit, HATCH.underWidth * unit, HATCH.width * unit];
  return (
    <defs>
      <pattern id={id} width={period} height={period} patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
        <rect width={under} height={period} fill={INK} fill-opacity={HATCH.underOpacity} />
        <rect x={(under - width) / 2} width={width} height={period} fill={OUT_OF_PLAY} />
      </pattern>
    </defs>
  );
}

function OfferedShape({ shape, thing }: { shape: Shape; thing: Thing | undefined }) {
  return (
    <g class="offer" data-offer={thing?.id}>
      <InLook d={shapePath(shape)} look={DRAFT_LOOKS[thing?.ruling ?? "in"]} hatch="hatch-rest" />
    </g>
  );
}

/** Lines are thinner on a thin thing, so that they do not hide it. */
export function thinned(shape: Shape, unit: number): number {
  const around = ringsOf(shape)[0] ?? [];
  let length = 0;
  for (let at = 1; at < around.length; at += 1) {
    const [[x0, y0], [x1, y1]] = [around[at - 1] as Spot, around[at] as Spot];
    length += Math.hypot(x1 - x0, y1 - y0);
  }
  const width = shape.kind === "bar" ? shape.width : sizeOf(shape) / Math.max(length / 2, 1e-9);
  return Math.min(1, Math.max(0.5, width / (PLAIN_ROOM_PX * unit)));
}

/** The chosen mark with its points, what is being drawn, and the dotted edge. While something moves, only paths here change. */
export function HandLayer({ model, unit }: { model: MarkingModel; unit: ReadonlySignal<number> }) {
  const mark = model.chosen.value;
  const thing = mark && model.thing(mark);
  return (
    <svg class="hand-layer" viewBox={`0 0 ${model.still.width} ${model.still.height}`} aria-hidden="true">
      <Hatch id="hatch-hand" unit={unit.value} />
      {mark && thing && <Chosen key={mark.id} model={model} look={lookOf(mark, thing)} unit={unit.value} surface={thing.id} />}
      <Drawing model={model} />
    </svg>
  );
}

function Chosen({ model, look, unit, surface }: { model: MarkingModel; look: Look; unit: number; surface: string }) {
  const shape = useComputed<Shape | null>(() => {
    const hand = model.inHand.value;
    if (hand?.doing === "changing" && hand.mark === model.chosenId.value) return hand.shape;
    return model.chosen.value && shapeOf(model.chosen.value);
  });
  const path = useComputed(() => (shape.value ? shapePath(shape.value) : ""));
  const points = useComputed(() => (shape.value ? dotsOf(ringsOf(shape.value).flat()) : ""));
  const middles = useComputed(() => (shape.value && model.inHand.value === null ? dotsOf(middlesOf(shape.value)) : ""));
  const touched = useComputed(() => {
    const spot = shape.value && model.point.value && pointAt(shape.value, model.point.value);
    return spot ? dotsOf([spot]) : "";
  });
  const still = model.chosen.peek();
  return (
    <g data-mark={still?.id} data-surface={surface}>
      <InLook d={path} look={look} hatch="hatch-hand" thinned={still ? thinned(shapeOf(still), unit) : 1} />
      <path class="dot middle-rim" d={middles} vector-effect="non-scaling-stroke" />
      <path class="dot middle" d={middles} vector-effect="non-scaling-stroke" />
      <path class="dot point-rim" d={points} vector-effect="non-scaling-stroke" />
      <path class="dot point" d={points} vector-effect="non-scaling-stroke" />
      <path class="dot touched" d={touched} vector-effect="non-scaling-stroke" />
    </g>
  );
}

function Drawing({ model }: { model: MarkingModel }) {
  const line = useComputed(() => {
    const hand = model.inHand.value;
    if (hand?.doing === "drawing") {
      const points = hand.next ? [...hand.points, hand.next] : hand.points;
      const shape = hand.way === "around" || hand.tracing ? null : drawnShape(hand, points, model.widthOfBars);
      return shape ? shapePath(shape) : pathOf([points.map(({ x, y }): Spot => [x, y])], false);
    }
    return model.unplaced.value ? shapePath(model.unplaced.value) : "";
  });
  const corners = useComputed(() => {
    const hand = model.inHand.value;
    return hand?.doing === "drawing" && !hand.tracing ? dotsOf(hand.points.map(({ x, y }): Spot => [x, y])) : "";
  });
  const edge = useComputed(() => (model.seen.snug.value ? shapePath(model.seen.snug.value.shape) : ""));
  const pieces = model.seen.pieces.value;
  const leftOut = useComputed(() => {
    const alike = model.seen.alike.value;
    return alike
      ? alike.shapes
          .filter((_, place) => alike.out.has(place))
          .map(shapePath)
          .join(" ")
      : "";
  });
  return (
    <g>
      <path class="line begun-under" d={line} vector-effect="non-scaling-stroke" />
      <path class="line begun" d={line} vector-effect="non-scaling-stroke" />
      <path class="dot point-rim" d={corners} vector-effect="non-scaling-stroke" />
      <path class="dot point" d={corners} vector-effect="non-scaling-stroke" />
      <path class="line left-out" d={leftOut} vector-effect="non-scaling-stroke" />
      <Dotted d={edge} what="edge" doubt={Boolean(model.seen.snug.value?.doubt)} />
      {pieces.map((shape) => (
        <Dotted key={keyOf(shape)} d={shapePath(shape)} what="piece" />
      ))}
    </g>
  );
}

/** An edge or a piece that waits to be taken. */
function Dotted({ d, what, doubt = false }: { d: Path; what: "edge" | "piece"; doubt?: boolean }) {
  return (
    <g data-seen={what} data-doubt={doubt || undefined}>
      <path class="line snug-under" d={d} vector-effect="non-scaling-stroke" />
      <path class="line snug" d={d} vector-effect="non-scaling-stroke" />
    </g>
  );
}

const keyOf = (shape: Shape) => String(ringsOf(shape)[0]?.[0]);

/** The plates with their words, one a thing and one an offer. */
export function Plates({ model, unit }: { model: MarkingModel; unit: ReadonlySignal<number> }) {
  const { still } = model;
  const plates = useComputed(() => {
    const named = model.things.value
      .map((thing) => {
        const marks = model.marks.value.filter((mark) => model.thing(mark) === thing);
        const draft = thing.draft || marks.some((mark) => mark.state === "draft");
        const look = marks[0] ? lookOf(marks[0], thing) : null;
        return {
          id: thing.id,
          lines: draft ? [`${thing.plate[0]} ?`, ...thing.plate.slice(1)] : thing.plate,
          shapes: marks.map(shapeOf),
          look,
        };
      })
      .filter((each) => each.shapes.length > 0);
    const offered = [...new Set(model.seen.offers.value.map((offer) => offer.surface))].map((surface) => {
      const thing = model.things.value.find((each) => each.id === surface);
      const shapes = model.seen.offers.value.filter((offer) => offer.surface === surface).map((offer) => offer.shape);
      return { id: `${surface} ?`, lines: [`${thing?.full ?? ""} ?`], shapes, look: DRAFT_LOOKS[thing?.ruling ?? "in"] };
    });
    const looks = new Map([...named, ...offered].map((each) => [each.id, each.look] as const));
    return placed([...named, ...offered], still, unit.value).map((plate) => ({ ...plate, look: looks.get(plate.id) ?? null }));
  });
  return (
    <>
      {plates.value.map(({ id, lines, x, y, look }) => (
        <span
          key={id}
          class="on-plate"
          aria-hidden="true"
          style={{
            left: `${(100 * x) / still.width}%`,
            top: `${(100 * y) / still.height}%`,
            background: look?.ground ?? INK,
            color: look?.text ?? "#fff",
          }}
        >
          {lines.map((line) => (
            <span key={line}>{line}</span>
          ))}
        </span>
      ))}
    </>
  );
}
