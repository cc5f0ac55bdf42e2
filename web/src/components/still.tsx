/** A still with its marks: tap a spot, or move the cross with the arrow keys, to ask what holds there. */

import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { api, type Limb, pictureAt, type Station, type Still } from "../api";
import { clock } from "../geometry/clock";
import { type Point, stepped, toStill } from "../geometry/point";
import { AskModel } from "../models/ask";
import { strings } from "../strings";
import { Evidence } from "./bits";

type Shown = {
  course: string;
  station: Station;
  still: Still;
  divisions: readonly string[];
  revision: string;
  lit: string | null;
  /** Called when somebody says that every face is inside a box; null while that is being saved. */
  facesSeen: (() => void) | null;
};

export function StillView({ course, station, still, divisions, revision, lit, facesSeen }: Shown) {
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
        {!still.faces_shown && still.faces?.map((box) => <Face key={box.join(" ")} box={box} still={still} />)}
        {cross && <Cross point={cross} still={still} />}
      </div>
      <figcaption>
        <span>{strings.still.at(clock(still.time_s))}</span>
        {marked && (
          <label class="switch">
            <input type="checkbox" checked={marks} onChange={(event) => setMarks(event.currentTarget.checked)} /> {strings.still.marks}
          </label>
        )}
      </figcaption>
      {still.why && <p class="quiet">{strings.still.why(still.why)}</p>}
      <Faces still={still} seen={facesSeen} />
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

function Face({ box: [left, top, right, bottom], still }: { box: readonly [number, number, number, number]; still: Still }) {
  const share = (length: number, of: number) => `${(length / of) * 100}%`;
  return (
    <span
      class="face"
      style={{
        left: share(left, still.width),
        top: share(top, still.height),
        width: share(right - left, still.width),
        height: share(bottom - top, still.height),
      }}
      aria-hidden="true"
    />
  );
}

/** What will be blurred when it is published, and the word of a person who looked. */
function Faces({ still, seen }: { still: Still; seen: (() => void) | null }) {
  const s = strings.still;
  if (still.faces_shown) return <p class="quiet">{s.facesShown(still.faces_shown.by, still.faces_shown.because)}</p>;
  if (still.faces === null) return null;
  if (still.faces_by) return <p class="quiet">{s.facesSeen(still.faces.length, still.faces_by)}</p>;
  return (
    <div class="faces">
      <p>{s.faces(still.faces.length)}</p>
      <button type="button" class="plain" disabled={seen === null} onClick={() => seen?.()}>
        {s.facesCovered}
      </button>
    </div>
  );
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
  const limbs: readonly [Limb | null, string][] = [
    [null, s.anything],
    ["hands", s.hands],
    ["feet", s.feet],
  ];
  return (
    <div class="asking">
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
      <div class="answer" aria-live="polite">
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
    </div>
  );
}
