/** What will be blurred when a still is published: boxes that a hand adds, moves and takes away, and the word of a person who looked. */

import { type Signal, useSignal } from "@preact/signals";
import { useRef } from "preact/hooks";
import { pictureAt, type StationView, type Still } from "../api";
import { Line } from "../components/fields";
import { boxBetween, boxMoved, boxSized, type FaceBox } from "../geometry/boxes";
import { clock } from "../geometry/clock";
import { type Point, toStill } from "../geometry/point";
import type { CourseModel } from "../models/course";
import { recall, remember } from "../models/keep";
import { strings } from "../strings";

const s = strings.marking;
type Of = { model: CourseModel; at: StationView; still: Still };

export function FaceBoxes({ still }: { still: Still }) {
  if (still.faces_shown) return null;
  return (
    <>
      {still.faces?.map((box) => (
        <span key={box.join(" ")} class="face" style={placed(box, still)} aria-hidden="true" />
      ))}
    </>
  );
}

function placed([left, top, right, bottom]: FaceBox, still: Still) {
  const share = (length: number, of: number) => `${(length / of) * 100}%`;
  return {
    left: share(left, still.width),
    top: share(top, still.height),
    width: share(right - left, still.width),
    height: share(bottom - top, still.height),
  };
}

/** Where the faces of a still stand, in words, and what can be done about them. */
export function Faces({ model, at, still, change, looked }: Of & { change: () => void; looked: () => void }) {
  const asking = useSignal(false);
  const because = useSignal("");
  const t = strings.still;
  const station = at.station.number;
  if (still.faces_shown)
    return (
      <div class="faces">
        <p class="quiet">{t.facesShown(still.faces_shown.by, still.faces_shown.because)}</p>
        <button
          type="button"
          class="plain small"
          onClick={() => void model.editStation(at, [{ do: "blur-faces", station, still: still.id }])}
        >
          {s.blurAgain}
        </button>
      </div>
    );
  if (still.faces === null) return null;
  const show = (event: Event) => {
    event.preventDefault();
    if (!because.value.trim()) return;
    asking.value = false;
    void model.editStation(at, [{ do: "show-faces", station, still: still.id, because: because.value.trim() }]);
  };
  return (
    <div class="faces">
      <p class={still.faces_by ? "quiet" : ""}>
        {still.faces_by ? t.facesSeen(still.faces.length, still.faces_by) : t.faces(still.faces.length)}
      </p>
      {!still.faces_by && (
        <button
          type="button"
          class="plain"
          onClick={() => {
            void model.editStation(at, [{ do: "set-faces", station, still: still.id }]);
            looked();
          }}
        >
          {t.facesCovered}
        </button>
      )}
      <button type="button" class="plain small" onClick={change}>
        {s.facesOpen}
      </button>
      {asking.value ? (
        <form class="because" onSubmit={show}>
          <Line
            label={s.showBecause}
            value={because.value}
            needed
            write={(text) => {
              because.value = text;
            }}
          />
          <button type="submit" class="small">
            {s.show}
          </button>
        </form>
      ) : (
        <button
          type="button"
          class="plain small"
          onClick={() => {
            asking.value = true;
          }}
        >
          {s.showFaces}
        </button>
      )}
    </div>
  );
}

type Held = { at: number | null; grip: "move" | "size" | "draw"; from: Point; before: FaceBox | null };

/** The still with its boxes to be changed. They are kept in this browser until somebody says that every face is covered. */
export function FaceBoard({ model, at, still, leave }: Of & { leave: () => void }) {
  const key = `faces ${model.name} ${at.station.id} ${still.id} ${still.file}`;
  const boxes = useSignal<readonly FaceBox[]>(begun(key) ?? still.faces ?? []);
  const chosen = useSignal<number | null>(null);
  const said = useSignal("");
  const set = (next: readonly FaceBox[]) => {
    boxes.value = next;
    remember(key, JSON.stringify(next));
    said.value = s.says.faceAdded(next.length);
  };
  const without = (number: number) => {
    chosen.value = null;
    set(boxes.value.filter((_, each) => each !== number));
  };
  const covered = async () => {
    const edit = { do: "set-faces" as const, station: at.station.number, still: still.id, faces: boxes.value.map(rounded) };
    if (await model.editStation(at, [edit])) {
      remember(key, null);
      leave();
    }
  };
  const middle = (): FaceBox => {
    const [x, y, r] = [still.width / 2, still.height / 2, still.width / 24];
    return [x - r, y - r, x + r, y + r];
  };
  return (
    <figure class="still">
      <Boxes still={still} boxes={boxes} chosen={chosen} set={set} without={without} course={model.name} station={at.station.id} />
      <p class="says" role="status">
        {said.value || s.faceHint}
      </p>
      <p>{s.faceList(boxes.value.length)}</p>
      <div class="row">
        <button type="button" onClick={() => void covered()}>
          {s.facesCovered}
        </button>
        <button
          type="button"
          class="plain"
          onClick={() => {
            set([...boxes.value, middle()]);
            chosen.value = boxes.value.length - 1;
          }}
        >
          {s.faceAdd}
        </button>
        {chosen.value !== null && (
          <button type="button" class="plain" onClick={() => chosen.value !== null && without(chosen.value)}>
            {s.takeAway}
          </button>
        )}
        <button type="button" class="plain" onClick={leave}>
          {s.facesClose}
        </button>
      </div>
      <p class="quiet">{s.facesKept}</p>
      <figcaption>{strings.still.at(clock(still.time_s))}</figcaption>
    </figure>
  );
}

const rounded = (box: FaceBox) => box.map((each) => Math.round(each * 10) / 10) as FaceBox;

function begun(key: string): FaceBox[] | null {
  try {
    const kept: unknown = JSON.parse(recall(key) ?? "null");
    return Array.isArray(kept) ? (kept as FaceBox[]) : null;
  } catch (error) {
    if (error instanceof SyntaxError) return null;
    throw error;
  }
}

type Shown = {
  still: Still;
  boxes: Signal<readonly FaceBox[]>;
  chosen: Signal<number | null>;
  set: (next: readonly FaceBox[]) => void;
  without: (number: number) => void;
  course: string;
  station: string;
};

function Boxes({ still, boxes, chosen, set, without, course, station }: Shown) {
  const board = useRef<HTMLDivElement>(null);
  const held = useRef<Held | null>(null);
  const drawing = useSignal<FaceBox | null>(null);
  const place = (event: PointerEvent) => {
    const shown = board.current?.getBoundingClientRect() ?? { left: 0, top: 0, width: 1, height: 1 };
    return toStill({ x: event.clientX, y: event.clientY }, shown, still);
  };
  const down = (event: PointerEvent) => {
    if (event.button !== 0) return;
    const target = event.target as HTMLElement;
    const number = target.closest<HTMLElement>("[data-face]")?.dataset.face;
    const grip = number === undefined ? "draw" : target.classList.contains("face-size") ? "size" : "move";
    held.current = { at: number === undefined ? null : Number(number), grip, from: place(event), before: null };
    held.current.before = held.current.at === null ? null : (boxes.value[held.current.at] ?? null);
    chosen.value = held.current.at;
    board.current?.setPointerCapture(event.pointerId);
  };
  const changed = (event: PointerEvent): FaceBox | null => {
    const now = held.current;
    if (!now) return null;
    const to = place(event);
    const by = { x: to.x - now.from.x, y: to.y - now.from.y };
    if (now.grip === "draw" || !now.before) return boxBetween(now.from, to, still);
    return now.grip === "move" ? boxMoved(now.before, by, still) : boxSized(now.before, by, still);
  };
  const move = (event: PointerEvent) => {
    if (held.current) drawing.value = changed(event);
  };
  const up = (event: PointerEvent) => {
    const now = held.current;
    const box = changed(event);
    held.current = null;
    drawing.value = null;
    if (!now || !box) return;
    if (now.at === null) {
      set([...boxes.value, box]);
      chosen.value = boxes.value.length - 1;
    } else if (box.join() !== now.before?.join()) set(boxes.value.map((each, number) => (number === now.at ? box : each)));
  };
  const keys = (event: KeyboardEvent, number: number) => {
    const step = still.width / 100;
    const by = { ArrowLeft: { x: -step, y: 0 }, ArrowRight: { x: step, y: 0 }, ArrowUp: { x: 0, y: -step }, ArrowDown: { x: 0, y: step } }[
      event.key
    ];
    const change = event.shiftKey ? boxSized : boxMoved;
    if (by) set(boxes.value.map((each, at) => (at === number ? change(each, by, still) : each)));
    else if (event.key === "Delete" || event.key === "Backspace") without(number);
    else return;
    event.preventDefault();
  };
  const leave = () => {
    held.current = null;
    drawing.value = null;
  };
  return (
    <div
      ref={board}
      class="board face-board"
      onPointerDown={down}
      onPointerMove={move}
      onPointerUp={up}
      onPointerCancel={leave}
      style={{ aspectRatio: `${still.width} / ${still.height}`, width: `min(100%, ${(78 * still.width) / still.height}vh)` }}
    >
      <img src={pictureAt(course, station, still.id, 1280)} alt="" width={still.width} height={still.height} draggable={false} />
      {boxes.value.map((box, number) => (
        <button
          key={number}
          type="button"
          data-face={number}
          class={`face face-held${chosen.value === number ? " chosen" : ""}`}
          aria-label={s.face(number + 1)}
          aria-description={s.faceKeys}
          style={placed(drawing.value && held.current?.at === number ? drawing.value : box, still)}
          onFocus={() => {
            chosen.value = number;
          }}
          onKeyDown={(event) => keys(event, number)}
        >
          <span class="face-size" aria-hidden="true" />
        </button>
      ))}
      {drawing.value && held.current?.at === null && <span class="face" style={placed(drawing.value, still)} aria-hidden="true" />}
    </div>
  );
}
