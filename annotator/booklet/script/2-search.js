// @ts-check
/* Finding a station or a thing by what somebody types. Nothing here touches the page. */

/** @typedef {{to: string, number: number | null, name: string, things: [string, string][]}} Entry the things are [words, "in" | "out" | ""] */
/** @typedef {{entry: Entry, things: [string, string][]}} Found */

const UNFOLDED = /** @type {Record<string, string>} */ ({ ß: "ss", æ: "ae", œ: "oe", ø: "o", đ: "d", ł: "l", ı: "i", þ: "th" });

/** Letters without their accents, small, other signs as spaces. @param {string} text */
function fold(text) {
  return text
    .toLowerCase()
    .replace(/[ßæœøđłıþ]/g, (letter) => UNFOLDED[letter])
    .normalize("NFKD")
    .replace(/\p{M}/gu, "")
    .replace(/[^\p{L}\p{N}\p{S}]+/gu, " ")
    .trim();
}

/**
 * The entries that hold every word typed, in their name, number or things; a station's own number or name first, then course order.
 * @param {Entry[]} entries @param {string} typed @returns {Found[]}
 */
function search(entries, typed) {
  const words = fold(typed).split(" ").filter(Boolean);
  if (!words.length) return entries.map((entry) => ({ entry, things: [] }));
  /** @type {[number, Found][]} */
  const found = [];
  for (const entry of entries) {
    const name = fold(`${entry.number ?? ""} ${entry.name}`);
    const left = words.filter((word) => !` ${name}`.includes(/^\d+$/.test(word) ? ` ${word}` : word));
    const things = left.length ? entry.things.filter(([text]) => left.every((word) => fold(text).includes(word))) : [];
    if (left.length && !things.length) continue;
    const exact = words.length === 1 && words[0] === String(entry.number);
    found.push([exact ? 0 : left.length ? 2 : 1, { entry, things }]);
  }
  return found.sort(([one], [other]) => one - other).map(([, one]) => one);
}
