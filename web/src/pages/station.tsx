/** One station as two leaves: its stills, and its sheet beside them. */

import { useSignal } from "@preact/signals";
import { useLayoutEffect, useMemo, useRef } from "preact/hooks";
import { type CourseView, pictureAt, type StationView, type Still } from "../api";
import { capital, Link, Tape, when } from "../components/bits";
import { Whose } from "../components/half";
import { naming } from "../components/naming";
import { type Hand, Sheet } from "../components/sheet";
import { StillView } from "../components/still";
import { clock } from "../geometry/clock";
import { begunOn } from "../marking/begun";
import type { CourseModel } from "../models/course";
import { goesInto } from "../models/mends";
import { go, to } from "../models/route";
import { asking, who } from "../models/who";
import { strings } from "../strings";

const s = strings.station;
/** What the foot of the sheet says anyway. */
const SAID_BELOW = new Set(["not-accepted", "not-signed"]);

export function StationPage({ model, view, at }: { model: CourseModel; view: CourseView; at: StationView }) {
  const { station } = at;
  const lit = useSignal<string | null>(null);
  const findings = view.findings.filter((finding) => finding.station === station.number && !SAID_BELOW.has(finding.kind));
  const last = view.plates.at(-1)?.number ?? station.number;
  const neighbour = (by: number) => model.station(station.number + by)?.station ?? null;
  const hand: Hand = {
    edit: (edits, since) => {
      const into = goesInto(edits, station.number);
      if (into === null) return void model.editStation(since ?? at, [...edits]);
      void model.editCourse([...edits]);
      go(to.station(model.name, into)); // this page's station is a part of that one now
    },
    around: {
      before: neighbour(-1),
      after: neighbour(1),
      find: (id) => model.stations.value.find((each) => each.station.id === id)?.station ?? null,
    },
    divisions: view.course.divisions,
    naming: naming(model, view),
  };
  return (
    <Whose.Provider value={`${model.name} ${station.id}`}>
      <article class="station">
        <header class="station-head">
          <Tape>{station.number}</Tape>
          <div>
            <h1>
              <span class="unseen">{station.number}. </span>
              {capital(station.name ?? s.unnamed)}
            </h1>
            <p class="limbs">{s.limbs(station.contact)}</p>
            <p class="quiet">{s.span(clock(station.start), clock(station.end))}</p>
          </div>
        </header>
        <div class="leaves">
          <Stills
            model={model}
            view={view}
            at={at}
            lit={lit.value}
            point={(surface) => {
              lit.value = surface;
            }}
          />
          <div class="leaf-sheet">
            <Sheet
              at={at}
              blanket={view.course.blanket}
              findings={findings}
              lit={lit.value}
              point={(surface) => {
                lit.value = surface;
              }}
              hand={hand}
            />
            <Settle model={model} at={at} last={last} />
          </div>
        </div>
        <p class="neighbours">
          {station.number > 1 ? <Link href={to.station(view.course.name, station.number - 1)}>{s.before}</Link> : <span />}
          {station.number < last && <Link href={to.station(view.course.name, station.number + 1)}>{s.after}</Link>}
        </p>
      </article>
    </Whose.Provider>
  );
}

/** What is left to do with a whole station: accept it, sign it, go on to the next. */
function Settle({ model, at, last }: { model: CourseModel; at: StationView; last: number }) {
  const { station, standing } = at;
  const sh = strings.sheet;
  const same = station.accepted_by !== null && station.accepted_by.toLowerCase() === who.value.toLowerCase();
  const accept = () => void model.editStation(at, [{ do: "accept", station: station.number }]);
  const next = station.number < last ? to.station(model.name, station.number + 1) : to.course(model.name);
  return (
    <div class="settle">
      {standing === "signed" && station.signed_by && <p>{s.isSigned(station.signed_by)}</p>}
      {standing === "accepted" && station.accepted_by && <p>{s.isAccepted(station.accepted_by)}</p>}
      {(standing === "drafted" || standing === "marked") && (
        <>
          <button
            type="button"
            onClick={() => {
              accept();
              go(next);
            }}
          >
            {station.number < last ? sh.acceptOn(station.number, station.number + 1) : sh.acceptLast(station.number)}
          </button>
          <p class="quiet">{s.acceptHelp}</p>
          <button type="button" class="plain small" onClick={accept}>
            {sh.acceptStay}
          </button>
        </>
      )}
      {standing === "accepted" && who.value === "" && (
        <p class="quiet">
          <button
            type="button"
            class="plain small"
            onClick={() => {
              asking.value = true;
            }}
          >
            {strings.who.none}
          </button>{" "}
          {sh.signName}
        </p>
      )}
      {standing === "accepted" && who.value !== "" && same && <p class="quiet">{sh.signOther(station.accepted_by ?? "")}</p>}
      {standing === "accepted" && who.value !== "" && !same && (
        <>
          <button type="button" onClick={() => void model.editStation(at, [{ do: "sign", station: station.number }])}>
            {sh.sign}
          </button>
          <p class="quiet">{sh.signHelp}</p>
        </>
      )}
      {(standing === "accepted" || standing === "signed") && (
        <Link href={next} class="button">
          {station.number < last ? sh.next(station.number + 1) : sh.backToCourse}
        </Link>
      )}
      <p class="quiet">{s.changedBy(at.who, when(at.at))}</p>
    </div>
  );
}

type Shown = { model: CourseModel; view: CourseView; at: StationView; lit: string | null; point: (surface: string | null) => void };

function Stills({ model, view, at, lit, point }: Shown) {
  const { station } = at;
  const chosen = useSignal<string | null>(null);
  const leaf = useRef<HTMLDivElement>(null);
  const wentOn = useRef(false);
  const marked = station.stills.find((still) => station.marks.some((mark) => mark.still === still.id));
  const begun = useMemo(() => station.stills.find((still) => begunOn(model.name, station.id, still.id))?.id, [model, station.id]);
  const still = station.stills.find((each) => each.id === (chosen.value ?? begun)) ?? marked ?? station.stills[0];
  useLayoutEffect(() => {
    if (wentOn.current) leaf.current?.querySelector<HTMLElement>(".board")?.focus({ preventScroll: true });
    wentOn.current = false;
  }, [still?.id]);
  if (!still) return <p class="leaf-stills quiet">{strings.still.none}</p>;
  /** After the word that a still's faces are covered: the next still that nobody looked at; after the last one, what closes the station. */
  const onward = (from: Still) => {
    if (station.marks.length === 0) return; // marking comes first
    const next = station.stills.find((each) => each.id !== from.id && each.faces !== null && !each.faces_by && !each.faces_shown);
    wentOn.current = next !== undefined;
    if (next) chosen.value = next.id;
    else document.querySelector<HTMLElement>(".settle button")?.focus();
  };
  return (
    <div ref={leaf} class="leaf-stills">
      <StillView key={still.id} model={model} at={at} still={still} lit={lit} point={point} looked={() => onward(still)} />
      {station.stills.length > 1 && (
        <ul class="other-stills">
          {station.stills.map((each, place) => (
            <li key={each.id}>
              <button
                type="button"
                aria-pressed={each.id === still.id}
                aria-label={strings.still.which(place + 1, station.stills.length, clock(each.time_s))}
                onClick={() => {
                  chosen.value = each.id;
                }}
              >
                <img src={pictureAt(view.course.name, station.id, each.id, 320)} alt="" loading="lazy" />
                <span>{clock(each.time_s)}</span>
              </button>
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}
