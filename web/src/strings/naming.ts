/** What the pages say about other languages: what names are called there, a still in words, and how the booklet reads. */

const one = (count: number, single: string, many: string) => `${count} ${count === 1 ? single : many}`;

export const naming = {
  title: "Names in other languages",
  help: "The booklet is written in these languages; names stay as they were said until somebody gives the one that is used there.",
  language: "Language",
  missing: (count: number) => (count === 0 ? "Every name has one." : `${one(count, "name has", "names have")} none yet.`),
  inOthers: (done: number, all: number) => `In other languages${done > 0 ? ` (${done} of ${all})` : ""}`,
  asSaid: "as it was said",
  still: {
    title: "In words, for those who cannot see it",
    help: "A screen reader says this in place of the picture. It is made from the marks, and changes with them, until somebody writes it.",
    made: "made from its marks",
    written: "written by hand",
    back: "Back to the made one",
    away: "The server does not answer, so what is made from the marks cannot be shown now.",
    tooLong: (length: number, most: number) => `That has ${length} characters; use at most ${most}. It is not saved yet.`,
  },
  reading: {
    title: "How it reads",
    ease: { veryEasy: "very easily", easy: "easily", hard: "a little hard", veryHard: "hard" },
    sentence: (language: string, ease: string, words: string) => `In ${language} it reads ${ease}: a line has ${words} words on average.`,
    index: (lix: string) => `LIX ${lix}`,
    indexHelp: "LIX is a readability index: about 20 is a children's book, 30 is easy, 40 a little hard, 50 and more a text for experts.",
    others: "In the other languages",
    noWords: "There is nothing to read yet.",
    longLines: (count: number, most: number) =>
      count === 0 ? `No line has more than ${most} words.` : `${one(count, "line has", "lines have")} more than ${most} words:`,
    ofCourse: "At every station",
    words: (count: number) => one(count, "word", "words"),
  },
} as const;
