/* The page that plays the walk: captions, stations, speed, and the rules of the station being played, all from what the page itself holds.
   Without this script the film plays, every rule is there to read, and each moment is a link into the film. */
"use strict";
(() => {
  const film = document.getElementById("film");
  const captions = document.getElementById("captions");
  const speed = document.getElementById("speed");
  const jumps = [...document.querySelectorAll(".jump")];
  const sheets = [...document.querySelectorAll("[data-sheet]")];
  const NEAR_S = 2; // "back" within the first moments of a station leads to the one before

  /* Captions and chapters. From a folder browsers refuse to read files for a page, so there the text comes out of the page itself. */
  const tracks = new Map();
  for (const held of document.querySelectorAll("script[data-file]")) {
    const file = held.dataset.file;
    const track = document.createElement("track");
    const text = () => URL.createObjectURL(new Blob([JSON.parse(held.textContent)], { type: "text/vtt" }));
    Object.assign(track, { kind: held.dataset.kind, label: held.dataset.label, srclang: held.dataset.language });
    track.default = file === captions.value;
    track.src = location.protocol === "file:" ? text() : file;
    film.append(track);
    tracks.set(file, track);
  }
  const spoken = [...tracks].filter(([, track]) => track.kind !== "chapters");
  const chapters = [...tracks.values()].find((track) => track.kind === "chapters");
  if (chapters) chapters.track.mode = "hidden";

  let last = captions.value || (spoken.length ? spoken[0][0] : "");
  const caption = (file) => {
    if (file) last = file;
    for (const [name, track] of spoken) track.track.mode = name === file ? "showing" : "disabled";
  };
  caption(captions.value);
  captions.addEventListener("change", () => caption(captions.value));
  film.textTracks.addEventListener("change", () => {
    // The browser's own control has a choice of captions too: both say the same. By itself, though, a browser may turn one more on.
    const shown = spoken.filter(([, track]) => track.track.mode === "showing").map(([name]) => name);
    if (shown.length > 1) return caption(shown.includes(captions.value) ? captions.value : shown[0]);
    captions.value = shown[0] ?? "";
    last = shown[0] ?? last;
  });

  speed.addEventListener("change", () => {
    film.playbackRate = Number(speed.value);
  });
  film.addEventListener("ratechange", () => {
    if ([...speed.options].some((one) => Number(one.value) === film.playbackRate)) speed.value = String(film.playbackRate);
  });
  const faster = (by) => {
    const at = speed.selectedIndex + by;
    if (at < 0 || at >= speed.options.length) return;
    speed.selectedIndex = at;
    film.playbackRate = Number(speed.value);
  };

  /* The station being played. */
  const spans = jumps.map((jump) => ({ at: Number(jump.dataset.at), until: Number(jump.dataset.until), number: jump.dataset.number, jump }));
  const here = () => spans.findLast((span) => span.at <= film.currentTime + 0.01);
  let shown = null;
  const follow = () => {
    const span = here();
    const number = span ? span.number : "0";
    if (number === shown) return;
    shown = number;
    for (const sheet of sheets) sheet.hidden = sheet.dataset.sheet !== number;
    for (const one of spans) one === span ? one.jump.setAttribute("aria-current", "true") : one.jump.removeAttribute("aria-current");
    const plate = document.getElementById("now-number");
    const name = document.getElementById("now-name");
    plate.hidden = !span;
    plate.textContent = span ? number : "";
    name.textContent = span ? span.jump.querySelector(".name").textContent : name.dataset.before;
  };
  for (const moment of ["timeupdate", "seeking", "seeked", "loadedmetadata"]) film.addEventListener(moment, follow);

  const go = (at_s, play) => {
    film.currentTime = at_s;
    if (play) film.play().catch(() => {}); // a browser may refuse to play before the first tap; the film stands at the moment then
  };
  for (const link of document.querySelectorAll("[data-at]"))
    link.addEventListener("click", (event) => {
      if (event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
      event.preventDefault();
      go(Number(link.dataset.at), true);
      film.scrollIntoView({ block: "nearest" });
    });

  /* An address may name a moment and the captions to see there: index.html#t=83.4&captions=captions.clean.vtt */
  const addressed = () => {
    const told = new URLSearchParams(location.hash.slice(1));
    const file = told.get("captions");
    if (tracks.has(file)) {
      captions.value = file;
      caption(captions.value);
    }
    const at_s = Number(told.get("t"));
    if (told.has("t") && at_s >= 0) go(at_s, false);
  };
  window.addEventListener("hashchange", addressed);

  const next = () => {
    const span = spans.find((one) => one.at > film.currentTime + 0.01);
    if (span) go(span.at, false);
  };
  const back = () => {
    const span = spans.findLast((one) => one.at < film.currentTime - NEAR_S);
    go(span ? span.at : 0, false);
  };
  // The space bar and the arrows are the browser's own: with the focus on the film they act in all of them, whatever a page does.
  const keys = {
    n: next,
    b: back,
    c: () => {
      captions.value = captions.value ? "" : last;
      caption(captions.value);
    },
    s: () => faster(-1),
    f: () => faster(1),
  };
  film.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const act = keys[event.key.toLowerCase()];
    if (!act) return;
    event.preventDefault();
    act();
  });

  for (const hidden of document.querySelectorAll(".switches, .now, .keys")) hidden.hidden = false;
  follow();
  addressed();
})();
