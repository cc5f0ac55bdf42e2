/** The stations of a course in their order, each with its picture and what is open, and hands to order, split, join, add and take out. */

import { useSignal } from "@preact/signals";
import { useState } from "preact/hooks";
import { type CourseView, type Edit, pictureAt, type Station, type StationView } from "../api";
import { clock } from "../geometry/clock";
import type { CourseModel } from "../models/course";
import { to } from "../models/route";
import { readClock } from "../models/steps";
import { short } from "../models/words";
import { strings } from "../strings";
import { capital, Link, Tape } from "./bits";
import { Line } from "./fields";
import { useHalf } from "./half";

const s = strings.coursePage;
type Shown = { model: CourseModel; view: CourseView };

export function StationList({ model, view }: Shown) {
  const said = useSignal("");
  const dragged = useSignal<number | null>(null);
  const over = useSignal<number | null>(null);
  const stations = model.stations.value;
  const move = (station: Station, place: number) => {
    if (place < 1 || place > stations.length || place === station.number) return;
    void model.editCourse([{ do: "move-station", station: station.number, to: place }]);
    said.value = s.moved(called(station), place);
  };
  const drop = () => {
    const station = stations.find((at) => at.station.number === dragged.value)?.station;
    if (station && over.value !== null) move(station, over.value);
    dragged.value = null;
    over.value = null;
  };
  return (
    <>
      {stations.length === 0 && view.course.state !== "taken in" && (
        <div class="row">
          <p>{s.emptyStations}</p>
          <Link href={to.walk(view.course.name)} class="button">
            {s.emptyListen}
          </Link>
        </div>
      )}
      <ol class="stations">
        {stations.map((at) => {
          const { number, id } = at.station;
          return (
            <li
              key={id}
              class={over.value === number && dragged.value !== number ? "drop-here" : undefined}
              onDragOver={(event) => {
                if (dragged.value === null) return;
                event.preventDefault();
                over.value = number;
              }}
              onDrop={(event) => {
                event.preventDefault();
                drop();
              }}
            >
              <Strip
                at={at}
                view={view}
                model={model}
                next={stations[number]?.station ?? null}
                move={(by) => move(at.station, number + by)}
                drag={(on) => {
                  dragged.value = on ? number : null;
                  over.value = null;
                }}
              />
            </li>
          );
        })}
      </ol>
      <p class="unseen" role="status">
        {said.value}
      </p>
      {view.course.state !== "taken in" && <AddStation model={model} />}
    </>
  );
}

const called = (station: Station) => short(station.name ?? strings.finding.atStation(station.number));

type OneStrip = Shown & { at: StationView; next: Station | null; move: (by: number) => void; drag: (on: boolean) => void };

function Strip({ model, at, view, next, move, drag }: OneStrip) {
  const { station } = at;
  const [more, setMore] = useState(false);
  const still = station.stills.find((each) => station.marks.some((mark) => mark.still === each.id)) ?? station.stills[0];
  const open = view.plates.find((plate) => plate.id === station.id)?.findings ?? 0;
  const name = called(station);
  const told = [strings.standing[at.standing], open > 0 ? strings.course.openAtAll(open) : ""];
  return (
    <article class="strip station-strip">
      {/* biome-ignore lint/a11y/noStaticElementInteractions: the arrows below do the same without a mouse */}
      <span
        class="drag"
        title={s.drag}
        draggable
        onDragStart={(event) => {
          event.dataTransfer?.setData("text/plain", String(station.number));
          drag(true);
        }}
        onDragEnd={() => drag(false)}
      >
        <Tape>{station.number}</Tape>
      </span>
      <div class="strip-body">
        <h3>
          <Link href={to.station(view.course.name, station.number)}>{capital(station.name ?? strings.station.unnamed)}</Link>
        </h3>
        <p>{strings.station.limbs(station.contact)}</p>
        <p class="quiet">{told.filter(Boolean).join(" · ")}</p>
      </div>
      {still && <img class="strip-picture" src={pictureAt(view.course.name, station.id, still.id, 320)} alt="" loading="lazy" />}
      <fieldset class="strip-hands">
        <legend class="unseen">{s.hands(name)}</legend>
        <button type="button" class="plain small" disabled={station.number === 1} aria-label={s.earlier(name)} onClick={() => move(-1)}>
          ↑
        </button>
        <button type="button" class="plain small" disabled={next === null} aria-label={s.later(name)} onClick={() => move(1)}>
          ↓
        </button>
        <button type="button" class="plain small" aria-expanded={more} aria-label={s.moreOf(name)} onClick={() => setMore(!more)}>
          {more ? s.close : s.more}
        </button>
      </fieldset>
      {more && <More model={model} station={station} next={next} done={() => setMore(false)} />}
    </article>
  );
}

function More({ model, station, next, done }: { model: CourseModel; station: Station; next: Station | null; done: () => void }) {
  const number = station.number;
  const edit = (each: Edit) => {
    done();
    void model.editCourse([each]);
  };
  return (
    <div class="strip-more">
      <Split station={station} split={(at, name) => edit({ do: "split-station", station: number, at, name })} />
      <div class="row">
        {next && (
          <button type="button" class="plain small" onClick={() => edit({ do: "merge-stations", station: number })}>
            {s.join(called(next))}
          </button>
        )}
        <button type="button" class="plain small" onClick={() => edit({ do: "remove-station", station: number })}>
          {s.remove}
        </button>
        <span class="quiet">{s.removeHelp}</span>
      </div>
    </div>
  );
}

/** Where the second station begins: at the words about one of the surfaces, or at any time. */
function Split({ station, split }: { station: Station; split: (at: number, name: string | null) => void }) {
  const [open, setOpen] = useState(false);
  const [at, setAt] = useState<string | null>(null);
  const [typed, setTyped] = useState("");
  const [half, setName] = useHalf(`split ${station.id}`);
  const name = half ?? "";
  const [tried, setTried] = useState(false);
  if (!open)
    return (
      <p>
        <button type="button" class="plain small" onClick={() => setOpen(true)}>
          {s.split}
        </button>
      </p>
    );
  const moments = [...new Map(station.surfaces.flatMap((each) => each.said.slice(0, 1)).map((said) => [said.start, said.text]))]
    .filter(([start]) => start > station.start && start < station.end)
    .sort(([a], [b]) => a - b);
  const chosen = at ?? (moments.length > 0 ? String(moments.at(-1)?.[0]) : "other");
  const time = chosen === "other" ? readClock(typed) : Number(chosen);
  const fits = time !== null && time > station.start && time < station.end;
  const wrong = tried && !fits ? s.splitWrong(clock(station.start), clock(station.end)) : null;
  return (
    <form
      class="add"
      onSubmit={(event) => {
        event.preventDefault();
        setTried(true);
        if (!fits || time === null) return;
        setName(null);
        split(time, name.trim() || null);
      }}
    >
      <label>
        {s.splitAt}
        <select value={chosen} onChange={(event) => setAt(event.currentTarget.value)}>
          {moments.map(([start, text]) => (
            <option key={start} value={String(start)}>
              {s.splitWords(clock(start), short(text))}
            </option>
          ))}
          <option value="other">{s.splitOther}</option>
        </select>
      </label>
      {chosen === "other" && (
        <label>
          {s.splitTime}
          <input value={typed} inputMode="numeric" aria-invalid={wrong !== null} onInput={(event) => setTyped(event.currentTarget.value)} />
        </label>
      )}
      <Line label={s.splitName} value={name} write={setName} />
      {wrong && (
        <p class="wrong" role="alert">
          {wrong}
        </p>
      )}
      <div class="row">
        <button type="submit" class="small">
          {s.splitGo}
        </button>
        <button type="button" class="plain small" onClick={() => setOpen(false)}>
          {strings.sheet.never}
        </button>
      </div>
    </form>
  );
}

/** A station that nobody spoke of: its name and its place; it lies in the walk where its neighbours meet. */
function AddStation({ model }: { model: CourseModel }) {
  const [half, setName] = useHalf("add a station");
  const [open, setOpen] = useState(half !== null);
  const [began] = useState(half);
  const name = half ?? "";
  const stations = model.stations.value;
  const [after, setAfter] = useState<number | null>(null);
  if (!open)
    return (
      <button type="button" class="plain" onClick={() => setOpen(true)}>
        {s.add}
      </button>
    );
  const place = after ?? stations.length;
  const add = (event: Event) => {
    event.preventDefault();
    const start = stations[place - 1]?.station.end ?? 0;
    const end = Math.max(start, stations[place]?.station.start ?? start);
    void model.editCourse([{ do: "add-station", number: place + 1, name: name.trim() || null, start, end }]);
    setOpen(false);
    setName(null);
    setAfter(null);
  };
  return (
    <form class="add" onSubmit={add}>
      <Line label={s.addName} value={name} write={setName} {...(began === null && { first: "focus" as const })} />
      <label>
        {s.addPlace}
        <select value={String(place)} onChange={(event) => setAfter(Number(event.currentTarget.value))}>
          <option value="0">{s.addFirst}</option>
          {stations.map(({ station }) => (
            <option key={station.id} value={String(station.number)}>
              {s.addAfter(station.number, short(station.name ?? ""))}
            </option>
          ))}
        </select>
      </label>
      <div class="row">
        <button type="submit">{s.addGo}</button>
        <button
          type="button"
          class="plain"
          onClick={() => {
            setOpen(false);
            setName(null);
          }}
        >
          {strings.sheet.never}
        </button>
      </div>
    </form>
  );
}
