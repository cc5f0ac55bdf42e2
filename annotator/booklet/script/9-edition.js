// @ts-check
/* Kept on this phone, a newer edition, films: what has to do with the place that the pages came from. Silent without a network. */

/** @typedef {{number: number | null, up: string, language: string, worker: boolean}} Here */
/** @typedef {{number?: number | null, films?: Record<string, {video: string, start: number, end: number}>}} There */

/** @param {Here} here @param {Words} words */
async function startEdition(here, words) {
  if (!location.protocol.startsWith("http")) return;
  if (here.worker && "serviceWorker" in navigator) void keepHere(here); // not waited for: where the phone keeps nothing it never ends
  if (!navigator.onLine) return;
  /** @type {There} */
  let there;
  try {
    const answer = await fetch(`${here.up}edition.json`, { cache: "no-store" }); // asked for whole: a host that goes by times may call it unchanged
    if (!answer.ok) return;
    there = await answer.json();
  } catch {
    return; // no network, or not served from where it was made
  }
  if (here.number !== null && typeof there.number === "number" && there.number > here.number) sayNewer(there.number, words);
  else if (there.films) offerFilms(there.films, words);
}

/** @param {Here} here */
async function keepHere(here) {
  try {
    await navigator.serviceWorker.register(`${here.up}worker.js`, { scope: here.up || "./" });
    const ready = await navigator.serviceWorker.ready;
    navigator.serviceWorker.addEventListener("message", (event) => {
      if (event.data?.kept) for (const line of all(document, ".kept")) line.hidden = false;
    });
    const [kind, width] = await pictureFor();
    ready.active?.postMessage({ keep: { language: here.language, kind, width } });
  } catch {
    // storage is switched off: the booklet works as long as there is a network
  }
}

/** The kind of picture that this browser chose on the page, or on an earlier one where this shows none, and the width that its screen takes. @returns {Promise<[string, number]>} */
async function pictureFor() {
  const image = /** @type {HTMLImageElement | null} */ (document.querySelector("picture img"));
  if (image) {
    image.loading = "eager"; // a picture that is far down has not chosen yet
    await image.decode().catch(() => undefined);
  }
  const kind = /\.(avif|webp|jpg)$/.exec(image?.currentSrc ?? "")?.[1] ?? recall("kind") ?? "jpg";
  remember("kind", kind);
  return [kind, Math.round(Math.min(innerWidth, 608) * Math.min(devicePixelRatio, 2.5))];
}

/** @param {number} number @param {Words} words */
function sayNewer(number, words) {
  const banner = one(document, ".newer"), open = document.createElement("button");
  open.type = "button";
  open.textContent = words["newer-open"];
  open.addEventListener("click", () => {
    open.disabled = true;
    void openNewest(() => {
      open.disabled = false; // the host is still being filled: the reader may try again
    });
  });
  banner.append(words.newer.replace("{number}", String(number)), " ", open);
  banner.hidden = false;
}

/** Open the newest edition; `notYet` where not all of it is there. @param {() => void} notYet */
async function openNewest(notYet) {
  const reload = () => location.reload();
  const registration = await navigator.serviceWorker?.getRegistration().catch(() => undefined);
  if (!registration || !navigator.serviceWorker.controller) {
    await fetch(location.href, { cache: "reload" }).catch(() => undefined);
    return reload();
  }
  navigator.serviceWorker.addEventListener("controllerchange", reload);
  const go = (/** @type {ServiceWorker | null} */ worker) => {
    if (!worker) return;
    const ready = () => {
      if (worker.state === "installed") worker.postMessage({ go: true });
      if (worker.state === "redundant") notYet();
    };
    worker.addEventListener("statechange", ready);
    ready();
  };
  registration.addEventListener("updatefound", () => go(registration.installing));
  const script = registration.active?.scriptURL;
  if (script) await fetch(script, { cache: "reload" }).catch(() => undefined); // what update() compares, whole, for the same reason as above
  await registration.update().catch(reload);
  const newest = registration.waiting ?? registration.installing;
  if (newest) go(newest);
  else notYet();
}

/** A link beside each moment that a station's film holds; the film plays below the words. @param {NonNullable<There["films"]>} films @param {Words} words */
function offerFilms(films, words) {
  for (const page of all(document, ".page[data-number]")) {
    const film = films[page.dataset.number ?? ""];
    if (!film) continue;
    for (const line of all(page, ".heard li[data-at]")) {
      const at = Number(line.dataset.at) - film.start;
      if (at < 0 || at > film.end - film.start) continue;
      const link = document.createElement("a");
      link.className = "hear";
      link.href = `${film.video}#t=${Math.max(0, at - 1).toFixed(1)}`;
      link.textContent = words.hear;
      link.addEventListener("click", (event) => {
        event.preventDefault();
        const video = page.querySelector("video.film") ?? document.createElement("video");
        if (!(video instanceof HTMLVideoElement)) return;
        Object.assign(video, { className: "film", controls: true, playsInline: true, src: link.href });
        line.append(video);
        void video.play().catch(() => undefined);
      });
      line.append(" ", link);
    }
  }
}
