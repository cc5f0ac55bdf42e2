/** What the program sees on a still: regions for what is not marked yet, the edge of what was drawn, the other pieces that look like it, and
 * marks of another still. All of it is dotted, and nothing of it is put in until somebody takes it. */

import { computed, type ReadonlySignal, signal, batch as together } from "@preact/signals";
import { type Answer, api, type Mark, type Station, type Still } from "../api";
import type { Point } from "../geometry/point";
import { covers, fieldsOf, ringsOf, type Shape, shapeOf, sizeOf } from "../geometry/shape";
import { strings } from "../strings";
import { carriedTo } from "./carried";
import { type Found, type Offer, offersOf, overlap, SURE } from "./offers";
import type { Thing } from "./things";

/** An edge that was computed for a mark: dotted until it is taken. */
export type Snug = Readonly<{ mark: string; shape: Shape; doubt: string | null }>;
/** Pieces that look like a mark; `out` are those that a person left out. */
export type Alike = Readonly<{ mark: string; shapes: readonly Shape[]; out: ReadonlySet<number> }>;

/** Of the smaller overlap over union: by so much a piece that looks alike is one that is marked already. */
const MARKED = 0.3;
const s = strings.marking.says;

/** The marking that is helped, as far as its help goes. */
export type Helped = Readonly<{
  course: string;
  station: ReadonlySignal<Station>;
  still: Still;
  things: ReadonlySignal<readonly Thing[]>;
  marks: ReadonlySignal<readonly Mark[]>;
  unmarked: ReadonlySignal<readonly Thing[]>;
  chosenId: ReadonlySignal<string | null>;
  chosen: ReadonlySignal<Mark | null>;
  aim: ReadonlySignal<string | null>;
  thing: (mark: Pick<Mark, "surface">) => Thing | null;
  choose: (id: string | null) => void;
  aimNext: (drawn?: boolean) => void;
  aimAt: (surface: string | null) => void;
  markOf: (shape: Shape, surface: string, origin: Mark["origin"]) => Mark;
  put: (marks: readonly Mark[], and?: () => void) => void;
  say: (text: string) => void;
  drewBar: (width: number) => void;
}>;

export class Seen {
  readonly snug = signal<Snug | null>(null);
  readonly alike = signal<Alike | null>(null);
  readonly looking = signal(false);
  /** What is being looked for, for the chosen mark. */
  readonly seeking = signal<"edge" | "others" | null>(null);
  private readonly found = signal<ReadonlyMap<string, Found>>(new Map());
  private readonly declined = signal(false);
  /** Things whose proposals a person said are not them. */
  private readonly passedOver = signal<ReadonlySet<string>>(new Set());
  private asked = "";
  private brought = false;
  private turn = 0;

  constructor(private readonly of: Helped) {}

  readonly offers = computed<readonly Offer[]>(() => {
    if (this.declined.value) return [];
    const { course, station, still, things, marks } = this.of;
    const carried = carriedTo(course, station.value.id, still.id).filter((mark) => things.value.some((thing) => thing.id === mark.surface));
    const own = carried.map(
      (mark): Offer => ({
        surface: mark.surface,
        shape: shapeOf(mark),
        origin: "carried",
        confidence: mark.confidence,
        unsure: (mark.confidence ?? 1) < SURE,
      }),
    );
    const sure = carried.filter((mark) => (mark.confidence ?? 1) >= SURE);
    const named = new Set(sure.map((mark) => mark.surface));
    const seen = offersOf(things.value, [...marks.value, ...sure], this.found.value).filter((each) => !named.has(each.surface));
    const proposed = new Set(seen.map((each) => each.surface));
    return [...own.filter((each) => !proposed.has(each.surface)), ...seen].filter((each) => !this.passedOver.value.has(each.surface));
  });

  /** The pieces that look like the chosen mark and were not left out. */
  readonly pieces = computed<readonly Shape[]>(() => {
    const alike = this.alike.value;
    return alike === null ? [] : alike.shapes.filter((_, place) => !alike.out.has(place));
  });

  /** Whether something waits to be taken for the chosen mark. */
  readonly waits = computed(() => this.snug.value !== null || this.pieces.value.length > 0);

  // The edge of what was drawn, and what looks like it

  /** Looks for the chosen mark's edge; what is found is dotted until somebody takes it. Then, for one of several, for the others.
   *
   * `before` is what was said of the mark: it stands until something else is done, since what is found comes sooner than it is read. */
  async findEdge(mark = this.of.chosen.value, asked = false, before = ""): Promise<void> {
    if (!mark) return;
    this.turn += 1;
    const turn = this.turn;
    this.seeking.value = "edge";
    const { course, station, still } = this.of;
    const thing = this.of.thing(mark);
    const points = mark.line ?? mark.rings?.[0] ?? [];
    const holes = mark.rings?.slice(1) ?? [];
    const rough = { points, width: mark.width, ...(holes.length > 0 && { holes }), ...(thing && { words: thing.full.slice(0, 200) }) };
    const answer = await api.snug(course, station.value.id, still.id, rough);
    if (turn !== this.turn || this.of.chosenId.value !== mark.id) return;
    this.seeking.value = null;
    const view = answer.kind === "ok" ? answer.value : null;
    const shape = view?.offered && (view.rings !== null || view.line !== null) ? shapeOf(view) : null;
    if (!shape && asked) this.of.say(answer.kind === "away" ? s.away2 : s.noSnug);
    if (shape && view)
      together(() => {
        this.snug.value = { mark: mark.id, shape, doubt: view.doubt };
        this.of.say(after(before, view.doubt ? s.doubt(view.doubt) : s.offered));
      });
    if (!asked && thing?.many) await this.findAlike(mark, shape, turn, before);
  }

  /** Looks for the other pieces of the chosen mark's thing. */
  async findOthers(): Promise<void> {
    const mark = this.of.chosen.value;
    if (!mark) return;
    this.turn += 1;
    const count = await this.findAlike(mark, null, this.turn);
    if (count === 0) this.of.say(s.noneAlike);
  }

  private async findAlike(mark: Mark, snug: Shape | null, turn: number, before = ""): Promise<number | null> {
    const { course, station, still, marks } = this.of;
    const shape = snug ?? shapeOf(mark);
    const piece = shape.kind === "bar" ? { points: [...shape.line], width: shape.width } : { points: [...(ringsOf(shape)[0] ?? [])] };
    const holes = shape.kind === "bar" ? [] : ringsOf(shape).slice(1);
    this.seeking.value = "others";
    const answer = await api.likeIt(course, station.value.id, still.id, {
      ...piece,
      ...(holes.length > 0 && { holes: [...holes] }),
    } as never);
    if (turn !== this.turn || this.of.chosenId.value !== mark.id) return null;
    this.seeking.value = null;
    if (answer.kind === "away") this.of.say(s.away2);
    if (answer.kind !== "ok") return null;
    const same = marks.value.filter((each) => this.of.thing(each) === this.of.thing(mark)).map(shapeOf);
    const news = answer.value.pieces.map((each) => shapeOf(each)).filter((each) => !same.some((other) => overlap(each, other) > MARKED));
    together(() => {
      this.alike.value = news.length > 0 ? { mark: mark.id, shapes: news, out: new Set() } : null;
      if (news.length > 0) this.of.say(after(before, s.alike(news.length)));
    });
    return news.length;
  }

  /** One of the pieces that look alike is none, or is one after all. */
  leaveOut(place: number): void {
    const alike = this.alike.value;
    if (!alike?.shapes[place]) return;
    const out = new Set(alike.out);
    if (!out.delete(place)) out.add(place);
    together(() => {
      this.alike.value = { ...alike, out };
      this.of.say(out.has(place) ? s.leftOut(this.pieces.value.length) : s.broughtBack(this.pieces.value.length));
    });
  }

  /** Which of the pieces that look alike lies at a place, left out or not; the smallest. */
  pieceAt(at: Point): number | null {
    const shapes = this.alike.value?.shapes ?? [];
    const there = shapes.map((shape, place) => ({ shape, place })).filter(({ shape }) => covers(shape, at));
    return there.toSorted((one, other) => sizeOf(one.shape) - sizeOf(other.shape))[0]?.place ?? null;
  }

  /** Takes what waits: the dotted edge for the chosen mark, and with it the pieces that look alike, or the edge alone. */
  takeSnug(alone = false): void {
    const mark = this.of.chosen.value;
    const edge = this.snug.value?.mark === mark?.id ? this.snug.value : null;
    const others = !alone && this.alike.value?.mark === mark?.id ? this.pieces.value : [];
    if (!mark || (!edge && others.length === 0)) return;
    this.forget();
    const own = edge ? [{ ...mark, ...fieldsOf(edge.shape), origin: "snapped" as const }] : [];
    this.of.put([...own, ...others.map((shape) => this.of.markOf(shape, mark.surface, "snapped"))], () => {
      if (edge?.shape.kind === "bar") this.of.drewBar(edge.shape.width);
      this.of.say(others.length > 0 ? s.alikeTaken(others.length) : s.snugTaken);
      if (others.length > 0 && this.of.aim.value === mark.surface) this.of.aimNext(true);
    });
  }

  /** The dotted edge of what was drawn last, which going on to the next thing takes; null where there is none, and of an outline where
   * something speaks against it. A bar's is taken all the same: its doubt is that it is thin, and a hand is farther off there. */
  takenByGoingOn(): Mark | null {
    const edge = this.snug.value;
    const mark = edge && (!edge.doubt || edge.shape.kind === "bar") ? this.of.marks.value.find((each) => each.id === edge.mark) : null;
    return edge && mark ? { ...mark, ...fieldsOf(edge.shape), origin: "snapped" } : null;
  }

  /** The dotted edge of a bar is as wide as this; false where none waits for the mark. */
  widen(mark: string, width: number): boolean {
    const edge = this.snug.value;
    if (edge?.mark !== mark || edge.shape.kind !== "bar") return false;
    this.snug.value = { ...edge, shape: { ...edge.shape, width } };
    return true;
  }

  keepMine(): void {
    if (!this.waits.value) return;
    this.forget();
    this.of.say(s.kept);
  }

  /** What waits for the chosen mark no longer fits it. */
  forget(): void {
    together(() => {
      this.turn += 1;
      this.seeking.value = null;
      this.snug.value = null;
      this.alike.value = null;
    });
  }

  // Regions for what is not marked yet

  /** Asks what the program sees for everything that is not marked here: first the marks of another still, then regions, one by one. */
  async look(): Promise<void> {
    const { course, station, still, unmarked } = this.of;
    await this.bringFirst();
    const wanted = unmarked.value.filter((thing) => !this.found.value.has(thing.id));
    const key = wanted.map((thing) => `${thing.id} ${thing.full}`).join();
    if (this.looking.value || wanted.length === 0 || key === this.asked) return;
    this.asked = key;
    this.looking.value = true;
    for (const thing of wanted) {
      const answer = await api.offers(course, station.value.id, still.id, thing.name, thing.part);
      if (answer.kind === "away") break;
      if (answer.kind === "ok") this.found.value = new Map(this.found.value).set(thing.id, { proposals: answer.value.proposals, skip: 0 });
    }
    this.looking.value = false;
  }

  /** Takes offers: those of one thing, or all that are shown. */
  take(surface: string | null): void {
    const { course, station, still, aim } = this.of;
    const taken = this.offers.value.filter((offer) => surface === null || offer.surface === surface);
    if (taken.length === 0) return;
    const news = taken.map((offer) => this.of.markOf(offer.shape, offer.surface, offer.origin));
    this.of.put(news, () => {
      carriedTo.done(course, station.value.id, still.id, new Set(taken.map((offer) => offer.surface)));
      this.of.choose(null);
      this.of.say(s.taken(taken.length));
      if (aim.value === null || taken.some((offer) => offer.surface === aim.value)) this.of.aimNext();
    });
  }

  /** Takes what is offered for the thing that is marked next, which moves on to the one after it; false where nothing is. */
  takeAimed(): boolean {
    const aim = this.of.aim.value;
    if (aim === null || !this.offers.value.some((offer) => offer.surface === aim)) return false;
    this.take(aim);
    return true;
  }

  /** The next region for a thing instead of the one that is shown; after the last one the first again. */
  another(surface: string): void {
    const found = this.found.value.get(surface);
    if (!found) return;
    const skip = (found.skip + 1) % Math.max(1, found.proposals.length);
    this.found.value = new Map(this.found.value).set(surface, { ...found, skip });
  }

  mayBeAnother(surface: string): boolean {
    return (this.found.value.get(surface)?.proposals.length ?? 0) > 1;
  }

  /** What is proposed for one thing is not it: it is drawn next. */
  passOver(surface: string): void {
    const { course, station, still } = this.of;
    this.passedOver.value = new Set([...this.passedOver.value, surface]);
    carriedTo.done(course, station.value.id, still.id, new Set([surface]));
    this.of.aimAt(surface);
    const left = new Set(this.offers.value.map((each) => each.surface)).size;
    this.of.say(s.passedOver(left));
  }

  decline(): void {
    this.declined.value = true;
    carriedTo.done(this.of.course, this.of.station.value.id, this.of.still.id, null);
  }

  /** The smallest region that is offered at a place. */
  offerAt(at: Point): Offer | null {
    const there = this.offers.value.filter((each) => covers(each.shape, at));
    return there.toSorted((one, other) => sizeOf(one.shape) - sizeOf(other.shape))[0] ?? null;
  }

  // Marks of another still

  /** On a still without marks: offers those of the station's still with the most, once and without a word where none has a place here. */
  private async bringFirst(): Promise<void> {
    const { course, station, still, marks } = this.of;
    const counts = new Map<string, number>();
    for (const mark of station.value.marks) counts.set(mark.still, (counts.get(mark.still) ?? 0) + 1);
    const [from] = [...counts].toSorted((one, other) => other[1] - one[1])[0] ?? [];
    if (this.brought || marks.value.length > 0 || from === undefined || this.looking.value) return;
    this.brought = true;
    this.looking.value = true;
    const answer = await api.carried(course, station.value.id, still.id, from, null);
    this.looking.value = false;
    if (answer.kind === "ok" && answer.value.marks.length > 0) this.offered(answer, still.id, (count) => s.carried(count));
  }

  /** Offers marks of another still here; or, with `sendTo`, the chosen mark on another still. */
  async bring(from: Still): Promise<void> {
    const { course, station, still } = this.of;
    this.declined.value = false;
    const answer = await api.carried(course, station.value.id, still.id, from.id, null);
    this.offered(answer, still.id, (count) => s.carried(count));
  }

  async sendTo(to: Pick<Still, "id">, time: string): Promise<void> {
    const { course, station, still, chosen } = this.of;
    if (!chosen.value) return;
    const answer = await api.carried(course, station.value.id, to.id, still.id, [chosen.value.id]);
    this.offered(answer, to.id, () => s.sent(time));
  }

  private offered(
    answer: Answer<{ marks: Mark[]; withheld: string[]; there: string[] }>,
    still: string,
    say: (count: number) => string,
  ): void {
    if (answer.kind !== "ok") {
      this.of.say(answer.kind === "away" ? s.away2 : answer.problem.sentence);
      return;
    }
    const { marks, withheld } = answer.value;
    carriedTo.add(this.of.course, this.of.station.value.id, still, marks);
    const notes = [marks.length > 0 && say(marks.length), withheld.length > 0 && s.uncertain(withheld.length)].filter(Boolean);
    this.of.say(notes.length > 0 ? notes.join(" ") : s.already);
  }
}

const after = (before: string, sentence: string) => (before ? `${before} ${sentence}` : sentence);
