// @ts-check
/* The find window of a page: what it searches is fetched when it is first opened, as a script, so that it also comes from a folder. */

/** @param {Words} words */
function startFinder(words) {
  const found = document.querySelector("dialog.finder");
  if (!(found instanceof HTMLDialogElement)) return;
  const dialog = found;
  const field = /** @type {HTMLInputElement} */ (one(dialog, "input")), hits = one(dialog, ".hits"), count = one(dialog, ".count");
  /** @type {Entry[] | null} */
  let entries = document.querySelector("script.index") ? told(document, "script.index") : null;
  const say = () => {
    if (!entries) return;
    const results = search(entries, field.value);
    hits.replaceChildren(...results.map((result) => hit(result, words)));
    count.textContent = results.length ? words.hits.replace("{count}", String(results.length)) : words["hits:none"];
  };
  const load = () => {
    const index = dialog.dataset.index;
    if (entries || !index) return;
    const script = document.createElement("script");
    script.src = index;
    script.onload = () => {
      entries = /** @type {any} */ (self).bookletIndex;
      say();
    };
    document.head.append(script);
  };
  for (const button of all(document, "button.find"))
    button.addEventListener("click", () => {
      load();
      dialog.showModal();
      field.select();
      say();
    });
  field.addEventListener("input", say);
  hits.addEventListener("click", (event) => {
    if (event.target instanceof Element && event.target.closest("a")) dialog.close();
  });
  dialog.addEventListener("click", (event) => {
    if (event.target === dialog) dialog.close();
  });
}

/** @param {Found} found @param {Words} words */
function hit({ entry, things }, words) {
  const line = document.createElement("li"), link = document.createElement("a");
  link.href = entry.to;
  if (entry.number !== null) link.append(piece("tape", String(entry.number)), " ");
  link.append(piece("name", entry.name));
  line.append(link);
  for (const [text, plate] of things.slice(0, 6)) {
    const thing = document.createElement("p");
    if (plate) thing.append(piece(`plate ${plate}`, words[`${plate}-plate`]), " ");
    const name = piece("thing", text);
    thing.append(name);
    link.append(thing);
  }
  return line;
}

/** @param {string} kind @param {string} text */
function piece(kind, text) {
  const made = document.createElement("span");
  made.className = kind;
  made.dir = "auto";
  made.textContent = text;
  return made;
}
