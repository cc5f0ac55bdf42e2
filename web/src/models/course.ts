/** One course as it stands on the server, with its stations, the job that works on it, and what a person can do to the whole. */

import { computed, signal } from "@preact/signals";
import { type Answer, api, type CourseView, type Edit, type Job, type Problem, type StationView } from "../api";
import { strings } from "../strings";
import { isOpen } from "./job";

const POLL_MS = 1000;
const QUIET_POLL_MS = 5000;

export class CourseModel {
  readonly view = signal<CourseView | null>(null);
  readonly stations = signal<readonly StationView[]>([]);
  readonly missing = signal<string | null>(null);
  /** What the server said to the last thing that could not be done. */
  readonly problem = signal<Problem | null>(null);
  readonly busy = signal(false);
  readonly job = computed<Job | null>(() => this.view.value?.job ?? null);
  private timer: ReturnType<typeof setTimeout> | undefined;
  private closed = false;

  constructor(readonly name: string) {}

  /** Loads, and keeps up with what others do: each second while a job is open, else now and then. */
  async open(): Promise<void> {
    await this.load();
    if (!this.closed) this.timer = setTimeout(() => this.open(), this.job.value && isOpen(this.job.value) ? POLL_MS : QUIET_POLL_MS);
  }

  close(): void {
    this.closed = true;
    clearTimeout(this.timer);
  }

  async load(): Promise<void> {
    const [course, stations] = await Promise.all([api.course(this.name), api.stations(this.name)]);
    if (course.kind === "ok" && stations.kind === "ok") {
      this.missing.value = null;
      if (JSON.stringify(course.value) !== JSON.stringify(this.view.value)) this.view.value = course.value;
      if (JSON.stringify(stations.value.stations) !== JSON.stringify(this.stations.value)) this.stations.value = stations.value.stations;
    } else if (course.kind === "problem") {
      this.missing.value = course.problem.sentence;
    }
  }

  station(number: number): StationView | null {
    return this.stations.value.find((at) => at.station.number === number) ?? null;
  }

  accept(station: number | null): Promise<boolean> {
    return this.does(() => api.accept(this.name, station));
  }

  draft(): Promise<boolean> {
    return this.does(() => api.draft(this.name));
  }

  publish(address: string): Promise<boolean> {
    return this.does(() => api.publish(this.name, address));
  }

  films(edition: number): Promise<boolean> {
    return this.does(() => api.films(this.name, edition));
  }

  stop(job: string): Promise<boolean> {
    return this.does(() => api.stop(job));
  }

  editCourse(edits: Edit[]): Promise<boolean> {
    const base = this.view.value?.revision;
    return base === undefined ? Promise.resolve(false) : this.does(() => api.editCourse(this.name, base, edits));
  }

  editStation(at: StationView, edits: Edit[]): Promise<boolean> {
    return this.does(() => api.editStation(this.name, at.station.id, at.revision, edits));
  }

  /** One thing at a time: do it, keep what was wrong, look again. */
  private async does(step: () => Promise<Answer<unknown>>): Promise<boolean> {
    if (this.busy.value) return false;
    this.busy.value = true;
    this.problem.value = null;
    const answer = await step();
    if (answer.kind === "problem") this.problem.value = answer.problem;
    if (answer.kind === "away") this.problem.value = awayProblem();
    await this.load();
    this.busy.value = false;
    if (answer.kind === "ok" && !this.closed) {
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.open(), POLL_MS);
    }
    return answer.kind === "ok";
  }
}

export function awayProblem(): Problem {
  return { kind: "away", sentence: strings.line.awayNow, reasons: [], course: null, offset: null, current: null, mine: null, theirs: null };
}

/** What to do next with a course, in the order in which it is done. */
export type NextStep = "wait" | "draft" | "no-station" | "look" | "accept" | "publish" | "republish" | "nothing";

export function nextStep(view: CourseView): NextStep {
  if (view.job && isOpen(view.job) && view.job.kind !== "films") return "wait"; // films give way to everything
  if (view.course.state === "taken in") return "draft";
  if (view.plates.length === 0) return "no-station";
  const blocks = view.findings.filter((finding) => finding.severity === "blocks");
  if (blocks.some((finding) => finding.kind !== "not-accepted")) return "look";
  if (blocks.length > 0) return "accept";
  if (view.editions.length === 0) return "publish";
  return view.unpublished ? "republish" : "nothing";
}
