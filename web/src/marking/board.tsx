/** The still while it is marked: picture, marks, the cross, and under the chosen mark a short row of what the hand can do next. */

import { type ReadonlySignal, useComputed } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useEffect, useLayoutEffect, useMemo, useRef } from "preact/hooks";
import { pictureAt } from "../api";
import { clock } from "../geometry/clock";
import { boundsOf, shapeOf } from "../geometry/shape";
import { strings } from "../strings";
import { Hand } from "./hand";
import { press, type Undoing } from "./keys";
import { HandLayer, Plates, RestLayer } from "./layers";
import type { MarkingModel } from "./model";
import { OnBoard } from "./onboard";
import { pointers } from "./pointers";
import { HandRow, type HandRowOthers } from "./row";

type Shown = {
  model: MarkingModel;
  name: string;
  lit: ReadonlySignal<string | null>;
  point: (surface: string | null) => void;
  undoing: Undoing;
  others: HandRowOthers;
  children?: ComponentChildren;
};

export function MarkingBoard({ model, name, lit, point, undoing, others, children }: Shown) {
  const { still } = model;
  const on = useMemo(() => new OnBoard(model.still), [model]);
  const hand = useMemo(() => new Hand(model), [model]);
  const board = useRef<HTMLDivElement>(null);
  const unit = useComputed(() => 1 / on.view.value.scale);

  useLayoutEffect(() => {
    const element = board.current;
    if (!element) return;
    const measure = () => on.fit({ width: element.clientWidth, height: element.clientHeight });
    measure();
    const watching = new ResizeObserver(measure);
    watching.observe(element);
    const off = pointers(element, on, hand);
    return () => {
      watching.disconnect();
      off();
    };
  }, [on, hand]);

  useEffect(() => {
    model.restore();
    void model.seen.look();
  }, [model]);

  const pointed = (event: PointerEvent) => {
    if (model.inHand.peek() !== null || event.buttons !== 0) return;
    const shown = board.current?.getBoundingClientRect();
    if (!shown) return;
    const [mark] = model.under(on.toStill({ x: event.clientX - shown.left, y: event.clientY - shown.top }));
    point(mark ? (model.thing(mark)?.id ?? null) : null);
  };

  return (
    <div class="marking-floor">
      <div
        ref={board}
        class="board marking"
        role="application"
        aria-label={strings.marking.board(name, clock(still.time_s))}
        // biome-ignore lint/a11y/noNoninteractiveTabindex: the keys of the cross need the focus
        tabIndex={0}
        style={{ aspectRatio: `${still.width} / ${still.height}`, width: `min(100%, ${(78 * still.width) / still.height}vh)` }}
        onKeyDown={(event) => {
          if (press(event, model, hand, on, undoing)) {
            event.preventDefault();
            event.stopPropagation();
          }
        }}
        onPointerMove={pointed}
        onPointerLeave={() => point(null)}
      >
        <Stage model={model} on={on}>
          <RestLayer model={model} lit={lit} unit={unit} />
          <Plates model={model} unit={unit} />
          {children}
          <HandLayer model={model} unit={unit} />
        </Stage>
        <Cross on={on} />
      </div>
      <Near model={model} on={on}>
        <HandRow model={model} hand={hand} others={others} focus={() => board.current?.focus({ preventScroll: true })} />
      </Near>
      <Sight on={on} undoing={undoing} />
    </div>
  );
}

/** The picture and what is drawn on it, enlarged and shifted together. */
function Stage({ model, on, children }: { model: MarkingModel; on: OnBoard; children: ComponentChildren }) {
  const { still, course } = model;
  const station = model.station.peek().id;
  const style = useComputed(() => {
    const { scale, dx, dy } = on.view.value;
    return `width:${still.width * scale}px;height:${still.height * scale}px;transform:translate(${dx}px,${dy}px)`;
  });
  const sizes = useComputed(() => `${Math.ceil(still.width * on.view.value.scale)}px`);
  return (
    <div class="stage" style={style}>
      <img
        src={pictureAt(course, station, still.id, 1280)}
        srcSet={[640, 960, 1280, 1920].map((width) => `${pictureAt(course, station, still.id, width)} ${width}w`).join(", ")}
        sizes={sizes}
        alt=""
        width={still.width}
        height={still.height}
        decoding="async"
        draggable={false}
      />
      {children}
    </div>
  );
}

function Cross({ on }: { on: OnBoard }) {
  const at = on.cross.value && on.toBoard(on.cross.value);
  if (!at) return null;
  return <span class="cross" style={{ transform: `translate(${at.x}px, ${at.y}px)` }} aria-hidden="true" />;
}

/** Keeps the row under the chosen mark; on a narrow screen it lies along the thumb instead (marking.css). */
function Near({ model, on, children }: { model: MarkingModel; on: OnBoard; children: ComponentChildren }) {
  const row = useRef<HTMLDivElement>(null);
  // Words, so that nothing is laid out anew while something moves.
  const place = useComputed(() => {
    const shape = model.unplaced.value ?? (model.chosen.value && shapeOf(model.chosen.value));
    const { width, height } = on.size.value;
    // Where drawing goes on, the row leaves the still free for it.
    if (!shape || model.doing.value !== "nothing" || (model.goesOn.value && !model.unplaced.value)) return `${width / 2} ${height + 4}`;
    const { left, right, bottom } = boundsOf(shape);
    const at = on.toBoard({ x: (left + right) / 2, y: bottom });
    return `${at.x} ${Math.min(height, Math.max(0, at.y)) + 12}`;
  });
  const [x = 0, y = 0] = place.value.split(" ").map(Number);
  useLayoutEffect(() => {
    const element = row.current;
    if (!element) return;
    const floor = element.parentElement;
    const aside = floor?.querySelector<HTMLElement>(".board")?.offsetLeft ?? 0;
    const room = (floor?.clientWidth ?? 0) - element.offsetWidth;
    element.style.setProperty("--x", `${Math.max(0, Math.min(room, aside + x - element.offsetWidth / 2))}px`);
    element.style.setProperty("--y", `${y}px`);
    // What stands below the still gives way: the row hides neither what was said nor the buttons.
    const make = () => {
      const over = element.offsetHeight > 0 ? y + element.offsetHeight - on.size.peek().height : 0;
      floor?.style.setProperty("--under", `${Math.max(0, over)}px`);
    };
    make();
    const watching = new ResizeObserver(make);
    watching.observe(element);
    return () => watching.disconnect();
  });
  return (
    <div ref={row} class="hand-near" data-seeking={model.seen.seeking.value ?? undefined}>
      {children}
    </div>
  );
}

function Sight({ on, undoing }: { on: OnBoard; undoing: Undoing }) {
  const s = strings.marking;
  const whole = useComputed(() => {
    void on.view.value;
    return on.isWhole;
  });
  return (
    <div class="sight">
      <button type="button" class="plain small undoing" onClick={undoing.undo}>
        {s.undo}
      </button>
      <button type="button" class="plain small undoing" onClick={undoing.redo}>
        {s.redo}
      </button>
      <button type="button" class="plain small" onClick={() => on.enlarge(1.6)}>
        {s.larger}
      </button>
      <button type="button" class="plain small" disabled={whole.value} onClick={() => on.all()}>
        {s.whole}
      </button>
    </div>
  );
}
