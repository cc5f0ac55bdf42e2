/** The short row near the hand: what can be done next with the chosen mark, or with what is being drawn. */

import { useSignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { Line } from "../components/fields";
import { clock } from "../geometry/clock";
import { strings } from "../strings";
import type { Hand } from "./hand";
import type { MarkingModel, Way } from "./model";
import type { Thing } from "./things";

const s = strings.marking;
export type HandRowOthers = readonly Readonly<{ id: string; time_s: number }>[];

export function HandRow({ model, hand, others, focus }: { model: MarkingModel; hand: Hand; others: HandRowOthers; focus: () => void }) {
  const [doing, way, corners] = model.doing.value.split(" ");
  const after = (act: () => void) => () => {
    act();
    focus();
  };
  if (doing === "changing" || doing === "drawing") return null;
  if (doing === "corners")
    return (
      <Row label={s.ways[way as Way]}>
        {Number(corners) > 1 && (way === "around" || way === "bar") && (
          <button type="button" class="small" onClick={after(() => hand.finish())}>
            {s.done}
          </button>
        )}
        <button type="button" class="plain small" onClick={after(() => hand.back())}>
          {s.back}
        </button>
        <button type="button" class="plain small" onClick={after(() => hand.leave())}>
          {s.leave}
        </button>
        {Number(corners) === 1 && <Meant model={model} hand={hand} after={after} />}
      </Row>
    );
  if (model.unplaced.value) return <Naming model={model} focus={focus} />;
  if (model.purpose.value === "join") return <Joining model={model} focus={focus} />;
  if (model.purpose.value === "hole")
    return (
      <Row label={s.hole}>
        <p>{s.holeHint}</p>
        <button
          type="button"
          class="plain small"
          onClick={after(() => {
            model.purpose.value = "mark";
          })}
        >
          {s.leave}
        </button>
      </Row>
    );
  return model.chosen.value ? <ChosenRow model={model} others={others} focus={focus} /> : null;
}

function Row({ label, waits = false, children }: { label: string; waits?: boolean; children: ComponentChildren }) {
  return (
    // biome-ignore lint/a11y/useSemanticElements: a fieldset would be drawn and read as a form
    <div class={waits ? "hand-row waits" : "hand-row"} role="group" aria-label={label}>
      {children}
    </div>
  );
}

/** A first corner on a mark that is there may be meant for that mark: one press chooses it instead. */
function Meant({ model, hand, after }: { model: MarkingModel; hand: Hand; after: (act: () => void) => () => void }) {
  const begun = model.inHand.value;
  const corner = begun?.doing === "drawing" ? begun.points[0] : undefined;
  const mark = corner && model.purpose.value === "mark" ? model.under(corner)[0] : undefined;
  if (!mark) return null;
  const choose = () => {
    hand.leave();
    model.choose(mark.id);
  };
  return (
    <button type="button" class="plain small" onClick={after(choose)}>
      {s.meant(model.nameOf(mark))}
    </button>
  );
}

function ChosenRow({ model, others, focus }: { model: MarkingModel; others: HandRowOthers; focus: () => void }) {
  const sending = useSignal(false);
  const more = useSignal(false);
  const mark = model.chosen.value;
  const thing = mark && model.thing(mark);
  if (!mark || !thing) return null;
  const after = (act: () => void) => () => {
    act();
    focus();
  };
  const { seen } = model;
  const snug = seen.snug.value?.mark === mark.id ? seen.snug.value : null;
  const alike = seen.alike.value?.mark === mark.id ? seen.alike.value : null;
  const count = alike ? seen.pieces.value.length : 0;
  return (
    <Row label={s.chosen(model.nameOf(mark))} waits={(snug !== null || alike !== null) && !more.value}>
      {(snug || count > 0) && (
        <button type="button" class="small offered" onClick={after(() => seen.takeSnug())}>
          {count > 0 ? s.takeAlike(count, snug !== null) : s.takeSnug}
        </button>
      )}
      {snug && count > 0 && (
        <button type="button" class="plain small offered" onClick={after(() => seen.takeSnug(true))}>
          {s.edgeOnly}
        </button>
      )}
      {(snug || alike) && (
        <button type="button" class="plain small offered" onClick={after(() => seen.keepMine())}>
          {s.keepMine}
        </button>
      )}
      {seen.seeking.value === "others" && <span class="quiet">{s.seeking}</span>}
      {alike && (
        // biome-ignore lint/a11y/useSemanticElements: a fieldset would be drawn and read as a form
        <span class="pieces offered" role="group" aria-label={s.pieces}>
          {alike.shapes.map((_, place) => (
            <button
              key={place}
              type="button"
              class="plain small"
              aria-pressed={!alike.out.has(place)}
              aria-label={s.piece(place + 1, alike.shapes.length)}
              onClick={() => seen.leaveOut(place)}
            >
              {place + 1}
            </button>
          ))}
        </span>
      )}
      <span class="is this-mark">
        <b aria-hidden="true">{s.is}</b> <Things model={model} chosen={thing.id} choose={(id) => model.is(id)} label={s.is} />
      </span>
      {!thing.blanket && (
        <button type="button" class="plain small ruling" onClick={after(() => model.rule(thing.ruling === "in" ? "out" : "in"))}>
          {s.makeRuling[thing.ruling === "in" ? "out" : "in"]}
        </button>
      )}
      {mark.width !== null && (
        <label class="width">
          {s.width}{" "}
          <input
            type="range"
            min={1}
            max={Math.round(model.still.width / 12)}
            step={0.5}
            value={snug?.shape.kind === "bar" ? snug.shape.width : mark.width}
            onInput={(event) => seen.widen(mark.id, event.currentTarget.valueAsNumber)}
            onChange={(event) => model.setWidth(event.currentTarget.valueAsNumber)}
          />
        </label>
      )}
      {!snug && (
        <button type="button" class="plain small" onClick={after(() => void model.seen.findEdge(mark, true))}>
          {s.snug}
        </button>
      )}
      {!more.value && (
        <button
          type="button"
          class="plain small offered"
          aria-expanded={false}
          onClick={() => {
            more.value = true;
          }}
        >
          {s.more}
        </button>
      )}
      {more.value && (
        <>
          {!alike && (
            <button type="button" class="plain small" onClick={after(() => void seen.findOthers())}>
              {s.findAlike}
            </button>
          )}
          {mark.rings !== null && (
            <button type="button" class="plain small" onClick={after(() => model.startHole())}>
              {s.hole}
            </button>
          )}
          {model.marks.value.length > 1 && (
            <button type="button" class="plain small" onClick={after(() => model.startJoin())}>
              {s.join}
            </button>
          )}
          <button type="button" class="plain small" onClick={after(() => model.copy())}>
            {s.copy}
          </button>
          {others.length > 0 && !sending.value && (
            <button
              type="button"
              class="plain small"
              onClick={() => {
                const [only, ...more] = others;
                if (only && more.length === 0) void model.seen.sendTo(only, clock(only.time_s));
                else sending.value = true;
              }}
            >
              {s.send}
            </button>
          )}
          {sending.value &&
            others.map((still) => (
              <button
                key={still.id}
                type="button"
                class="plain small"
                onClick={() => {
                  sending.value = false;
                  void model.seen.sendTo(still, clock(still.time_s));
                }}
              >
                {s.sendTo(clock(still.time_s))}
              </button>
            ))}
        </>
      )}
      {model.point.value && (
        <button type="button" class="plain small" onClick={after(() => model.takePointAway())}>
          {s.pointAway}
        </button>
      )}
      <button type="button" class="plain small" onClick={after(() => model.takeAway())}>
        {s.takeAway}
      </button>
      <button type="button" class="plain small" onClick={after(() => model.choose(null))}>
        {s.let}
      </button>
    </Row>
  );
}

/** The things of the sheet, by what holds for them. */
type Choosing = { model: MarkingModel; chosen: string; choose: (id: string) => void; none?: string; label?: string };

export function Things({ model, chosen, choose, none, label }: Choosing) {
  const groups: readonly [string, (thing: Thing) => boolean][] = [
    [s.inPlay, (thing) => !thing.blanket && thing.ruling === "in"],
    [s.outOfPlay, (thing) => !thing.blanket && thing.ruling === "out"],
    [s.everywhere, (thing) => thing.blanket],
  ];
  return (
    <select value={chosen} aria-label={label} onChange={(event) => choose(event.currentTarget.value)}>
      {none !== undefined && <option value="">{none}</option>}
      {groups.map(([title, fits]) => {
        const things = model.things.value.filter(fits);
        return things.length === 0 ? null : (
          <optgroup key={title} label={title}>
            {things.map((thing) => (
              <option key={thing.id} value={thing.id}>
                {thing.full}
              </option>
            ))}
          </optgroup>
        );
      })}
    </select>
  );
}

function Joining({ model, focus }: { model: MarkingModel; focus: () => void }) {
  const mark = model.chosen.value;
  return (
    <Row label={s.join}>
      <p>{s.joinHint}</p>
      {model.marks.value
        .filter((each) => each !== mark && each.surface === mark?.surface)
        .slice(0, 6)
        .map((each) => (
          <button
            key={each.id}
            type="button"
            class="plain small"
            onClick={() => {
              model.join(each.id);
              focus();
            }}
          >
            {s.joinWith(model.nameOf(each))}
          </button>
        ))}
      <button
        type="button"
        class="plain small"
        onClick={() => {
          model.purpose.value = "mark";
          focus();
        }}
      >
        {s.leave}
      </button>
    </Row>
  );
}

function Naming({ model, focus }: { model: MarkingModel; focus: () => void }) {
  const making = useSignal(model.things.value.length === 0);
  const name = useSignal("");
  const ruling = useSignal<"in" | "out">("in");
  const put = (event: Event) => {
    event.preventDefault();
    if (name.value.trim()) void model.nameNew(name.value, ruling.value).then(focus);
  };
  return (
    <Row label={s.what}>
      {making.value ? (
        <form onSubmit={put}>
          <Line
            label={s.newName}
            value={name.value}
            write={(text) => {
              name.value = text;
            }}
          />
          {(["in", "out"] as const).map((each) => (
            <label key={each}>
              <input type="radio" name="new-ruling" checked={ruling.value === each} onChange={() => (ruling.value = each)} />{" "}
              {each === "in" ? s.newIn : s.newOut}
            </label>
          ))}
          <button type="submit" class="small">
            {s.add}
          </button>
        </form>
      ) : (
        <>
          <span class="is">
            <span aria-hidden="true">{s.what}</span>
            <Things
              model={model}
              chosen=""
              none={s.unchosen}
              label={s.what}
              choose={(id) => {
                if (!id) return;
                model.name(id);
                focus();
              }}
            />
          </span>
          <button type="button" class="plain small" onClick={() => (making.value = true)}>
            {s.something}
          </button>
        </>
      )}
      <button
        type="button"
        class="plain small"
        onClick={() => {
          model.unplaced.value = null;
          focus();
        }}
      >
        {s.leave}
      </button>
    </Row>
  );
}
