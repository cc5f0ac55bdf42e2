/** What a mark looks like, in screen pixels; the same as on every output (annotator/marks/looks.py; a test compares them). */

export type Style = "in play" | "out of play" | "start" | "finish" | "excepted part";
export type Stroke = Readonly<{ colour: string; width: number; dash: readonly [number, number] | null }>;
export type Look = Readonly<{ strokes: readonly Stroke[]; fill: string | null; hatch: boolean; ground: string; text: string }>;

export const IN_PLAY = "#0072B2";
export const OUT_OF_PLAY = "#D55E00";
export const INK = "#1D2329";
export const WHITE = "#FFFFFF";
export const FILL_OPACITY = 0.18;
export const HATCH = { period: 9, width: 2, underWidth: 3.4, underOpacity: 0.5 } as const;

const stroke = (colour: string, width: number, dash: readonly [number, number] | null = null): Stroke => ({ colour, width, dash });
const inPlay: Look = { strokes: [stroke(WHITE, 6), stroke(IN_PLAY, 3)], fill: IN_PLAY, hatch: false, ground: IN_PLAY, text: WHITE };
const ends: Look = { ...inPlay, strokes: [stroke(WHITE, 12), stroke(IN_PLAY, 9), stroke(WHITE, 3)] };
const out: Look = { strokes: [stroke(INK, 6), stroke(OUT_OF_PLAY, 3, [7, 4])], fill: null, hatch: true, ground: INK, text: WHITE };

export const LOOKS: Readonly<Record<Style, Look>> = {
  "in play": inPlay,
  "out of play": out,
  start: ends,
  finish: ends,
  "excepted part": out,
};
export const DRAFT_LOOKS: Readonly<Record<"in" | "out", Look>> = {
  in: { strokes: [stroke(WHITE, 6), stroke(IN_PLAY, 3, [3, 4])], fill: null, hatch: false, ground: WHITE, text: INK },
  out: { strokes: [stroke(INK, 6), stroke(OUT_OF_PLAY, 3, [3, 4])], fill: null, hatch: false, ground: WHITE, text: INK },
};
