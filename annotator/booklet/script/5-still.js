// @ts-check
/* One still: larger and smaller, marks, and the answer to a tap or to the cross that the arrow keys move. */

/** @typedef {{id: string, size: [number, number], answers: Record<string, Answers>}} ToldStill answers by the number of the division, "0" is everyone else */
/** @typedef {{show: (division: number, marks: boolean) => void, point: (at: number[] | null, marks: boolean) => void, figure: HTMLElement}} Still */
/** @typedef {Record<string, string>} Words */

const SLACK_PX = 8; // a finger that moves less than this taps
const TWICE_MS = 350;

/** @param {HTMLElement} figure @param {ToldStill} still @param {Words} words @returns {Still} */
function startStill(figure, still, words) {
  const frame = one(figure, ".still"), stage = one(figure, ".stage"), point = one(figure, ".point");
  const cross = one(figure, ".cross"), said = one(figure, ".answer");
  const [width, height] = still.size;
  let view = WHOLE, division = 0, marks = true, asked = false, timer = 0;
  let at = [0.5, 0.5]; // of the cross, in parts of the picture

  /** @type {[Element, string][] | null} */
  let sizes = null; // what each picture was asked for at first

  const look = (/** @type {View} */ next) => {
    if (next === view) return;
    view = next;
    Object.assign(stage.style, { width: `${100 * view.times}%`, height: `${100 * view.times}%`, left: `${100 * view.x}%`, top: `${100 * view.y}%` });
    figure.classList.toggle("closer", view.times > 1);
    /** @type {HTMLButtonElement} */ (one(figure, ".whole")).disabled = view.times === 1;
    if (view.times === 1 && !sizes) return;
    sizes ??= [...stage.querySelectorAll("source, img")].map((source) => [source, source.getAttribute("sizes") ?? ""]);
    const closer = `${Math.ceil(frame.clientWidth * view.times)}px`; // the browser fetches a larger picture when it needs one
    for (const [source, usual] of sizes) source.setAttribute("sizes", view.times > 1 ? closer : usual);
  };
  const place = (/** @type {HTMLElement} */ sign, /** @type {number} */ px, /** @type {number} */ py) => {
    sign.hidden = false;
    sign.style.left = `${100 * px}%`;
    sign.style.top = `${100 * py}%`;
  };
  const forget = () => {
    point.hidden = true;
    said.textContent = "";
    delete said.dataset.ruling;
    said.removeAttribute("data-unsure");
  };
  const ask = (/** @type {number} */ px, /** @type {number} */ py) => {
    if (asked) return; // a question of the quiz is open on this still
    const answers = still.answers[division] ?? still.answers[0];
    const { ruling, thing } = rule(answers, px * width, py * height);
    const unsure = ruling === "out" && !thing && answers.unmarked.length > 0; // it may be one of these
    if (thing) said.textContent = words[ruling].replace("{thing}", () => thing.text);
    else if (unsure) said.textContent = words.unmarked.replace("{things}", () => answers.unmarked.join("; "));
    else said.textContent = ruling === "close" ? words.close : words.unnamed;
    said.dataset.ruling = ruling;
    said.toggleAttribute("data-unsure", unsure);
    place(point, px, py);
    clearTimeout(timer); // a second tap enlarges, so the picture stays under the finger until none came
    timer = setTimeout(() => {
      if (said.textContent) said.scrollIntoView({ block: "nearest" });
    }, TWICE_MS);
  };
  const draw = () => {
    const own = figure.querySelector(`[data-division="${division}"]`) ? String(division) : "0";
    const waiting = /** @type {HTMLTemplateElement | null} */ (figure.querySelector(`template[data-division="${own}"]`));
    if (waiting) {
      const layer = document.createElement("div");
      layer.className = "overlay";
      layer.dataset.division = own;
      layer.setAttribute("aria-hidden", "true");
      layer.append(waiting.content);
      waiting.replaceWith(layer);
    }
    for (const layer of all(figure, ".overlay")) layer.hidden = !marks || layer.dataset.division !== own;
  };

  const inFrame = (/** @type {{clientX: number, clientY: number}} */ event) => {
    const box = frame.getBoundingClientRect();
    return [(event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height];
  };
  const closer = (/** @type {number} */ factor, x = 0.5, y = 0.5) => look(zoomed(view, factor, x, y));

  // fingers and the mouse
  /** @type {Map<number, number[]>} */
  const down = new Map();
  let moved = false, lastTap = 0, lastAt = [0, 0];
  frame.addEventListener("pointerdown", (event) => {
    if (!down.size) moved = false;
    down.set(event.pointerId, [event.clientX, event.clientY]);
    clearTimeout(timer);
  });
  const up = (/** @type {PointerEvent} */ event) => down.delete(event.pointerId);
  frame.addEventListener("pointerup", up);
  frame.addEventListener("pointercancel", up);
  frame.addEventListener("pointerleave", up);
  frame.addEventListener("pointermove", (event) => {
    const before = down.get(event.pointerId);
    if (!before) return;
    const box = frame.getBoundingClientRect();
    const now = [event.clientX, event.clientY];
    const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
    if (!other && !moved && Math.hypot(now[0] - before[0], now[1] - before[1]) < SLACK_PX) return;
    moved = true;
    down.set(event.pointerId, now);
    const [dx, dy] = [(now[0] - before[0]) / box.width, (now[1] - before[1]) / box.height];
    if (other) {
      const gap = (/** @type {number[]} */ from) => Math.max(1, Math.hypot(from[0] - other[0], from[1] - other[1]));
      const [x, y] = inFrame({ clientX: (now[0] + other[0]) / 2, clientY: (now[1] + other[1]) / 2 });
      look(panned(zoomed(view, gap(now) / gap(before), x, y), dx / 2, dy / 2));
    } else if (view.times > 1) look(panned(view, dx, dy));
  });
  frame.addEventListener("click", (event) => {
    if (moved) return;
    const [x, y] = inFrame(event);
    at = [(x - view.x) / view.times, (y - view.y) / view.times].map((part) => Math.min(1, Math.max(0, part)));
    cross.hidden = true;
    ask(at[0], at[1]);
    const again = event.timeStamp - lastTap < TWICE_MS && Math.hypot(event.clientX - lastAt[0], event.clientY - lastAt[1]) < 4 * SLACK_PX;
    lastTap = again ? 0 : event.timeStamp;
    lastAt = [event.clientX, event.clientY];
    if (!again) return;
    clearTimeout(timer);
    view.times > 1 ? look(WHOLE) : closer(3, x, y);
  });
  frame.addEventListener(
    "wheel",
    (event) => {
      if (view.times === 1 && !event.ctrlKey) return; // the page scrolls
      event.preventDefault();
      const [x, y] = inFrame(event);
      closer(Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.002)), x, y);
    },
    { passive: false },
  );

  // buttons and keys
  const near = () => (cross.hidden ? [0.5, 0.5] : [at[0] * view.times + view.x, at[1] * view.times + view.y]);
  const byButton = (/** @type {number} */ factor) => closer(factor, near()[0], near()[1]);
  one(figure, ".larger").addEventListener("click", () => byButton(1.6));
  one(figure, ".smaller").addEventListener("click", () => byButton(1 / 1.6));
  one(figure, ".whole").addEventListener("click", () => look(WHOLE));
  frame.tabIndex = 0;
  frame.setAttribute("role", "application");
  frame.setAttribute("aria-label", words.keys);
  /** @type {Record<string, number[]>} */
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  frame.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target !== frame) return;
    const way = ways[event.key], step = (event.shiftKey ? 0.004 : 0.02) / view.times;
    if (way) {
      at = [at[0] + step * way[0], at[1] + step * way[1]].map((part) => Math.min(1, Math.max(0, part)));
      look(showing(view, at[0], at[1]));
      place(cross, at[0], at[1]);
    } else if (event.key === "Enter" || event.key === " ") {
      place(cross, at[0], at[1]);
      ask(at[0], at[1]);
    } else if (event.key === "+" || event.key === "=") byButton(1.6);
    else if (event.key === "-") byButton(1 / 1.6);
    else if (event.key === "0" || event.key === "Escape") {
      look(WHOLE);
      cross.hidden = true;
    } else return;
    event.preventDefault();
    event.stopPropagation();
  });
  frame.addEventListener("blur", () => {
    cross.hidden = true;
  });

  return {
    figure,
    show(nextDivision, nextMarks) {
      if (nextDivision !== division) forget();
      division = nextDivision;
      marks = nextMarks;
      draw();
    },
    point(where, shown) {
      asked = where !== null;
      forget();
      look(WHOLE);
      if (where) place(point, where[0] / width, where[1] / height);
      const kept = marks;
      marks = shown && marks;
      draw();
      marks = kept;
    },
  };
}
