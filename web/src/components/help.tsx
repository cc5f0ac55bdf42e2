/** The way around, beside the real things, and the list of keys. Both can be left at any time and need no mouse. */

import { useEffect, useLayoutEffect, useRef } from "preact/hooks";
import { tour } from "../models/tour";
import { strings } from "../strings";
import { everywhereKeys, sheetKeys } from "../strings/help";
import { keys as walkKeys } from "../strings/listening";
import { markingKeys } from "../strings/marking";

const s = strings.help;
const MARK = "data-tour";
const LISTS = [
  [s.everywhere, everywhereKeys],
  [s.sheet, sheetKeys],
  [s.marking, markingKeys],
  [s.walk, walkKeys],
] as const;

/** A button for the list of keys; “?” opens it too, except where somebody types. */
export function Keys() {
  const list = useRef<HTMLDialogElement>(null);
  useLayoutEffect(() => {
    const press = (event: KeyboardEvent) => {
      const typing =
        event.target instanceof HTMLElement && event.target.matches("input:not([type=radio], [type=checkbox]), textarea, select");
      if (event.key !== "?" || typing || event.defaultPrevented || list.current?.open) return;
      event.preventDefault();
      list.current?.showModal();
    };
    addEventListener("keydown", press);
    return () => removeEventListener("keydown", press);
  }, []);
  return (
    <>
      <button type="button" class="plain small keys-button" aria-haspopup="dialog" onClick={() => list.current?.showModal()}>
        <kbd>?</kbd> {s.keysOpen}
      </button>
      <dialog ref={list} class="keys" aria-labelledby="keys-title">
        <h2 id="keys-title">{s.keysTitle}</h2>
        {LISTS.map(([title, rows]) => (
          <section key={title}>
            <h3>{title}</h3>
            <dl>
              {rows.map(([key, does]) => (
                <div key={`${key} ${does}`}>
                  <dt>
                    <kbd>{key}</kbd>
                  </dt>
                  <dd>{does}</dd>
                </div>
              ))}
            </dl>
          </section>
        ))}
        <button type="button" onClick={() => list.current?.close()}>
          {s.close}
        </button>
      </dialog>
    </>
  );
}

/** Offers the way around once; later it stands at the foot of the course page. */
export function TourOffer({ course, station, again = false }: { course: string; station: number; again?: boolean }) {
  if (tour.now.value || tour.known.value !== again) return null;
  const begin = (
    <button type="button" class={again ? "plain small" : undefined} onClick={() => tour.begin(course, station)}>
      {again ? s.tourAgain : s.tourBegin}
    </button>
  );
  if (again) return <p>{begin}</p>;
  return (
    <div class="tour-offer">
      <p>{s.tourOffer}</p>
      {begin}
      <button type="button" class="plain" onClick={() => tour.end()}>
        {s.tourNo}
      </button>
    </div>
  );
}

/** The step that is shown, at the foot of the window; the thing that it speaks of is outlined. */
export function Tour() {
  const now = tour.now.value;
  const next = useRef<HTMLButtonElement>(null);
  const thing = now?.thing;
  const step = now?.step;
  useEffect(() => {
    if (thing === undefined) return;
    let found: Element | null = null;
    const look = () => {
      if (found?.isConnected) return;
      found = document.querySelector(thing);
      found?.setAttribute(MARK, "");
      found?.scrollIntoView({ block: "center" });
    };
    look();
    const watch = new MutationObserver(look); // the page that it stands on may still be on its way
    watch.observe(document.body, { childList: true, subtree: true });
    return () => {
      watch.disconnect();
      found?.removeAttribute(MARK);
    };
  }, [thing, step]);
  useLayoutEffect(() => {
    if (thing !== undefined) next.current?.focus({ preventScroll: true }); // before the next key comes
  }, [thing, step]);
  if (!now) return null;
  return (
    <section
      class="tour"
      aria-label={s.tourTitle}
      onKeyDown={(event) => {
        if (event.key === "Escape") tour.end();
      }}
    >
      <p role="status">{now.words}</p>
      <p class="row">
        <span class="quiet">{s.tourAt(now.step + 1, now.of)}</span>
        {now.step > 0 && (
          <button type="button" class="plain small" onClick={() => tour.turn(-1)}>
            {s.tourBack}
          </button>
        )}
        <button type="button" class="small" ref={next} onClick={() => tour.turn(1)}>
          {now.step + 1 < now.of ? s.tourNext : s.tourEnd}
        </button>
        {now.step + 1 < now.of && (
          <button type="button" class="plain small" onClick={() => tour.end()}>
            {s.tourEnd}
          </button>
        )}
      </p>
    </section>
  );
}
