/** What the pages say where a course is taken out, and where it lies afterwards. */

const one = (count: number, single: string, many: string) => `${count} ${count === 1 ? single : many}`;

export const bin = {
  remove: "Remove this course",
  sure: (title: string) => `Remove “${title}”?`,
  goes: "This goes into the bin:",
  clips: (count: number, length: string) => `${one(count, "clip", "clips")} of the walk, ${length}`,
  stations: (count: number) => `${one(count, "station", "stations")} with all rules and who accepted and signed them`,
  stills: (stills: number, marks: number) => `${one(stills, "still", "stills")} and ${one(marks, "mark", "marks")}`,
  editions: (count: number) => `${one(count, "edition", "editions")}: nobody can open the booklet from here any more`,
  days: "For 30 days it can be brought back from the bin on the page of all courses. After that its film and all the rest are deleted.",
  elsewhere: "What phones, papers and packs hold already stays there.",
  yes: "Yes, move it to the bin",
  anyway: "Move it to the bin all the same",
  no: "No, keep it",
  gone: "This course was removed",
  title: (count: number) => `In the bin: ${one(count, "course", "courses")}`,
  put: (who: string, when: string) => `Put here by ${who === "staff" ? "somebody" : who}, ${when}.`,
  until: (day: string) => `It can be brought back until ${day}.`,
  back: "Bring it back",
  backNamed: (title: string) => `Bring ${title} back`,
  forGood: "Remove it for good",
  forGoodNamed: (title: string) => `Remove ${title} for good`,
  sureForGood: (title: string) => `Delete “${title}” from this machine for good?`,
  deleted: "Its film, stills, rules and editions are deleted. Nothing brings them back. What phones, papers and packs hold stays there.",
  yesForGood: "Yes, delete it",
  going: "It is being deleted …",
} as const;
