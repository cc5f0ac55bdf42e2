/** Asking about a point of a still: where it was asked, with what, and the answer. */

import { signal } from "@preact/signals";
import { api, type Limb, type PointRuling } from "../api";
import type { Point } from "../geometry/point";
import { awayProblem } from "./course";

export type Asked = Readonly<{ point: Point; answer: PointRuling | null; sentence: string | null }>;

export class AskModel {
  readonly asked = signal<Asked | null>(null);
  readonly limb = signal<Limb | null>(null);
  readonly division = signal<string | null>(null);
  private turn = 0;

  constructor(
    private readonly course: string,
    private readonly station: string,
    private readonly still: string,
  ) {}

  /** The ruling at a point; only the last question's answer is shown. */
  async at(point: Point): Promise<void> {
    this.turn += 1;
    const turn = this.turn;
    this.asked.value = { point, answer: null, sentence: null };
    const answer = await api.ruling(this.course, this.station, this.still, point.x, point.y, this.limb.value, this.division.value);
    if (turn !== this.turn) return;
    const sentence = answer.kind === "problem" ? answer.problem.sentence : answer.kind === "away" ? awayProblem().sentence : null;
    this.asked.value = { point, answer: answer.kind === "ok" ? answer.value : null, sentence };
  }

  /** The same point again, after the limb or the division was changed. */
  async again(): Promise<void> {
    if (this.asked.value) await this.at(this.asked.value.point);
  }

  forget(): void {
    this.turn += 1;
    this.asked.value = null;
  }
}
