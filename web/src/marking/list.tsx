/** Under the still: what is marked next and how, what is proposed, and everything on the sheet with its marks here, as buttons. */

import type { Still } from "../api";
import { clock } from "../geometry/clock";
import { strings } from "../strings";
import type { MarkingModel, Way } from "./model";
import { Things } from "./row";

const s = strings.marking;
const WAYS: readonly Way[] = ["around", "box", "round", "bar"];

type Next = { model: MarkingModel; others: readonly Still[]; point: (surface: string | null) => void };

export function NextMark({ model, others, point }: Next) {
  const way = model.way.value;
  const offers = model.seen.offers.value;
  const sources = others.filter((still) => model.station.value.marks.some((mark) => mark.still === still.id));
  return (
    <div class="next-mark">
      <div class="next-line">
        <span class="is">
          <b aria-hidden="true">{s.nextIs}</b>{" "}
          <Things
            model={model}
            chosen={model.aimed.value?.id ?? ""}
            none={s.unchosen}
            choose={(id) => model.aimAt(id || null)}
            label={s.whichSurface}
          />
        </span>
        <fieldset class="ways">
          <legend class="unseen">{s.whichWay}</legend>
          <span aria-hidden="true">{s.how}</span>
          {[...WAYS, null].map((each) => (
            <label key={each} class={way === each ? "on" : ""}>
              <input type="radio" name={`way-${model.still.id}`} checked={way === each} onChange={() => model.draws(each)} />
              {each === null ? s.pointAt : s.ways[each]}
            </label>
          ))}
        </fieldset>
      </div>
      <p class="quiet hint">{s.hints[model.more.value ? "more" : (way ?? "none")]}</p>
      {(offers.length > 0 || model.seen.looking.value || sources.length > 0) && (
        <div class="row offers">
          {model.seen.looking.value && <p class="quiet">{s.looking}</p>}
          {offers.length > 0 && <Proposed model={model} point={point} />}
          {model.unmarked.value.length > 0 &&
            sources.map((still) => (
              <button key={still.id} type="button" class="plain" onClick={() => void model.seen.bring(still)}>
                {s.bring(clock(still.time_s))}
              </button>
            ))}
        </div>
      )}
    </div>
  );
}

/** What is proposed: one thing after the other, each with a look; all at once is for somebody who saw that all lie right. */
function Proposed({ model, point }: Omit<Next, "others">) {
  const { seen } = model;
  const offers = seen.offers.value;
  const things = new Set(offers.map((offer) => offer.surface));
  const first = offers.find((offer) => offer.surface === model.aim.value) ?? offers[0];
  const thing = model.things.value.find((each) => each.id === first?.surface);
  if (!first) return null;
  const unsure = new Set(offers.filter((offer) => offer.unsure).map((offer) => offer.surface)).size;
  const show = () => point(first.surface);
  return (
    <>
      <button
        type="button"
        onPointerEnter={show}
        onPointerLeave={() => point(null)}
        onFocus={show}
        onBlur={() => point(null)}
        onClick={() => seen.take(first.surface)}
      >
        {things.size === 1 ? s.takeOnly : s.takeNext(thing?.full ?? "")}
      </button>
      {things.size > 1 && (
        <button type="button" class="plain small quiet-hand" onClick={() => seen.take(null)}>
          {s.takeAll(offers.length)}
        </button>
      )}
      <button type="button" class="plain small quiet-hand" onClick={() => seen.decline()}>
        {s.noThanks}
      </button>
      <span class="quiet">{s.unsure(unsure, things.size)}</span>
    </>
  );
}

export function MarkList({ model, lit, point }: { model: MarkingModel; lit: string | null; point: (surface: string | null) => void }) {
  const things = model.things.value;
  if (things.length === 0) return null;
  return (
    <section class="mark-list" aria-label={s.list}>
      <ul>
        {things.map((thing) => {
          const marks = model.marks.value.filter((mark) => model.thing(mark) === thing);
          const offers = model.seen.offers.value.filter((offer) => offer.surface === thing.id);
          return (
            <li
              key={thing.id}
              data-thing={thing.id}
              class={`thing thing-${thing.ruling}${lit === thing.id ? " lit" : ""}`}
              onPointerEnter={() => point(thing.id)}
              onPointerLeave={() => point(null)}
            >
              <span class="thing-name">
                <strong>{thing.full}</strong> <span class="quiet">{s.ruling[thing.ruling]}</span>
              </span>
              {marks.map((mark) => (
                <button
                  key={mark.id}
                  type="button"
                  class="plain small"
                  aria-pressed={model.chosenId.value === mark.id}
                  aria-label={`${thing.full} ${marks.indexOf(mark) + 1}`}
                  onFocus={() => point(thing.id)}
                  onClick={() => model.choose(model.chosenId.value === mark.id ? null : mark.id)}
                >
                  {marks.indexOf(mark) + 1}
                </button>
              ))}
              {offers.length > 0 && (
                <>
                  <button type="button" class="plain small" aria-label={s.takeOne(thing.full)} onClick={() => model.seen.take(thing.id)}>
                    {s.take}
                  </button>
                  <button
                    type="button"
                    class="plain small"
                    aria-label={s.notThisFor(thing.full)}
                    onClick={() => model.seen.passOver(thing.id)}
                  >
                    {s.notThis}
                  </button>
                  {model.seen.mayBeAnother(thing.id) && (
                    <button
                      type="button"
                      class="plain small"
                      aria-label={s.anotherFor(thing.full)}
                      onClick={() => model.seen.another(thing.id)}
                    >
                      {s.another}
                    </button>
                  )}
                </>
              )}
              {marks.length === 0 && offers.length === 0 && (
                <button
                  type="button"
                  class="plain small"
                  aria-label={s.markThis(thing.full)}
                  aria-pressed={model.aim.value === thing.id && model.way.value !== null}
                  onClick={() => model.aimAt(thing.id)}
                >
                  {s.draw}
                </button>
              )}
            </li>
          );
        })}
      </ul>
    </section>
  );
}
