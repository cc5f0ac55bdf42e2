/** One file on its way to the server, in pieces, going on from where it stands after a dropped line or a closed tab. */

import { signal } from "@preact/signals";
import { api, type Problem, type Upload, type UploadKind } from "../api";
import { recall, recallAll, remember } from "./keep";

const PIECE_BYTES = 4 * 2 ** 20;
const WAITS_MS = [500, 1000, 2000, 4000, 8000, 15000];

export type Chosen = Readonly<{ name: string; size: number; lastModified: number; slice(from: number, to: number): Blob }>;

export type SendingState =
  | { at: "sending"; share: number; waiting: boolean }
  | { at: "looking" }
  | { at: "here"; upload: Upload }
  | { at: "refused"; problem: Problem };

export class Sending {
  readonly state = signal<SendingState>({ at: "sending", share: 0, waiting: false });
  private readonly leave = new AbortController();
  private id: string | null = null;

  constructor(
    readonly kind: UploadKind,
    readonly file: Chosen,
    private readonly pause: (ms: number) => Promise<void> = (ms) => new Promise((resolve) => setTimeout(resolve, ms)),
  ) {}

  /** Sends all of the file; ends when it is here, refused, or dropped. */
  async run(): Promise<void> {
    let tries = 0;
    while (!this.leave.signal.aborted) {
      const went = await this.once();
      if (went === "over") return;
      if (went === "further") tries = 0;
      this.show(true);
      await this.pause(WAITS_MS[Math.min(tries, WAITS_MS.length - 1)] ?? 0);
      tries += 1;
    }
  }

  /** Takes the file back, from the server too. */
  drop(): void {
    this.leave.abort();
    remember(this.key, null);
    if (this.id !== null) void api.dropUpload(this.id);
  }

  /** The browser forgets the upload once the server made a course of it. */
  used(): void {
    remember(this.key, null);
  }

  /** What this browser knows an upload of that file by. */
  get key(): string {
    return `upload ${this.kind} ${this.file.name} ${this.file.size} ${this.file.lastModified}`;
  }

  private show(waiting: boolean, offset?: number): void {
    const now = this.state.value;
    const share = offset === undefined ? (now.at === "sending" ? now.share : 0) : offset / Math.max(1, this.file.size);
    this.state.value = { at: "sending", share, waiting };
  }

  /** One run along the file until the line drops. */
  private async once(): Promise<"over" | "further" | "stuck"> {
    const begun = await this.begin();
    if (begun === "away") return "stuck";
    if (begun === "over") return "over";
    let { offset } = begun;
    const first = offset;
    this.id = begun.id;
    if (this.leave.signal.aborted) return this.gone();
    this.show(false, offset);
    while (offset < this.file.size) {
      const piece = this.file.slice(offset, Math.min(this.file.size, offset + PIECE_BYTES));
      const sent = await api.sendPiece(begun.id, offset, piece, this.leave.signal);
      if (this.leave.signal.aborted) return this.gone();
      if (sent.kind === "away") return offset > first ? "further" : "stuck";
      if (sent.kind === "problem" && sent.problem.offset !== null) offset = sent.problem.offset;
      else if (sent.kind === "problem") return this.refuse(sent.problem);
      else offset = sent.value.offset;
      this.show(false, offset);
    }
    this.state.value = { at: "looking" };
    const finished = await api.finishUpload(begun.id);
    if (finished.kind === "away") return "stuck";
    if (finished.kind === "problem") return this.refuse(finished.problem);
    this.state.value = { at: "here", upload: finished.value };
    return "over";
  }

  /** The upload that an earlier try left on the server, or a new one. */
  private async begin(): Promise<Upload | "away" | "over"> {
    const kept = recall(this.key);
    if (kept !== null) {
      const found = await api.upload(kept);
      if (found.kind === "away") return "away";
      if (found.kind === "ok" && found.value.size === this.file.size) return found.value;
      remember(this.key, null);
    }
    const begun = await api.beginUpload(this.kind, this.file.name, this.file.size);
    if (begun.kind === "away") return "away";
    if (begun.kind === "problem") return this.refuse(begun.problem);
    remember(this.key, begun.value.id);
    return begun.value;
  }

  private refuse(problem: Problem): "over" {
    remember(this.key, null);
    this.state.value = { at: "refused", problem };
    return "over";
  }

  private gone(): "over" {
    if (this.id !== null) void api.dropUpload(this.id);
    return "over";
  }
}

/** A clip of which an earlier page sent a part: it goes on from there when the same file is chosen again. */
export type Left = Readonly<{ key: string; id: string; name: string; share: number }>;

/** What earlier pages left unfinished on the server; what the server has forgotten, this browser forgets too. */
export async function leftUploads(): Promise<readonly Left[]> {
  const left: Left[] = [];
  for (const [key, id] of recallAll("upload clip ")) {
    const answer = await api.upload(id);
    if (answer.kind === "ok") left.push({ key, id, name: answer.value.name, share: answer.value.offset / Math.max(1, answer.value.size) });
    else if (answer.kind === "problem" && answer.status === 404) remember(key, null);
  }
  return left;
}

export function letGo(left: Left): void {
  remember(left.key, null);
  void api.dropUpload(left.id);
}
