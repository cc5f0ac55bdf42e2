/* What moves on a station's page: marks on and off, another division, and the answer to a tap, all from what the page itself holds.
   Without this script everything is still there to read. */
"use strict";
(() => {
  const data = document.getElementById("asked");
  if (!data) return;
  const { stills, words } = JSON.parse(data.textContent);
  const figures = [...document.querySelectorAll("[data-still]")];
  let division = "";

  /** Is the point inside a polygon's rings, by the even-odd rule? */
  const inRings = (rings, x, y) => {
    let inside = false;
    for (const ring of rings)
      for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
        const [ax, ay] = ring[i], [bx, by] = ring[j];
        if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
      }
    return inside;
  };
  const inside = (polygons, x, y) => polygons.some((rings) => inRings(rings, x, y));

  /** Pixels from the point to the nearest of the lines. */
  const toEdge = (lines, x, y) => {
    let nearest = Infinity;
    for (const line of lines)
      for (let i = 1; i < line.length; i++) {
        const [ax, ay] = line[i - 1], [bx, by] = line[i];
        const dx = bx - ax, dy = by - ay, long = dx * dx + dy * dy;
        const t = long ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / long)) : 0;
        nearest = Math.min(nearest, Math.hypot(x - ax - t * dx, y - ay - t * dy));
      }
    return nearest;
  };

  /** The ruling at a point of a still, and its sentence: out wins over in, what is not named is out, near the edge nobody can tell. */
  const rule = (answers, x, y) => {
    if (toEdge(answers.edge, x, y) <= answers.tolerance) return ["close", words.close];
    const under = answers.things.filter((one) => inside(one.area, x, y));
    const thing = under.find((one) => one.ruling === "out") ?? under[0];
    return thing ? [thing.ruling, words[thing.ruling].replace("{thing}", () => thing.text)] : ["out", words.unnamed];
  };
  const answersOf = (still) => still.answers[division] ?? still.answers[""];

  const show = () => {
    const marks = document.getElementById("marks");
    for (const figure of figures)
      for (const layer of figure.querySelectorAll("[data-division]")) {
        const own = figure.querySelector(`[data-division="${CSS.escape(division)}"]`) ? division : "";
        layer.hidden = layer.dataset.division !== own || (marks !== null && !marks.checked);
      }
  };

  figures.forEach((figure, at) => {
    const still = stills[at];
    const picture = figure.querySelector(".still");
    const said = figure.querySelector("[role=status]");
    const point = figure.querySelector(".point");
    picture.addEventListener("click", (event) => {
      const box = picture.getBoundingClientRect();
      const x = ((event.clientX - box.left) / box.width) * still.size[0];
      const y = ((event.clientY - box.top) / box.height) * still.size[1];
      const [ruling, sentence] = rule(answersOf(still), x, y);
      said.textContent = sentence;
      said.dataset.ruling = ruling;
      point.hidden = false;
      point.style.left = `${(100 * x) / still.size[0]}%`;
      point.style.top = `${(100 * y) / still.size[1]}%`;
    });
  });

  for (const control of document.querySelectorAll(".switches")) control.hidden = false;
  document.getElementById("marks")?.addEventListener("change", show);
  document.getElementById("division")?.addEventListener("change", (event) => {
    division = event.target.value;
    for (const figure of figures) {
      figure.querySelector(".point").hidden = true;
      figure.querySelector("[role=status]").textContent = "";
    }
    show();
  });

  const video = document.querySelector("video[data-walk]");
  if (video?.dataset.captions && location.protocol !== "file:") {
    // From a folder browsers refuse caption files; asking for one would only fill the console with errors.
    const track = document.createElement("track");
    Object.assign(track, { kind: "captions", src: video.dataset.captions, srclang: document.documentElement.lang, default: true });
    video.append(track);
  }
  for (const link of document.querySelectorAll("a[data-at]"))
    link.addEventListener("click", (event) => {
      if (!video || video.dataset.walk !== link.dataset.clip) return;
      event.preventDefault();
      video.currentTime = Number(link.dataset.at);
      video.scrollIntoView({ block: "nearest" });
      void video.play();
    });
  show();
})();
