/** What the page tells: what was just done, what is kept here, and two people's changes of the same words. */

import { strings } from "../strings";
import type { Desk } from "./desk";

const s = strings.listening;

export function Told({ desk }: { desk: Desk }) {
  const told = desk.told.value;
  const kept = desk.spoken.kept.value;
  return (
    <div class="told" role="status">
      {told.sentence && <p key={told.count}>{told.sentence}</p>}
      {kept > 0 && <p class="quiet">{s.kept(kept)}</p>}
    </div>
  );
}

/** It comes while somebody looks at a word further down. */
const inSight = (met: HTMLElement | null) => met?.scrollIntoView({ block: "center" });

export function Met({ desk }: { desk: Desk }) {
  const met = desk.spoken.meeting.value;
  const settle = async (mine: boolean) => desk.wereDone(await desk.spoken.settle(mine));
  return (
    <div role="alert">
      {met && (
        <div class="met" ref={inSight}>
          <p>
            <strong>{s.met}</strong>
          </p>
          <dl>
            <dt>{s.theirs}</dt>
            <dd dir="auto">{met.theirs || s.nothing}</dd>
            <dt>{s.mine}</dt>
            <dd dir="auto">{met.mine || s.nothing}</dd>
          </dl>
          <p class="row">
            <button type="button" onClick={() => void settle(false)}>
              {s.takeTheirs}
            </button>
            <button type="button" class="plain" onClick={() => void settle(true)}>
              {s.takeMine}
            </button>
          </p>
        </div>
      )}
    </div>
  );
}
