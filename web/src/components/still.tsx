/** A still with its marks: tap a spot, or move the cross with the arrow keys, to ask what holds there. */

import type { ComponentChildren } from "preact";
import { useEffect, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import { api, type Limb, pictureAt, type Station, type StationView, type Still } from "../api";
import { clock } from "../geometry/clock";
import { type Point, stepped, toStill } from "../geometry/point";
import { begunOn } from "../marking/begun";
import { FaceBoard, FaceBoxes, Faces } from "../marking/faces";
import { Marking } from "../marking/marking";
import { AskModel } from "../models/ask";
import type { CourseModel } from "../models/course";
import { strings } from "../strings";
import { Evidence } from "./bits";
import { StillWords } from "./stillwords";

type Shown = {
  model: CourseModel;
  at: StationView;
  still: Still;
  lit: string | null;
  /** Points at a surface, so that its line of the sheet answers. */
  point: (surface: string | null) => void;
  /** Called when somebody has said that its faces are covered. */
  looked: () => void;
};

/** A still: to be marked where nothing is marked on it yet or an outline was begun, else to be asked; the other one is a button away. */
export function StillView(shown: Shown) {
  const { at, still } = shown;
  const marked = at.station.marks.some((mark) => mark.still === still.id);
  const [marking, setMarking] = useState(() => !marked || begunOn(shown.model.name, at.station.id, still.id) !== null);
  const [boxing, setBoxing] = useState(false);
  const turn = (
    <button type="button" class="plain small" onClick={() => setMarking(!marking)}>
      {marking ? strings.marking.end : strings.marking.begin}
    </button>
  );
  if (boxing) return <FaceBoard model={shown.model} at={at} still={still} leave={() => setBoxing(false)} />;
  const faces = (
    <>
      <Faces model={shown.model} at={at} still={still} change={() => setBoxing(true)} looked={shown.looked} />
      <StillWords model={shown.model} at={at} still={still} />
    </>
  );
  if (marking) return <Marking {...shown} turn={marked ? turn : null} faces={faces} />;
  const { model } = shown;
  return (
    <AskedStill
      course={model.name}
      station={at.station}
      still={still}
      divisions={model.view.value?.course.divisions ?? []}
      revision={`${model.view.value?.revision} ${at.revision} ${model.waiting.value.length}`}
      lit={shown.lit}
      turn={turn}
      faces={faces}
    />
  );
}

type Asked = {
  course: string;
  station: Station;
  still: Still;
  divisions: readonly string[];
  revision: string;
  lit: string | null;
  turn: ComponentChildren;
  faces: ComponentChildren;
};

function AskedStill({ course, station, still, divisions, revision, lit, turn, faces }: Asked) {
  const ask = useMemo(() => new AskModel(course, station.id, still.id), [course, station.id, still.id]);
  const [marks, setMarks] = useState(true);
  const [cross, setCross] = useState<Point | null>(null);
  const svg = useOverlay(course, station.id, still.id, ask.division.value, revision);
  const board = useRef<HTMLDivElement>(null);
  const overlay = useRef<HTMLDivElement>(null);
  const marked = station.marks.some((mark) => mark.still === still.id);
  const name = strings.station.title(station.number, station.name ?? strings.station.unnamed);

  useEffect(() => {
    for (const shape of overlay.current?.querySelectorAll("[data-surface]") ?? [])
      shape.classList.toggle("lit", shape.getAttribute("data-surface") === lit);
  }, [lit, svg]);

  const put = (point: Point) => {
    setCross(point);
    void ask.at(point);
  };
  const tap = (event: MouseEvent) => {
    const shown = board.current?.getBoundingClientRect();
    if (shown && marked) put(toStill({ x: event.clientX, y: event.clientY }, shown, still));
  };
  const keys = (event: KeyboardEvent) => {
    const here = cross ?? { x: still.width / 2, y: still.height / 2 };
    const next = stepped(here, event.key, event.shiftKey, still);
    if (next) setCross(next);
    else if (event.key === "Enter" || event.key === " ") put(here);
    else if (event.key === "Escape") {
      setCross(null);
      ask.forget();
    } else return;
    event.preventDefault();
  };
  return (
    <figure class="still">
      {/* biome-ignore lint/a11y/noStaticElementInteractions: it has a role, which the linter cannot see through the condition */}
      {/* biome-ignore lint/a11y/useAriaPropsSupportedByRole: both of its roles take a label */}
      <div
        ref={board}
        class="board"
        role={marked ? "application" : "group"}
        aria-label={marked ? strings.still.picture(name, clock(still.time_s)) : strings.still.at(clock(still.time_s))}
        tabIndex={marked ? 0 : undefined}
        onClick={tap}
        onKeyDown={marked ? keys : undefined}
        style={{ aspectRatio: `${still.width} / ${still.height}`, width: `min(100%, ${(78 * still.width) / still.height}vh)` }}
      >
        <img
          src={pictureAt(course, station.id, still.id, 1280)}
          srcSet={[640, 960, 1280, 1920].map((width) => `${pictureAt(course, station.id, still.id, width)} ${width}w`).join(", ")}
          sizes="(min-width: 62rem) 56vw, 100vw"
          alt=""
          width={still.width}
          height={still.height}
          decoding="async"
        />
        {/* Drawn and escaped by our own server, and the page's policy runs no script from it */}
        {marks && svg && <div ref={overlay} class="overlay" aria-hidden="true" dangerouslySetInnerHTML={{ __html: svg }} />}
        <FaceBoxes still={still} />
        {cross && <Cross point={cross} still={still} />}
      </div>
      <figcaption>
        <span>{strings.still.at(clock(still.time_s))}</span>
        {turn}
        {marked && (
          <label class="switch">
            <input type="checkbox" checked={marks} onChange={(event) => setMarks(event.currentTarget.checked)} /> {strings.still.marks}
          </label>
        )}
      </figcaption>
      {marked ? (
        <Asking
          ask={ask}
          divisions={divisions}
          put={() => {
            setCross(null);
            ask.forget();
          }}
        />
      ) : (
        <p class="quiet">{strings.still.noMarks}</p>
      )}
      {still.why && <p class="quiet">{strings.still.why(still.why)}</p>}
      {faces}
    </figure>
  );
}

function useOverlay(course: string, station: string, still: string, division: string | null, revision: string): string | null {
  const [svg, setSvg] = useState<string | null>(null);
  // The revision is no part of the address, but another one may have other marks.
  useEffect(() => {
    let current = true;
    void api.overlay(course, station, still, division).then((answer) => {
      if (current && answer.kind === "ok") setSvg(answer.value);
    });
    return () => {
      current = false;
    };
  }, [course, station, still, division, revision]);
  return svg;
}

function Cross({ point, still }: { point: Point; still: Still }) {
  return (
    <span
      class="cross"
      style={{ left: `${(point.x / still.width) * 100}%`, top: `${(point.y / still.height) * 100}%` }}
      aria-hidden="true"
    />
  );
}

function Asking({ ask, divisions, put }: { ask: AskModel; divisions: readonly string[]; put: () => void }) {
  const asked = ask.asked.value;
  const s = strings.still;
  const told = useRef<HTMLDivElement>(null);
  useLayoutEffect(() => {
    if (asked) told.current?.scrollIntoView({ block: "nearest" }); // who asks at the picture reads the answer without looking for it
  }, [asked]);
  const limbs: readonly [Limb | null, string][] = [
    [null, s.anything],
    ["hands", s.hands],
    ["feet", s.feet],
  ];
  return (
    <div class="asking">
      <div ref={told} class="answer" aria-live="polite">
        {asked === null && <p class="quiet">{s.ask}</p>}
        {asked && !asked.answer && !asked.sentence && <p class="quiet">{s.asking}</p>}
        {asked?.sentence && <p>{asked.sentence}</p>}
        {asked?.answer && (
          <>
            <p>
              <strong class={`verdict verdict-${asked.answer.ruling.replaceAll(" ", "-")}`}>{s.ruling[asked.answer.ruling]}</strong>{" "}
              {asked.answer.because}
            </p>
            <Evidence said={asked.answer.said} />
          </>
        )}
        {asked && (
          <button type="button" class="plain" onClick={put}>
            {s.close}
          </button>
        )}
      </div>
      <fieldset>
        <legend>{s.with}</legend>
        {limbs.map(([limb, word]) => (
          <label key={word}>
            <input
              type="radio"
              name="limb"
              checked={ask.limb.value === limb}
              onChange={() => {
                ask.limb.value = limb;
                void ask.again();
              }}
            />{" "}
            {word}
          </label>
        ))}
      </fieldset>
      {divisions.length > 0 && (
        <label class="division">
          {s.division}{" "}
          <select
            value={ask.division.value ?? ""}
            onChange={(event) => {
              ask.division.value = event.currentTarget.value || null;
              void ask.again();
            }}
          >
            <option value="">{s.everyone}</option>
            {divisions.map((each) => (
              <option key={each} value={each}>
                {each}
              </option>
            ))}
          </select>
        </label>
      )}
    </div>
  );
}
