/** Help where it is needed: the way around in two minutes, and the list of keys. */

export const help = {
  keysOpen: "Keys",
  keysTitle: "What the keys do",
  close: "Close",
  everywhere: "On every page",
  walk: "Listening to the walk",
  sheet: "On the sheet",
  marking: "Marking on a still",
  tourOffer: "New here? Two minutes show you around this course.",
  tourBegin: "Show me around",
  tourAgain: "Show me around again",
  tourNo: "Not now",
  tourNext: "Next",
  tourBack: "Back",
  tourEnd: "End",
  tourTitle: "The way around",
  tourAt: (at: number, of: number) => `${at} of ${of}`,
  steps: {
    states: "This line tells how far the course is, and the button below it leads to what comes next.",
    plates: "Each plate is a station, with how it stands. They are the way around, on every page.",
    walk: "Here you listen. Tap a word to hear it, correct what was heard wrong, and take stills from the film.",
    stills: "A station has its still. Draw on it what is in play and what is out, or take what is proposed.",
    sheet: "Beside it is its sheet, drafted from the words. Change what is wrong where it stands, and accept what is right.",
    evidence: "Every line has the words that it comes from. Tap the time to hear them.",
    settle: "When all of it is right, accept the station. A second person signs it.",
    publish: "Once nothing must be mended, publish: booklet, cards and captions come out together.",
    saved: "Nothing needs saving by hand. Here you see that all is saved, and with Undo you take a change back.",
  },
} as const;

type Keys = readonly (readonly [string, string])[];
export const everywhereKeys: Keys = [
  ["?", "this list"],
  ["Tab", "on to the next thing; Shift + Tab back"],
  ["Ctrl + Z, Ctrl + Shift + Z", "undo, do it again"],
];
export const sheetKeys: Keys = [
  ["Enter", "in a field: keep what is typed"],
  ["Escape", "in a field: leave it as it was"],
  ["Arrow keys", "in a row of choices: the one before, the next one"],
];
