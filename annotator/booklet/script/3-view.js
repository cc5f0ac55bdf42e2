// @ts-check
/* How a still is shown in its frame: how many times larger, and how far shifted. Values, never changed in place; nothing touches the page. */

/** @typedef {Readonly<{times: number, x: number, y: number}>} View shift in parts of the frame's width and height, 0 to 1 - times */

const WHOLE = /** @type {View} */ (Object.freeze({ times: 1, x: 0, y: 0 }));
const CLOSEST = 8;

/** The view within its bounds: never smaller than the frame, never a gap beside the picture. @param {View} view @returns {View} */
function bounded(view) {
  const times = Math.max(1, Math.min(CLOSEST, view.times));
  return { times, x: Math.min(0, Math.max(1 - times, view.x)), y: Math.min(0, Math.max(1 - times, view.y)) };
}

/** Larger by a factor, with the point (x, y) of the frame, in parts of it, staying where it is. @param {View} view @param {number} factor @param {number} x @param {number} y */
function zoomed(view, factor, x, y) {
  const times = Math.max(1, Math.min(CLOSEST, view.times * factor));
  const by = times / view.times;
  return bounded({ times, x: x - (x - view.x) * by, y: y - (y - view.y) * by });
}

/** Shifted by parts of the frame. @param {View} view @param {number} dx @param {number} dy */
function panned(view, dx, dy) {
  return bounded({ times: view.times, x: view.x + dx, y: view.y + dy });
}

/** Shifted as little as brings a place of the picture (in parts of it) within the frame's inner nine tenths. @param {View} view @param {number} px @param {number} py */
function showing(view, px, py) {
  const off = (/** @type {number} */ at) => Math.max(0, 0.05 - at) + Math.min(0, 0.95 - at);
  return panned(view, off(px * view.times + view.x), off(py * view.times + view.y));
}
