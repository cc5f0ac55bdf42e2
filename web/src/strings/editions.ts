/** What the pages say about captions, films and editions. */

const one = (count: number, single: string, many: string) => `${count} ${count === 1 ? single : many}`;

export const editions = {
  title: "Editions",
  none: "Nothing is published yet.",
  line: (number: number, when: string, by: string) => `Edition ${number}, ${when}, by ${by}`,
  writing: "Its papers are being written.",
  publish: (number: number) => `Publish edition ${number}`,
  openEnds: (unsigned: number, look: number) =>
    [
      unsigned > 0 && `Not signed by a second person: ${one(unsigned, "station", "stations")}.`,
      look > 0 && `Not marked, not looked at or not clear: ${one(look, "thing", "things")}.`,
      "It can be published all the same.",
    ]
      .filter(Boolean)
      .join(" "),
  address: "Where it will be read (optional)",
  addressHelp: "The address of the booklet on the web, for the square codes on the cards.",
  blocked: "It cannot be published before what is open is mended.",
  captions: (count: number) => `Captions, chapters and how they read: ${one(count, "file", "files")}`,
  filmsMade: (count: number) => `Films: ${one(count, "file", "files")}`,
  outputs: {
    booklet: "Booklet for phones",
    "booklet.html": "Booklet in one file, to send round",
    "judge-cards.pdf": "Judge cards, to print",
    "wall-sheet.pdf": "Sheet for the wall, to print",
    "booklet.pdf": "Booklet, to print",
    "booklet.epub": "Booklet as an e-book",
    "change-slip": "What has changed",
    "change-slip/changes.html": "What has changed",
    "change-slip/changes.pdf": "What has changed, to print",
    films: "The walk as a film, with its rules beside it",
    "films/reading.html": "How the films' captions read",
    "films/walk.mp4": "The walk, to send round",
  } as Readonly<Record<string, string>>,
  filmOf: (station: string) => `Station ${station}`,
} as const;

export const films = {
  make: "Make the films",
  goOn: "Go on with the films",
  again: "Make the films again, otherwise",
  help: (faces: boolean) =>
    `The walk and each station as films with captions and zones, ${faces ? "faces shown" : "faces blurred"}. It takes several times as long as the walk.`,
  making: (share: number, left: string) => `The films are being made: ${Math.floor(share * 100)} % done${left && `, ${left}`}.`,
  stop: "Stop making films",
  how: "How they are made",
  size: "Size",
  lines: { 480: "480 lines, small files", 720: "720 lines, sharper" },
  wording: "Captions",
  wordings: { "as spoken": "every word as spoken", clean: "without fillers and false starts", children: "slower, for children" },
  inPicture: "Captions stand in the picture too, for players that show none",
  division: "Zones for",
  everyone: "everyone",
  walk: "The whole walk as one film too",
  faces: {
    title: "Faces in the films",
    blurred: "Faces are blurred in every film.",
    shown: (who: string, because: string) => `Faces are shown in the films: ${who} said so, because “${because}”.`,
    why: "Why may they be shown?",
    whyHelp: "For instance: all are adults and agreed in writing. Your name and the reason are kept.",
    show: "Show faces from the next edition on",
    blur: "Blur them again",
  },
} as const;

export const captions = {
  title: "Captions of the walk",
  which: { "as spoken": "As spoken", clean: "Without fillers and false starts", children: "Slower, for children" },
  translated: (language: string) => `In ${language}, as somebody translated them`,
  cues: (count: number) => one(count, "caption", "captions"),
  allKept: "Every limit is kept by every caption.",
  broken: (count: number, limit: string) => `${one(count, "caption does", "captions do")} not keep: ${limit}.`,
  speed: (share: number, wish: string) => `Reading speed, which is a wish: ${Math.round(share * 100)} % (${wish}).`,
  open: (languages: readonly string[]) => `How they read${languages.length > 0 ? `; in ${languages.join(", ")} too` : ""}`,
  lookHead: "Look at these first",
  limits: "Every limit",
  limitRow: (kept: number, of: number) => `${kept} of ${of}`,
  wish: "wish",
  limit: "limit",
  hear: (time: string) => `Hear ${time}`,
  lay: "Captions that somebody translated",
  layHelp: "Give the walk's caption file back in another language (.srt or .vtt). Its times stay; the next edition and its films have it.",
  choose: "Choose a caption file",
  language: "Its language",
  pick: "Choose the language",
  keep: (language: string) => `Keep it as ${language}`,
  keepFirst: "Keep it",
  replaces: (language: string) => `It takes the place of the captions in ${language} that are here.`,
  never: "Leave it out",
  out: (language: string) => `Take the captions in ${language} out`,
  outSure: "Take them out?",
  outYes: "Yes, take them out",
  outNo: "No",
} as const;
