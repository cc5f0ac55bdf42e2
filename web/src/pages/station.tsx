/** One station as two leaves: its stills, and its sheet beside them. */

import { useSignal } from "@preact/signals";
import { type CourseView, pictureAt, type StationView } from "../api";
import { capital, Evidence, Link, Tape, when } from "../components/bits";
import { Sheet } from "../components/sheet";
import { StillView } from "../components/still";
import { clock } from "../geometry/clock";
import type { CourseModel } from "../models/course";
import { to } from "../models/route";
import { strings } from "../strings";

const s = strings.station;

export function StationPage({ model, view, at }: { model: CourseModel; view: CourseView; at: StationView }) {
  const { station } = at;
  const lit = useSignal<string | null>(null);
  const findings = view.findings.filter((finding) => finding.station === station.number && finding.kind !== "not-accepted");
  const last = view.plates.at(-1)?.number ?? station.number;
  return (
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
            station={station}
            blanket={view.course.blanket}
            findings={findings}
            lit={lit.value}
            point={(surface) => {
              lit.value = surface;
            }}
          />
          {station.said.length > 0 && (
            <section class="lines">
              <h2>{s.nameAndLimbs}</h2>
              <Evidence said={station.said} />
            </section>
          )}
          <div class="settle">
            {at.standing === "signed" && station.signed_by && <p>{s.isSigned(station.signed_by)}</p>}
            {at.standing === "accepted" && station.accepted_by && <p>{s.isAccepted(station.accepted_by)}</p>}
            {(at.standing === "drafted" || at.standing === "marked") && (
              <>
                <button
                  type="button"
                  disabled={model.busy.value}
                  onClick={() => void model.editStation(at, [{ do: "accept", station: station.number }])}
                >
                  {s.accept(station.number)}
                </button>
                <p class="quiet">{s.acceptHelp}</p>
              </>
            )}
            <p class="quiet">{s.changedBy(at.who, when(at.at))}</p>
          </div>
        </div>
      </div>
      <p class="neighbours">
        {station.number > 1 ? <Link href={to.station(view.course.name, station.number - 1)}>{s.before}</Link> : <span />}
        {station.number < last && <Link href={to.station(view.course.name, station.number + 1)}>{s.after}</Link>}
      </p>
    </article>
  );
}

type Shown = { model: CourseModel; view: CourseView; at: StationView; lit: string | null; point: (surface: string | null) => void };

function Stills({ model, view, at, lit, point }: Shown) {
  const { station } = at;
  const chosen = useSignal<string | null>(null);
  const marked = station.stills.find((still) => station.marks.some((mark) => mark.still === still.id));
  const still = station.stills.find((each) => each.id === chosen.value) ?? marked ?? station.stills[0];
  if (!still) return <p class="leaf-stills quiet">{strings.still.none}</p>;
  return (
    <div class="leaf-stills">
      <StillView key={still.id} model={model} at={at} still={still} lit={lit} point={point} />
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
