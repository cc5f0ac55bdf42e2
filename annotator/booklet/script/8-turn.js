// @ts-check
/* From station to station: a swipe across the page, or the arrow keys where nothing else needs them. */

const SWIPE_PX = 70;
const SWIPE_MS = 700;

/** @param {() => HTMLElement} shown the page that is open now */
function startTurning(shown) {
  const turn = (/** @type {"next" | "prev"} */ way) => {
    const link = shown().querySelector(`.turn a[rel="${way}"]`);
    if (link instanceof HTMLElement) link.click();
  };
  const leftIs = () => (document.documentElement.dir === "rtl" ? /** @type {const} */ (["next", "prev"]) : /** @type {const} */ (["prev", "next"]));
  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
    if (event.target instanceof Element && event.target.closest("input, select, textarea, video, dialog, [role=application]")) return;
    if (event.key === "ArrowLeft") turn(leftIs()[0]);
    if (event.key === "ArrowRight") turn(leftIs()[1]);
  });
  /** @type {{x: number, y: number, at: number} | null} */
  let from = null;
  document.addEventListener(
    "touchstart",
    (event) => {
      const finger = event.touches[0];
      const busy = event.touches.length > 1 || (visualViewport?.scale ?? 1) > 1.01;
      const elsewhere = event.target instanceof Element && event.target.closest(".closer .still, video, dialog, input, select");
      from = busy || elsewhere ? null : { x: finger.clientX, y: finger.clientY, at: event.timeStamp };
    },
    { passive: true },
  );
  document.addEventListener(
    "touchend",
    (event) => {
      const finger = event.changedTouches[0];
      if (!from || event.touches.length) return;
      const dx = finger.clientX - from.x, dy = finger.clientY - from.y;
      if (event.timeStamp - from.at < SWIPE_MS && Math.abs(dx) > SWIPE_PX && Math.abs(dx) > 2.5 * Math.abs(dy)) turn(leftIs()[dx > 0 ? 0 : 1]);
      from = null;
    },
    { passive: true },
  );
}
