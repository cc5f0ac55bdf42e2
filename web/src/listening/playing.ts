/** Playing the walk: one video element, fed with one clip's proxy after the other, and the walk's time as it is shown.
 *
 * The frame on screen is known by its own presentation time, which the browser tells with each frame that it shows. Steps go from one of the
 * file's frames to the next, whatever the rate; the middle of a frame's time is sought, so that rounding never lands on its neighbour.
 */

import { computed, signal } from "@preact/signals";
import { api } from "../api";
import { type Clip, clipAt, lengthOf, type Span } from "./line";

/** A frame that was on screen: its clip, and its own time in the clip's proxy, in seconds. */
export type Shown = Readonly<{ clip: number; time_s: number }>;
type Frames = Readonly<{ from: number; to: number; times: readonly number[] }>;
type FramesOf = (clip: number, start: number, end: number) => Promise<readonly number[] | null>;

export const SPEEDS = [0.5, 0.75, 1, 1.25, 1.5, 2] as const;
const AHEAD_S = 15;
const BEHIND_S = 5;
const SETTLE_MS = 1500;
const SAME_S = 0.0004;

export class Playing {
  /** The walk's time at which the shown frame begins. */
  readonly time = signal(0);
  readonly second = computed(() => Math.floor(this.time.value));
  readonly playing = signal(false);
  readonly speed = signal<number>(1);
  readonly clip = signal<Clip | null>(null);
  /** Playing stays inside this span, where one is set. */
  readonly only = signal<Span | null>(null);
  readonly failed = signal(false);
  readonly ready = computed(() => Boolean(this.clip.value?.proxy));
  private video: HTMLVideoElement | null = null;
  private clips: readonly Clip[] = [];
  private wanted: { at: number; play: boolean } | null = null;
  private last: Shown | null = null;
  /** What was sought, until the walk moves on: it may lie well inside a frame, and a word may begin there. */
  private sought: number | null = null;
  private frames = new Map<number, Frames>();
  private steps = 0;
  private stepping: Promise<void> | null = null;

  constructor(
    readonly course: string,
    private readonly framesOf: FramesOf = (clip, start, end) => frames(course, clip, start, end),
  ) {}

  /** The walk's clips, as they are known now. */
  of(clips: readonly Clip[]): void {
    if (JSON.stringify(clips) === JSON.stringify(this.clips)) return;
    this.clips = clips;
    const now = clipAt(clips, this.time.value);
    if (now && JSON.stringify(now) !== JSON.stringify(this.clip.value)) this.clip.value = now;
  }

  get length(): number {
    return lengthOf(this.clips);
  }

  /** Takes a video element; its `src` is the clip's proxy, set by the page. Returns the call that lets it go. */
  attach(video: HTMLVideoElement): () => void {
    this.video = video;
    video.preservesPitch = true;
    let handle = 0;
    const frame = (_now: number, told: VideoFrameCallbackMetadata) => {
      this.seen(told.mediaTime);
      handle = video.requestVideoFrameCallback(frame);
    };
    if ("requestVideoFrameCallback" in video) handle = video.requestVideoFrameCallback(frame);
    const on: [string, () => void][] = [
      ["play", () => this.isPlaying(true)],
      ["pause", () => this.isPlaying(false)],
      ["ended", () => this.atEnd()],
      ["loadedmetadata", () => this.loaded()],
      ["timeupdate", () => this.passing()],
      ["error", () => this.isBroken(true)],
    ];
    for (const [name, act] of on) video.addEventListener(name, act);
    if (video.readyState >= 1) this.loaded();
    return () => {
      for (const [name, act] of on) video.removeEventListener(name, act);
      if ("cancelVideoFrameCallback" in video) video.cancelVideoFrameCallback(handle);
      if (this.video === video) this.video = null;
    };
  }

  /** Goes to a time of the walk; in another clip that clip is opened first. */
  seek(time: number): void {
    const at = Math.min(Math.max(0, time), Math.max(0, this.length - SAME_S));
    const clip = clipAt(this.clips, at);
    if (!clip) return;
    this.time.value = at;
    this.sought = at;
    const play = this.wanted?.play ?? this.playing.value;
    if (clip.number !== this.clip.value?.number || !this.video || this.video.readyState < 1) {
      this.wanted = { at: at - clip.start_s, play };
      this.failed.value = false;
      this.clip.value = clip;
    } else {
      this.video.currentTime = at - clip.start_s;
    }
  }

  async play(): Promise<void> {
    const only = this.only.value;
    if (only && (this.time.value < only.start - SAME_S || this.time.value >= only.end - 0.1)) this.seek(only.start);
    else if (this.time.value >= this.length - 0.1) this.seek(0);
    if (this.wanted) this.wanted = { ...this.wanted, play: true };
    await this.video?.play().catch(() => undefined); // a browser may want a tap first
  }

  pause(): void {
    if (this.wanted) this.wanted = { ...this.wanted, play: false };
    this.video?.pause();
    this.playing.value = false;
  }

  toggle(): void {
    if (this.playing.value) this.pause();
    else void this.play();
  }

  atSpeed(speed: number): void {
    this.speed.value = speed;
    if (this.video) this.video.playbackRate = speed;
  }

  faster(by: 1 | -1): void {
    const at = SPEEDS.indexOf(this.speed.value as (typeof SPEEDS)[number]);
    const next = SPEEDS[at + by];
    if (next !== undefined) this.atSpeed(next);
  }

  keepTo(span: Span | null): void {
    this.only.value = span;
  }

  /** One frame of the film on or back, at whatever rate it was filmed; steps that come meanwhile are added up. */
  step(by: 1 | -1): Promise<void> {
    this.pause();
    this.steps += by;
    this.stepping ??= this.walkSteps().finally(() => {
      this.stepping = null;
    });
    return this.stepping;
  }

  /** The frame that is on screen, once the picture has come to rest; null where none was shown yet. */
  async shown(): Promise<Shown | null> {
    const video = this.video;
    const moving = this.playing.value;
    this.pause();
    await this.stepping;
    // A player may show one more frame as it stops, and not tell: where it stands is sought, so that it has to.
    if (moving && video && !video.seeking && !this.wanted) video.currentTime = Number(video.currentTime);
    await this.settled();
    return this.last;
  }

  private async walkSteps(): Promise<void> {
    await this.settled();
    let from = this.last ?? this.here();
    let due: { clip: Clip; time_s: number; until: number } | null = null;
    while (this.steps !== 0 && from) {
      const by = this.steps > 0 ? 1 : -1;
      this.steps -= by;
      const next = await this.beside(from, by);
      if (!next) break;
      from = { clip: next.clip.number, time_s: next.time_s };
      due = next;
    }
    this.steps = 0;
    if (due) this.show(due.clip, due.time_s, due.until);
    await this.settled();
  }

  /** The frame beside another, in the same clip or the one next to it, and until when it is shown. */
  private async beside(from: Shown, by: 1 | -1): Promise<{ clip: Clip; time_s: number; until: number } | null> {
    const clip = this.clips.find((each) => each.number === from.clip);
    if (!clip) return null;
    const times = await this.around(clip, from.time_s);
    if (!times) return null;
    const at = times.findLastIndex((time) => time <= from.time_s + SAME_S) + by;
    const time = times[at];
    if (time !== undefined) return { clip, time_s: time, until: times[at + 1] ?? time + 0.002 };
    const other = this.clips[this.clips.indexOf(clip) + by];
    if (!other?.proxy) return null;
    const there = await this.around(other, by > 0 ? 0 : other.duration_s);
    const first = by > 0 ? there?.[0] : there?.at(-1);
    return first === undefined || !there ? null : { clip: other, time_s: first, until: (by > 0 ? there[1] : undefined) ?? first + 0.002 };
  }

  private async around(clip: Clip, time: number): Promise<readonly number[] | null> {
    const known = this.frames.get(clip.number);
    const near = known && known.from + 1 <= Math.max(time, 1) && (time + 1 <= known.to || time >= clip.duration_s - 1);
    if (near && (known.to >= clip.duration_s || time + 1 <= known.to)) return known.times;
    const [from, to] = [Math.max(0, time - BEHIND_S), time + AHEAD_S];
    const times = await this.framesOf(clip.number, from, to);
    if (times) this.frames.set(clip.number, { from: from === 0 ? 0 : from, to, times });
    return times;
  }

  private show(clip: Clip, time_s: number, until: number): void {
    const middle = time_s + Math.min((until - time_s) / 2, 0.01);
    this.seek(clip.start_s + middle);
    this.time.value = clip.start_s + time_s;
    this.sought = this.time.value;
  }

  /** Waits until a seek is over and its frame was shown (a frame that was on screen already is not told again). */
  private async settled(): Promise<void> {
    const video = this.video;
    if (!video) return;
    if (this.wanted) await once(video, "loadedmetadata", 5000);
    if (video.seeking) await once(video, "seeked", 5000);
    else if (video.readyState < 2) await once(video, "loadeddata", 5000);
    const frame = this.last;
    await new Promise<void>((done) => {
      const late = setTimeout(done, SETTLE_MS);
      const look = () => {
        if (this.last !== frame || this.isShowing(video.currentTime)) {
          clearTimeout(late);
          requestAnimationFrame(() => requestAnimationFrame(() => done()));
        }
      };
      look();
      if ("requestVideoFrameCallback" in video)
        video.requestVideoFrameCallback(() => {
          clearTimeout(late);
          requestAnimationFrame(() => done());
        });
    });
  }

  /** Whether the last frame told is the one that belongs to a time, as far as the frames' times are known. */
  private isShowing(time: number): boolean {
    const known = this.last && this.frames.get(this.last.clip);
    if (!this.last || !known || this.last.clip !== this.clip.value?.number || time < known.from || time > known.to) return false;
    const due = known.times.findLast((each) => each <= time + SAME_S);
    return due !== undefined && Math.abs(due - this.last.time_s) < SAME_S;
  }

  /** Where the player stands, where no frame was told yet. */
  private here(): Shown | null {
    const clip = this.clip.value;
    return clip && this.video ? { clip: clip.number, time_s: this.video.currentTime } : null;
  }

  private seen(mediaTime: number): void {
    const clip = this.clip.value;
    if (!clip || this.wanted) return;
    this.last = { clip: clip.number, time_s: mediaTime };
    if (this.playing.value) this.sought = null;
    if (!this.video?.seeking) this.time.value = Math.max(clip.start_s + mediaTime, this.sought ?? 0);
    this.keepInside();
  }

  private passing(): void {
    const clip = this.clip.value;
    if (!clip || !this.video || this.wanted || this.video.seeking) return;
    if (!("requestVideoFrameCallback" in this.video)) this.seen((this.video as HTMLVideoElement).currentTime);
    this.keepInside();
  }

  private keepInside(): void {
    const [only, clip] = [this.only.value, this.clip.value];
    if (!only || !clip || !this.playing.value || !this.video) return;
    if (clip.start_s + this.video.currentTime < only.end) return;
    this.pause();
    this.seek(Math.max(only.start, only.end - 0.02));
  }

  private atEnd(): void {
    const next = this.clips[this.clips.findIndex((each) => each.number === this.clip.value?.number) + 1];
    if (!next) {
      this.isPlaying(false);
      return;
    }
    this.wanted = { at: 0, play: true };
    this.sought = null;
    this.time.value = next.start_s;
    this.clip.value = next;
  }

  private loaded(): void {
    const [video, clip] = [this.video, this.clip.value];
    if (!video || !clip) return;
    this.failed.value = false;
    video.playbackRate = this.speed.value;
    const wanted = this.wanted ?? { at: this.time.value - clip.start_s, play: false };
    this.wanted = null;
    if (wanted.at > 0) video.currentTime = wanted.at;
    if (wanted.play) void video.play().catch(() => undefined);
  }

  private isPlaying(now: boolean): void {
    this.playing.value = now || (this.wanted?.play ?? false);
  }

  private isBroken(now: boolean): void {
    this.failed.value = now && Boolean(this.video?.src);
  }
}

function once(target: EventTarget, name: string, most_ms: number): Promise<void> {
  return new Promise((done) => {
    const late = setTimeout(done, most_ms);
    const came = () => {
      clearTimeout(late);
      done();
    };
    target.addEventListener(name, came, { once: true });
  });
}

async function frames(course: string, clip: number, start: number, end: number): Promise<readonly number[] | null> {
  const answer = await api.frames(course, clip, start, end);
  return answer.kind === "ok" ? answer.value.times : null;
}
