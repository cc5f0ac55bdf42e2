/** Marking one still: what is chosen, what is in the hand, what is offered, and the changes that a person makes. How they are kept and taken
 * back is the course model's. */

import { computed, type ReadonlySignal, signal, batch as together } from "@preact/signals";
import type { BlanketRule, Edit, Mark, Station, Still } from "../api";
import { areaOf, joined as joinedArea, type Refusal, shapesOf, tidied, without } from "../geometry/combine";
import type { Point } from "../geometry/point";
import { covers, fieldsOf, movedBy, type Place, pointAt, ringsOf, type Shape, shapeOf, sizeOf, withoutPoint } from "../geometry/shape";
import { recall, remember } from "../models/keep";
import { fresh } from "../models/outbox";
import { strings } from "../strings";
import { begunOn, keepBegunOn } from "./begun";
import { Seen } from "./seen";
import { type Thing, thingOf, thingsOf } from "./things";

export type Way = "around" | "box" | "round" | "bar";
export type Purpose = "mark" | "hole" | "join";
/** What the hand is at. Nothing of it is saved; leaving it leaves everything as it was. */
export type InHand =
  | Readonly<{ doing: "drawing"; way: Way; points: readonly Point[]; next: Point | null; tracing: boolean }>
  | Readonly<{ doing: "changing"; mark: string; shape: Shape; place: Place | null; added: boolean }>;
export type Saving = (edits: Edit[]) => Promise<boolean>;

export const BAR_SHARE = 0.012;
const s = strings.marking.says;

export class MarkingModel {
  readonly things = computed(() => thingsOf(this.station.value, this.blanket.value));
  readonly marks = computed(() => this.station.value.marks.filter((mark) => mark.still === this.still.id));
  readonly chosenId = signal<string | null>(null);
  readonly chosen = computed(() => this.marks.value.find((mark) => mark.id === this.chosenId.value) ?? null);
  /** The point of the chosen mark that was touched last. */
  readonly point = signal<Place | null>(null);
  /** The mark that was drawn just now: where drawing goes on, a press near it more likely begins the next one. */
  readonly justDrawn = signal<string | null>(null);
  /** What is drawn next, null where that is said afterwards; and how, null where nothing is drawn. */
  readonly aim = signal<string | null>(null);
  readonly way = signal<Way | null>(usualWay());
  readonly purpose = signal<Purpose>("mark");
  readonly inHand = signal<InHand | null>(null);
  /** The same without where it is at: changes only when something begins, ends, or gets a corner. */
  readonly doing = computed(() => {
    const hand = this.inHand.value;
    if (hand?.doing !== "drawing") return hand ? "changing" : "nothing";
    return hand.tracing || hand.points.length === 0 ? "drawing" : (`corners ${hand.way} ${hand.points.length}` as const);
  });
  /** Drawn, and nobody has said yet what it is. */
  readonly unplaced = signal<Shape | null>(null);
  readonly said = signal("");
  /** What the program sees, offered and never put in unasked. */
  readonly seen: Seen;
  private barWidth: number;

  /** Everything is marked: a drag draws one more piece of what was drawn last, a tap chooses. */
  readonly more = signal(false);
  /** More is being drawn: the chosen mark is only the last of it. */
  readonly goesOn = computed(
    () => this.way.value !== null && this.justDrawn.value !== null && this.justDrawn.value === this.chosenId.value,
  );
  /** What is drawn next, where it is still on the sheet. */
  readonly aimed = computed(() => this.things.value.find((thing) => thing.id === this.aim.value) ?? null);

  readonly unmarked = computed(() => this.things.value.filter((thing) => !this.marks.value.some((mark) => belongs(mark, thing))));

  constructor(
    readonly course: string,
    /** The station and the rules of every station as they are now, with what was just changed in them. */
    readonly station: ReadonlySignal<Station>,
    readonly blanket: ReadonlySignal<readonly BlanketRule[]>,
    readonly still: Still,
    private readonly save: Saving,
  ) {
    this.barWidth = Math.max(3, Math.round(still.width * BAR_SHARE));
    this.seen = new Seen(this);
    const [first] = this.unmarked.peek();
    this.aim.value = first?.id ?? null;
    if (first) this.way.value = usualWay(first);
    if (this.aim.peek() === null && this.marks.peek().length > 0) this.way.value = null;
  }

  thing(mark: Pick<Mark, "surface">): Thing | null {
    return thingOf(mark, this.things.value);
  }

  /** A mark's name for a list: the thing's, and which of them where it has several. */
  nameOf(mark: Mark): string {
    const thing = this.thing(mark);
    const alike = this.marks.value.filter((each) => this.thing(each) === thing);
    return strings.marking.number(thing?.full ?? mark.surface, alike.indexOf(mark) + 1, alike.length);
  }

  // Choosing

  choose(id: string | null): void {
    together(() => {
      this.justDrawn.value = null;
      if (id !== this.chosenId.value) {
        this.seen.forget();
        this.point.value = null;
        this.purpose.value = "mark";
      }
      this.chosenId.value = id;
      const mark = this.chosen.value;
      if (!mark) return;
      const points = ringsOf(shapeOf(mark)).reduce((sum, ring) => sum + ring.length, 0);
      this.said.value = s.chosen(this.nameOf(mark), strings.marking.ruling[this.thing(mark)?.ruling ?? "in"], points);
    });
  }

  /** The marks under a place, the smallest first. */
  under(at: Point): readonly Mark[] {
    return this.marks.value
      .filter((mark) => covers(shapeOf(mark), at))
      .toSorted((one, other) => sizeOf(shapeOf(one)) - sizeOf(shapeOf(other)));
  }

  aimAt(surface: string | null, way?: Way | null): void {
    together(() => {
      this.takeLastEdge();
      this.choose(null);
      this.more.value = false;
      this.aim.value = surface;
      if (way !== undefined) this.way.value = way;
      const thing = this.things.value.find((each) => each.id === surface);
      if (way === undefined && (thing || this.way.value === null)) this.way.value = usualWay(thing);
      if (thing) this.said.value = s.drawing(thing.full);
    });
  }

  /** How is drawn from now on, at other stills too. */
  draws(way: Way | null): void {
    this.more.value = false;
    this.way.value = way;
    if (way !== null) remember(wayKey(this.aimed.value), way);
  }

  // Drawing

  /** What was drawn, as soon as it is whole: a mark, a hole, or what somebody must name first. */
  drawn(raw: Shape): void {
    const { purpose } = this;
    const found = tidied(raw, this.still);
    if (typeof found === "string") {
      this.refuse(found);
      return;
    }
    const notes = [found.clipped && s.clipped, found.mended && s.mended].filter(Boolean) as string[];
    const [first] = found.shapes;
    if (!first) return;
    if (purpose.value === "hole") this.cut(first, notes);
    else if (this.aimed.value === null) {
      this.unplaced.value = first;
      this.said.value = [...notes, strings.marking.what].join(" ");
    } else this.place(found.shapes, this.aimed.value.id, notes);
  }

  refuse(why: Refusal): void {
    this.said.value = s[why];
  }

  /** What was drawn and not named yet is this. */
  name(surface: string): void {
    const shape = this.unplaced.value;
    if (!shape) return;
    this.unplaced.value = null;
    this.place([shape], surface, []);
  }

  /** A new thing of the station, and what was drawn is it. */
  async nameNew(name: string, ruling: "in" | "out"): Promise<void> {
    const known = new Set(this.station.value.surfaces.map((surface) => surface.id));
    const done = await this.save([{ do: "add-surface", station: this.station.value.number, surface: { ...PLAIN, name, ruling } }]);
    if (!done) {
      this.said.value = s.notSaved;
      return;
    }
    const wanted = name.replace(/\s+/g, " ").trim();
    const added = this.station.value.surfaces.find((each) => !known.has(each.id) && /^u\d+$/.test(each.id) && each.name === wanted);
    if (added) this.name(added.id);
    else this.said.value = strings.marking.notYet;
  }

  private place(shapes: readonly Shape[], surface: string, notes: readonly string[]): void {
    const news = shapes.map((shape) => this.markOf(shape, surface, "drawn"));
    const [first] = news;
    if (!first) return;
    const thing = this.things.value.find((each) => each.id === surface);
    this.takeLastEdge();
    this.put(news, () => {
      this.choose(first.id);
      this.justDrawn.value = first.id;
      const pieces = news.length > 1 ? [s.split(news.length)] : [];
      this.said.value = [s.marked(thing?.full ?? surface, strings.marking.ruling[thing?.ruling ?? "in"]), ...notes, ...pieces].join(" ");
      if (!thing?.many) this.aimNext(true);
    });
    if (news.length === 1) void this.seen.findEdge(first, false, this.said.value);
  }

  /** Going on takes the dotted edge of what was drawn last. */
  private takeLastEdge(): void {
    const last = this.justDrawn.value === null ? null : this.seen.takenByGoingOn();
    if (!last) return;
    this.seen.forget();
    if (last.width) this.barWidth = last.width;
    this.put([last]);
  }

  /** The next thing of the sheet that has no mark here, ready to be drawn; after the station's last one that was `drawn`, more of that. */
  aimNext(drawn = false): void {
    const next = this.unmarked.value.find((thing) => thing.id !== this.aim.value && !(drawn && thing.blanket));
    if (next) {
      this.aim.value = next.id;
      if (this.way.value !== null) this.way.value = usualWay(next);
      return;
    }
    this.more.value = drawn && this.aimed.value?.blanket === false && this.way.value !== null;
    if (!this.more.value) {
      this.aim.value = null;
      this.way.value = null;
    }
    this.said.value = `${this.said.value} ${s.allMarked}`;
  }

  markOf(shape: Shape, surface: string, origin: Mark["origin"]): Mark {
    return { id: `m-${fresh()}`, still: this.still.id, surface, ...fieldsOf(shape), state: "accepted", origin, confidence: null };
  }

  put(marks: readonly Mark[], and: () => void = () => {}): void {
    const edits = marks.map((mark): Edit => ({ do: "put-mark", station: this.station.value.number, mark }));
    void this.send(edits);
    together(and);
  }

  private async send(edits: Edit[]): Promise<void> {
    if (!(await this.save(edits))) this.said.value = s.notSaved;
  }

  // Changing the chosen mark

  /** The mark that is in the hand, let go where it is now. */
  changed(id: string, raw: Shape): void {
    const mark = this.marks.value.find((each) => each.id === id);
    if (!mark) return;
    const found = tidied(raw, this.still);
    if (typeof found === "string") {
      this.refuse(found);
      return;
    }
    const [first, ...more] = found.shapes;
    if (!first) return;
    const notes = [found.clipped && s.clipped, found.mended && s.mended, more.length > 0 && s.split(found.shapes.length)].filter(Boolean);
    this.seen.forget();
    this.put([{ ...mark, ...fieldsOf(first) }, ...more.map((shape) => this.markOf(shape, mark.surface, "drawn"))], () => {
      this.said.value = notes.length > 0 ? notes.join(" ") : s.moved;
      if (found.mended || found.clipped) this.point.value = null;
    });
  }

  takePointAway(place: Place | null = this.point.value): void {
    const mark = this.chosen.value;
    if (!mark || !place || pointAt(shapeOf(mark), place) === null) return;
    const less = withoutPoint(shapeOf(mark), place);
    if (!less) {
      this.said.value = s.lastPoints;
      return;
    }
    this.point.value = null;
    this.changed(mark.id, less);
    if (this.said.value === s.moved) this.said.value = s.pointGone;
  }

  /** How wide the chosen bar is; where an edge is dotted for it, how wide that one is. */
  setWidth(width: number): void {
    const mark = this.chosen.value;
    if (!mark || mark.line === null || !(width > 0) || this.seen.widen(mark.id, width)) return;
    this.barWidth = width;
    this.put([{ ...mark, width }]);
  }

  drewBar(width: number): void {
    this.barWidth = width;
  }

  say(text: string): void {
    this.said.value = text;
  }

  get widthOfBars(): number {
    return this.barWidth;
  }

  takeAway(): void {
    const mark = this.chosen.value;
    if (!mark) return;
    const name = this.nameOf(mark);
    void this.send([{ do: "remove-mark", station: this.station.value.number, id: mark.id }]);
    this.choose(null);
    this.said.value = s.away(name);
  }

  /** The chosen mark is another thing's. */
  is(surface: string): void {
    const mark = this.chosen.value;
    const thing = this.things.value.find((each) => each.id === surface);
    if (!mark || !thing) return;
    this.put([{ ...mark, surface }], () => {
      this.said.value = s.marked(thing.full, strings.marking.ruling[thing.ruling]);
    });
  }

  /** In or out of play: said of the thing, so of all its marks. */
  rule(ruling: "in" | "out"): void {
    const mark = this.chosen.value;
    const thing = mark && this.thing(mark);
    if (!thing || thing.blanket) return;
    void this.send([{ do: "change-surface", station: this.station.value.number, surface: thing.id, set: { ruling } as never }]);
    this.said.value = s.marked(thing.full, strings.marking.ruling[ruling]);
  }

  copy(): void {
    const mark = this.chosen.value;
    if (!mark) return;
    const by = this.still.width * 0.04;
    const beside = tidied(movedBy(shapeOf(mark), by, by), this.still);
    const shape = typeof beside === "string" ? movedBy(shapeOf(mark), -by, -by) : beside.shapes[0];
    if (!shape) return;
    const copy = this.markOf(shape, mark.surface, "drawn");
    this.put([copy], () => {
      this.choose(copy.id);
      this.way.value = null;
      this.said.value = s.copied;
    });
  }

  startHole(): void {
    together(() => {
      this.purpose.value = "hole";
      if (this.way.value === null || this.way.value === "bar") this.way.value = "around";
      this.said.value = strings.marking.holeHint;
    });
  }

  private cut(hole: Shape, notes: readonly string[]): void {
    this.purpose.value = "mark";
    const mark = this.chosen.value;
    if (!mark) return;
    const before = areaOf(shapeOf(mark));
    const pieces = shapesOf(without(before, areaOf(hole)));
    const [first, ...more] = pieces;
    if (!first) {
      this.said.value = s.holeAll;
      return;
    }
    const size = (shapes: readonly Shape[]) => shapes.reduce((sum, each) => sum + sizeOf(each) - holesOf(each), 0);
    if (Math.abs(size(pieces) - size(shapesOf(before))) < 0.5) {
      this.said.value = s.holeOutside;
      return;
    }
    this.put([{ ...mark, ...fieldsOf(first) }, ...more.map((shape) => this.markOf(shape, mark.surface, "drawn"))], () => {
      this.said.value = [s.hole, ...notes, ...(more.length > 0 ? [s.split(pieces.length)] : [])].join(" ");
      this.way.value = null;
    });
  }

  startJoin(): void {
    this.purpose.value = "join";
    this.said.value = strings.marking.joinHint;
  }

  join(other: string): void {
    this.purpose.value = "mark";
    const [mark, with_] = [this.chosen.value, this.marks.value.find((each) => each.id === other)];
    if (!mark || !with_ || mark === with_) return;
    const whole = shapesOf(joinedArea(areaOf(shapeOf(mark)), areaOf(shapeOf(with_))));
    const [first] = whole;
    if (!first || whole.length > 1) {
      this.said.value = s.apart;
      return;
    }
    const number = this.station.value.number;
    void this.send([
      { do: "put-mark", station: number, mark: { ...mark, ...fieldsOf(first) } },
      { do: "remove-mark", station: number, id: with_.id },
    ]);
    this.said.value = s.joined;
  }

  // What was begun, over a closed tab

  keepBegun(): void {
    const hand = this.inHand.value;
    const begun = hand?.doing === "drawing" ? { way: hand.way, points: hand.points, aim: this.aim.value } : null;
    keepBegunOn(this.course, this.station.peek().id, this.still.id, begun);
  }

  /** Goes on with an outline whose corners were being put when the page closed. */
  restore(): void {
    const kept = begunOn(this.course, this.station.peek().id, this.still.id);
    if (!kept) return;
    together(() => {
      this.way.value = kept.way;
      if (this.things.value.some((thing) => thing.id === kept.aim)) this.aim.value = kept.aim;
      this.inHand.value = { doing: "drawing", way: kept.way, points: kept.points, next: null, tracing: false };
      this.said.value = strings.marking.begun;
    });
  }
}

const WAYS: readonly Way[] = ["around", "box", "round", "bar"];

/** How this browser's person drew last; thin things apart, since a strap is no platform. */
function usualWay(thing: Thing | null = null): Way {
  return WAYS.find((way) => way === recall(wayKey(thing))) ?? (thing?.thin ? "bar" : "box");
}

const wayKey = (thing: Thing | null) => (thing?.thin ? "way thin" : "way");

const PLAIN = { part: null, role: "route", contact: null, overshoot: null, divisions: null, optional: false } as const;
const belongs = (mark: Mark, thing: Thing) => mark.surface === thing.id || thing.replaces.includes(mark.surface);
const holesOf = (shape: Shape) =>
  ringsOf(shape)
    .slice(1)
    .reduce((sum, ring) => sum + sizeOf({ kind: "outline", rings: [ring] }), 0);
