/** How the still lies on its board while it is marked, and where keys have put the cross. */

import { signal } from "@preact/signals";
import type { Point, Size } from "../geometry/point";
import { enlarged, fromBoard, kept, shifted, showing, toBoard, type View, whole } from "../geometry/view";

export class OnBoard {
  readonly size = signal<Size>({ width: 0, height: 0 });
  readonly view = signal<View>({ scale: 1, dx: 0, dy: 0 });
  readonly cross = signal<Point | null>(null);

  constructor(readonly still: Size) {}

  /** The board has another size on the screen; what is shown stays as it is. */
  fit(size: Size): void {
    const before = this.size.value;
    if (size.width === before.width && size.height === before.height) return;
    const grown = before.width > 0 ? size.width / before.width : 0;
    const { scale, dx, dy } = this.view.value;
    this.size.value = size;
    this.view.value =
      grown > 0 ? kept({ scale: scale * grown, dx: dx * grown, dy: dy * grown }, size, this.still) : whole(size, this.still);
  }

  get isWhole(): boolean {
    return this.view.value.scale <= whole(this.size.value, this.still).scale * 1.001;
  }

  enlarge(factor: number, about: Point | null = null): void {
    const at = about ?? (this.cross.value && toBoard(this.view.value, this.cross.value)) ?? this.middle;
    this.view.value = enlarged(this.view.value, factor, at, this.size.value, this.still);
  }

  all(): void {
    this.view.value = whole(this.size.value, this.still);
  }

  shift(by: Point): void {
    this.view.value = shifted(this.view.value, by, this.size.value, this.still);
  }

  toStill(at: Point): Point {
    return fromBoard(this.view.value, at);
  }

  toBoard(at: Point): Point {
    return toBoard(this.view.value, at);
  }

  /** Screen pixels as pixels of the still. */
  inStill(px: number): number {
    return px / this.view.value.scale;
  }

  putCross(at: Point): void {
    this.cross.value = at;
    this.view.value = showing(this.view.value, at, this.size.value, this.still);
  }

  private get middle(): Point {
    return { x: this.size.value.width / 2, y: this.size.value.height / 2 };
  }
}
