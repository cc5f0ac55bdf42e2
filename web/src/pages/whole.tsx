/** The whole course: where it stands and what to do next, what is open, its stations, the rules of every station, and its editions. */

import { useSignal } from "@preact/signals";
import { type CourseView, type Edition, type Finding, type Output, pictureAt, type StationView } from "../api";
import { capital, Evidence, Link, Tape, when } from "../components/bits";
import { Findings } from "../components/findings";
import { Sure } from "../components/sheet";
import { clock } from "../geometry/clock";
import { type CourseModel, nextStep } from "../models/course";
import { to } from "../models/route";
import { blanketSentence } from "../models/words";
import { strings } from "../strings";

const s = strings.course;
const STATES = ["taken in", "drafted", "ready", "published"] as const;
const CAPTIONS = "captions/";
type Part = { model: CourseModel; view: CourseView };

export function Whole({ model, view }: Part) {
  const step = nextStep(view);
  const open = view.findings.filter((finding) => finding.severity !== "note" && finding.kind !== "not-accepted");
  // What only wants a look stands at its station; here is what holds the course back, and what is of no station.
  const first = open.filter((finding) => finding.severity === "blocks" || finding.station === null);
  return (
    <div class="whole">
      <header class="whole-head">
        <h1>{view.course.title}</h1>
        <ol class="states">
          {STATES.map((state) => (
            <li key={state} aria-current={view.standing === state ? "step" : undefined}>
              {strings.state[state]}
            </li>
          ))}
        </ol>
        <p class="lead">{s.next[step]}</p>
        {step === "draft" && (
          <button type="button" disabled={model.busy.value} onClick={() => void model.draft()}>
            {s.doDraft}
          </button>
        )}
      </header>
      {view.course.heard.some((each) => each.state === "proposed") && <Heard model={model} view={view} />}
      {open.length > 0 && (
        <section>
          <h2>{s.findings}</h2>
          <Findings findings={sorted(first)} course={view.course.name} />
          {open.length > first.length && <p class="quiet">{s.atStations(open.length - first.length)}</p>}
        </section>
      )}
      <section>
        <h2>{s.stations}</h2>
        <ol class="stations">
          {model.stations.value.map((at) => (
            <li key={at.station.id}>
              <StationStrip at={at} view={view} />
            </li>
          ))}
        </ol>
        {model.stations.value.length > 0 && view.findings.some((finding) => finding.kind === "not-accepted") && (
          <Sure
            ask={s.acceptAll}
            sure={s.acceptAllSure}
            yes={s.yesAll}
            no={s.notYet}
            disabled={model.busy.value}
            act={() => void model.accept(null)}
          />
        )}
      </section>
      <Everywhere model={model} view={view} />
      <Editions model={model} view={view} />
      <section>
        <h2>{s.clips}</h2>
        <ul class="plain-list">
          {view.course.clips.map((clip) => (
            <li key={clip.number}>
              {[
                s.clipRow(clip.number, clip.title, clock(clip.duration_s)),
                clip.captions ? s.fromCaptions : "",
                clip.has_audio ? "" : s.noSound,
              ]
                .filter(Boolean)
                .join(" · ")}
            </li>
          ))}
        </ul>
      </section>
    </div>
  );
}

const WEIGHT = { blocks: 0, warning: 1, note: 2 } as const;

function sorted(findings: readonly Finding[]): Finding[] {
  return [...findings].sort((a, b) => WEIGHT[a.severity] - WEIGHT[b.severity] || (a.station ?? 0) - (b.station ?? 0));
}

function Heard({ model, view }: Part) {
  return (
    <section>
      <h2>{s.heard}</h2>
      <ul class="findings">
        {view.course.heard
          .filter((each) => each.state === "proposed")
          .map((each) => (
            <li key={`${each.heard} ${each.name}`} class="finding finding-warning">
              <p>{s.heardAs(each.heard, each.name)}</p>
              <p class="quiet">{each.reason}</p>
              <p class="row">
                <button
                  type="button"
                  disabled={model.busy.value}
                  onClick={() => void model.editCourse([{ do: "accept-name", heard: each.heard, name: each.name }])}
                >
                  {s.yesName(each.name)}
                </button>
                <button
                  type="button"
                  class="plain"
                  disabled={model.busy.value}
                  onClick={() => void model.editCourse([{ do: "decline-name", heard: each.heard, name: each.name }])}
                >
                  {s.noName}
                </button>
              </p>
            </li>
          ))}
      </ul>
    </section>
  );
}

function StationStrip({ at, view }: { at: StationView; view: CourseView }) {
  const { station } = at;
  const still = station.stills[0];
  const open = view.plates.find((plate) => plate.id === station.id)?.findings ?? 0;
  return (
    <article class="strip">
      <Tape>{station.number}</Tape>
      <div class="strip-body">
        <h3>
          <Link href={to.station(view.course.name, station.number)}>{capital(station.name ?? strings.station.unnamed)}</Link>
        </h3>
        <p>{strings.station.limbs(station.contact)}</p>
        <p class="quiet">{[strings.standing[at.standing], open > 0 ? s.openAtAll(open) : ""].filter(Boolean).join(" · ")}</p>
      </div>
      {still && <img class="strip-picture" src={pictureAt(view.course.name, station.id, still.id, 320)} alt="" loading="lazy" />}
    </article>
  );
}

function Everywhere({ model, view }: Part) {
  const { blanket, format, divisions } = view.course;
  return (
    <section>
      <h2>{s.everywhere}</h2>
      {blanket.length === 0 && <p class="quiet">{s.noEverywhere}</p>}
      <ul class="everywhere">
        {blanket.map((rule) => (
          <li key={rule.id} class={`rule rule-${rule.state}`}>
            <p>
              {blanketSentence(rule)} <span class="item-state">{strings.station[rule.state]}</span>
            </p>
            <Evidence said={rule.said} />
          </li>
        ))}
      </ul>
      <h3>{s.format}</h3>
      {format ? (
        <>
          {format.retries !== null && <p>{s.retries(format.retries)}</p>}
          {format.ranking !== null && <p>{s.ranking(format.ranking)}</p>}
          <Evidence said={format.said} />
        </>
      ) : (
        <p class="quiet">{s.noFormat}</p>
      )}
      {divisions.length > 0 && <p>{s.divisions(divisions)}</p>}
      {(blanket.some((rule) => rule.state === "draft") || (format && !view.course.format_by_hand)) && (
        <button type="button" disabled={model.busy.value} onClick={() => void model.editCourse([{ do: "accept-course" }])}>
          {s.acceptCourse}
        </button>
      )}
    </section>
  );
}

function Editions({ model, view }: Part) {
  const e = strings.editions;
  const address = useSignal("");
  const next = (view.editions.at(-1)?.number ?? 0) + 1;
  const blocked = view.plates.length === 0 || view.findings.some((finding) => finding.severity === "blocks");
  const publish = (event: Event) => {
    event.preventDefault();
    void model.publish(address.value);
  };
  return (
    <section>
      <h2>{e.title}</h2>
      {view.editions.length === 0 && <p class="quiet">{e.none}</p>}
      <ol class="editions" reversed>
        {[...view.editions].reverse().map((edition) => (
          <li key={edition.number}>
            <OneEdition edition={edition} model={model} newest={edition.number === next - 1} />
          </li>
        ))}
      </ol>
      {view.unpublished && (
        <form class="publish" onSubmit={publish}>
          <div class="field">
            <label for="address">{e.address}</label>
            <p id="address-help" class="quiet">
              {e.addressHelp}
            </p>
            <input
              id="address"
              type="url"
              inputMode="url"
              placeholder="https://"
              aria-describedby="address-help"
              value={address.value}
              onInput={(event) => {
                address.value = event.currentTarget.value;
              }}
            />
          </div>
          <button type="submit" disabled={model.busy.value || blocked}>
            {e.publish(next)}
          </button>
          {blocked && <p class="quiet">{e.blocked}</p>}
        </form>
      )}
    </section>
  );
}

function OneEdition({ edition, model, newest }: { edition: Edition; model: Part["model"]; newest: boolean }) {
  const e = strings.editions;
  const captions = edition.outputs.filter((output) => output.kind.startsWith(CAPTIONS));
  const filmed = edition.outputs.some((output) => output.kind === "films");
  return (
    <article class="edition">
      <p>
        <strong>{e.line(edition.number, when(edition.at), edition.who)}</strong> <code class="code">{edition.code}</code>
      </p>
      {edition.outputs.length === 0 && <p class="quiet">{e.writing}</p>}
      <Outputs outputs={edition.outputs.filter((output) => !output.kind.startsWith(CAPTIONS))} />
      {captions.length > 0 && (
        <details>
          <summary>{e.captions(captions.length)}</summary>
          <Outputs outputs={captions} />
        </details>
      )}
      {newest && edition.outputs.length > 0 && !filmed && (
        <>
          <button type="button" class="plain" disabled={model.busy.value} onClick={() => void model.films(edition.number)}>
            {e.films}
          </button>
          <p class="quiet">{e.filmsHelp}</p>
        </>
      )}
    </article>
  );
}

function Outputs({ outputs }: { outputs: readonly Output[] }) {
  return (
    <ul>
      {outputs.map((output) => (
        <li key={output.kind}>
          <a href={output.address}>{outputName(output)}</a>{" "}
          {output.size_bytes !== null && <span class="quiet">{size(output.size_bytes)}</span>}
        </li>
      ))}
    </ul>
  );
}

function outputName(output: Output): string {
  const [folder, file] = output.kind.split("/");
  const known = strings.editions.outputs[output.kind] ?? (folder ? strings.editions.outputs[folder] : undefined);
  return file && known ? `${known}: ${file}` : (known ?? file ?? output.kind);
}

export function size(bytes: number): string {
  return bytes < 1_000_000 ? `${Math.max(1, Math.round(bytes / 1000))} kB` : `${(bytes / 1_000_000).toFixed(1)} MB`;
}
