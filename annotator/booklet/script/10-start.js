// @ts-check
/* Brings pages to life. Without this script everything is there to read; what only the script can do is hidden until it runs. */

/** @typedef {{divisions: string[], name: string, here: Here, words: Words}} About what the page says about itself */

/** The page that is open: the only one of its file, or one of many in the booklet that is one file. */
const openPage = () => /** @type {HTMLElement} */ (document.querySelector(".page:not([hidden])") ?? document.body);

/** One language's pages, as they stand in the document now. @param {About} about */
function begin(about) {
  const { words } = about;
  const known = ["", ...about.divisions];
  const key = `${about.name} division`;
  let division = 0;
  /** @type {(() => void)[]} */
  const redraw = [];

  const choose = (/** @type {number} */ chosen) => {
    division = chosen;
    for (const line of all(document, "[data-for]")) line.hidden = !(line.dataset.for ?? "").split(" ").includes(String(division));
    for (const line of all(document, "[data-differs]")) line.classList.toggle("now", line.dataset.differs === String(division));
    for (const choice of all(document, ".choice")) {
      const select = /** @type {HTMLSelectElement} */ (one(choice, "select"));
      select.value = String(division);
      const chosen = one(choice, ".chosen"), name = select.selectedOptions[0].text;
      if (chosen.textContent !== name) chosen.textContent = name;
    }
    for (const again of redraw) again();
  };
  const startPage = (/** @type {HTMLElement} */ page) => {
    if (!page.querySelector("script.told")) return;
    const { stills, quiz } = told(page, "script.told");
    const switched = page.querySelector(".marks-switch");
    const marks = () => !(switched instanceof HTMLInputElement) || switched.checked;
    const started = all(page, "[data-still]").map((figure, at) => startStill(figure, stills[at], words));
    const show = () => {
      for (const still of started) {
        still.point(null, true);
        still.show(division, marks());
      }
    };
    const check = startQuiz(page, started, () => quiz[division] ?? quiz[0] ?? [], words, show);
    switched?.addEventListener("change", () => started.forEach((still) => still.show(division, marks())));
    redraw.push(check.stop, show);
  };

  for (const select of all(document, "select.division"))
    select.addEventListener("change", () => {
      choose(Number(/** @type {HTMLSelectElement} */ (select).value));
      remember(key, known[division]);
    });
  for (const page of all(document, ".page")) startPage(page);
  startFinder(words);
  startWalk();
  const kept = () => Math.max(0, known.indexOf(recall(key) ?? ""));
  const again = () => choose(kept());
  again();
  const follow = () => {
    if (recall(key) !== null && kept() !== division) again();
  };
  addEventListener("storage", follow); // chosen on another page that stands open
  addEventListener("pageshow", follow); // chosen on a later page, before the way back to this one
  addEventListener("visibilitychange", follow); // should a browser have told nothing of it meanwhile
  addEventListener("focus", follow);
  return again;
}

/** A clip that lies beside the pages: its captions, and links to its moments. */
function startWalk() {
  for (const video of /** @type {HTMLVideoElement[]} */ (all(document, "video[data-walk]"))) {
    if (video.dataset.captions && location.protocol !== "file:") {
      // From a folder browsers refuse caption files; asking for one would only fill the console with errors.
      const track = document.createElement("track");
      Object.assign(track, { kind: "captions", src: video.dataset.captions, srclang: document.documentElement.lang, default: true });
      video.append(track);
    }
    for (const link of all(document, `a[data-clip="${video.dataset.walk}"]`))
      link.addEventListener("click", (event) => {
        event.preventDefault();
        video.currentTime = Number(link.dataset.at);
        video.scrollIntoView({ block: "nearest" });
        void video.play();
      });
  }
}

/* One file with all pages: one is shown at a time, by the address's fragment; other languages wait in templates. */

function startSingle() {
  const first = document.documentElement.lang;
  /** @type {Map<string, {nodes: Node[], lang: string, dir: string, again: (() => void) | null}>} */
  const languages = new Map();
  const fixed = (/** @type {Node} */ node) => node instanceof HTMLScriptElement && !node.type;
  const shown = () => [...document.body.childNodes].filter((node) => !fixed(node));
  const templates = /** @type {HTMLTemplateElement[]} */ (all(document, "template[data-language]"));
  for (const template of templates) {
    const { language = "", direction = "" } = template.dataset;
    languages.set(language, { nodes: [...template.content.childNodes], lang: language, dir: direction, again: null });
    template.remove();
  }
  languages.set(first, { nodes: shown(), lang: first, dir: document.documentElement.dir, again: null });
  /** @type {Record<string, string>} */
  const pictures = {};
  for (const image of /** @type {HTMLImageElement[]} */ (all(document, "img[data-copy]"))) pictures[image.dataset.copy ?? ""] = image.src;

  const go = () => {
    const asked = location.hash.slice(1);
    const pages = all(document, ".page");
    const target = pages.find((page) => page.id === asked) ?? pages[0];
    for (const page of pages) page.hidden = page !== target;
    for (const way of all(document, ".bar .way")) way.hidden = target === pages[0];
    const heading = one(target, "h1");
    document.title = heading.textContent?.trim() ?? document.title;
    scrollTo(0, 0);
    return heading;
  };
  const speak = (/** @type {string} */ language) => {
    const chosen = languages.get(language);
    if (!chosen) return;
    for (const node of shown()) node.parentNode?.removeChild(node);
    document.body.prepend(...chosen.nodes);
    document.documentElement.lang = chosen.lang;
    document.documentElement.dir = chosen.dir;
    for (const image of /** @type {HTMLImageElement[]} */ (all(document, "img[data-copy]"))) image.src = pictures[image.dataset.copy ?? ""];
    if (chosen.again) chosen.again();
    else {
      chosen.again = begin(told(document, "#about"));
      for (const link of all(document, "a[hreflang]"))
        link.addEventListener("click", (event) => {
          event.preventDefault();
          const to = link.getAttribute("hreflang") ?? "";
          remember("language", to);
          const summary = link.closest("details");
          if (summary) summary.open = false;
          speak(to);
        });
    }
    go();
  };
  const wanted = [recall("language") ?? "", ...navigator.languages.flatMap((one) => [one, one.split("-")[0]])];
  speak(wanted.find((one) => languages.has(one)) ?? first);
  addEventListener("hashchange", () => {
    const heading = go();
    heading.tabIndex = -1;
    heading.focus({ preventScroll: true });
  });
}

(() => {
  if (!document.getElementById("about")) return;
  if (document.documentElement.classList.contains("single")) startSingle();
  else {
    const about = /** @type {About} */ (told(document, "#about"));
    begin(about);
    addEventListener("load", () => void startEdition(about.here, about.words));
  }
  startTurning(openPage);
})();
