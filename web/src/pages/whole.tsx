/** The whole course: where it stands and what to do next, what is open, its stations, the rules of every station, and its editions. */

import { useState } from "preact/hooks";
import type { CourseView, Edit, Finding } from "../api";
import { AddClip } from "../components/addclip";
import { Link } from "../components/bits";
import { WalkCaptions } from "../components/captions";
import { Editions } from "../components/editions";
import { Everywhere } from "../components/everywhere";
import { TextField } from "../components/fields";
import { Findings } from "../components/findings";
import { Whose } from "../components/half";
import { TourOffer } from "../components/help";
import { AllNames } from "../components/naming";
import { HowItReads } from "../components/reading";
import { RemoveCourse } from "../components/removing";
import { Sure } from "../components/sheet";
import { StationList } from "../components/stationlist";
import { clock } from "../geometry/clock";
import { type CourseModel, type NextStep, nextStep } from "../models/course";
import { mends } from "../models/mends";
import { to } from "../models/route";
import { nextStation, openEnds, steps, toLookAt } from "../models/steps";
import { short } from "../models/words";
import { strings } from "../strings";

const s = strings.course;
type Part = { model: CourseModel; view: CourseView };

export function Whole({ model, view }: Part) {
  const step = nextStep(view);
  // Names that may have been heard wrong are asked for in a place of their own.
  const open = toLookAt(view).filter((finding) => finding.kind !== "name-heard-wrong" || finding.station !== null);
  // What only wants a look stands at its station; here is what holds the course back, and what is of no station or of two.
  const first = open.filter((finding) => finding.severity === "blocks" || finding.station === null || finding.other !== null);
  if (isUnread(view, step))
    return (
      <div class="whole">
        <Head model={model} view={view} step={step} />
        <Film view={view} />
        <RemoveCourse model={model} view={view} />
      </div>
    );
  return (
    <Whose.Provider value={model.name}>
      <div class="whole">
        {view.plates[0] && <TourOffer course={view.course.name} station={view.plates[0].number} />}
        <Head model={model} view={view} step={step} />
        {view.course.heard.some((each) => each.state === "proposed") && <Heard model={model} view={view} />}
        {open.length > 0 && (
          <section>
            <h2>{s.findings}</h2>
            <Findings findings={sorted(first)} course={view.course.name} hand={ofCourse(model)} />
            {open.length > first.length && <p class="quiet">{s.atStations(open.length - first.length)}</p>}
          </section>
        )}
        <section>
          <h2>{s.stations}</h2>
          <StationList model={model} view={view} />
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
        <AllNames model={model} view={view} />
        <HowItReads model={model} view={view} />
        <WalkCaptions model={model} view={view} />
        <Editions model={model} view={view} />
        <Film view={view} model={model} />
        {view.plates[0] && <TourOffer course={view.course.name} station={view.plates[0].number} again />}
        <RemoveCourse model={model} view={view} />
      </div>
    </Whose.Provider>
  );
}

/** While nothing is read yet there is nothing to say of stations and rules, not even that none was said. */
const isUnread = (view: CourseView, step: NextStep) => step === "wait" && view.course.state === "taken in" && view.plates.length === 0;

function Film({ view, model }: Pick<Part, "view"> & { model?: CourseModel }) {
  return (
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
      {model && <AddClip model={model} view={view} />}
    </section>
  );
}

const LONGEST_TITLE = 120;

function Head({ model, view, step }: Part & { step: NextStep }) {
  const p = strings.coursePage;
  const [renaming, setRenaming] = useState(false);
  const next = nextStation(model.stations.value);
  const name = next ? short(next.station.name ?? "") : "";
  const toSign = (step === "publish" || step === "republish") && next?.standing === "accepted";
  const publishing = step === "wait" && view.job?.kind === "publish";
  const { look, unsigned } = openEnds(view);
  const booklet = view.editions.at(-1)?.outputs.find((output) => output.kind === "booklet");
  return (
    <header class="whole-head">
      <div class="title-line">
        <h1>{view.course.title}</h1>
        <button type="button" class="plain small quiet-hand" aria-expanded={renaming} onClick={() => setRenaming(!renaming)}>
          {renaming ? p.close : p.changeTitle}
        </button>
      </div>
      {renaming && (
        <TextField
          label={p.title}
          value={view.course.title}
          since={null}
          needed
          most={LONGEST_TITLE}
          keep={(title) => void model.editCourse([{ do: "rename-course", title }])}
        />
      )}
      <ol class="states" aria-label={p.steps}>
        {steps(view, model.stations.value).map((each) => (
          <li key={each.name} class={each.done === each.all ? "step-done" : "step-open"}>
            <span>{p.step[each.name]}</span>{" "}
            {each.done === each.all ? <span class="unseen">{p.done}</span> : each.all > 1 && <b>{p.of(each.done, each.all)}</b>}
          </li>
        ))}
      </ol>
      <p class="lead">
        {isUnread(view, step) ? s.unread : publishing ? s.next.publishing : toSign && step === "publish" ? p.sign : s.next[step]}
        {step === "nothing" && ` ${s.rest(look, unsigned)}`}
      </p>
      <p class="row">
        {step === "draft" && (
          <button type="button" disabled={model.busy.value} onClick={() => void model.draft()}>
            {s.doDraft}
          </button>
        )}
        {next && (step === "look" || step === "accept" || toSign) && (
          <Link href={to.station(view.course.name, next.station.number)} class="button">
            {toSign ? p.goSign(next.station.number, name) : p.goOn(next.station.number, name)}
          </Link>
        )}
        {publishing && (
          <a class="button plain" href="#editions">
            {p.toProgress}
          </a>
        )}
        {step === "accept-rules" && (
          <a class="button" href="#everywhere">
            {p.toRules}
          </a>
        )}
        {(step === "publish" || step === "republish") && (
          <a class={toSign ? "button plain" : "button"} href="#editions">
            {p.toPublish}
          </a>
        )}
        {step === "nothing" && booklet && (
          <a class="button" href={booklet.address}>
            {p.toBooklet}
          </a>
        )}
      </p>
    </header>
  );
}

/** What can be done about a finding from here: put it aside, or the mend that it has at its station. */
function ofCourse(model: CourseModel) {
  const at = (number: number | null) => (number === null ? null : (model.station(number)?.station ?? null));
  return {
    mends: (finding: Finding) => {
      const station = at(finding.station);
      const find = (id: string) => model.stations.value.find((each) => each.station.id === id)?.station ?? null;
      return station ? mends(finding, station, { before: at(station.number - 1), after: at(station.number + 1), find }) : [];
    },
    edit: (edits: readonly Edit[]) => void model.editCourse([...edits]),
  };
}

const WEIGHT = { blocks: 0, warning: 1, note: 2 } as const;

function sorted(findings: readonly Finding[]): Finding[] {
  const weight = (each: Finding) => (each.other === null ? WEIGHT[each.severity] : -1); // what joining mends need not be mended first
  return [...findings].sort((a, b) => weight(a) - weight(b) || (a.station ?? 0) - (b.station ?? 0));
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
