/** The rules of the open station in the order in which they are said; the one that is being said is lit. */

import { useComputed } from "@preact/signals";
import type { StationView, Surface } from "../api";
import { clock } from "../geometry/clock";
import { strings } from "../strings";
import type { Desk } from "./desk";

const s = strings.listening;
const LINGER_S = 1.5;

export function Lines({ desk, at }: { desk: Desk; at: StationView }) {
  const { surfaces } = at.station;
  const first = (surface: Surface) => surface.said[0]?.start ?? Number.POSITIVE_INFINITY;
  const sorted = [...surfaces].sort((a, b) => first(a) - first(b));
  const lit = useComputed(() => {
    const now = desk.playing.time.value;
    return sorted
      .filter((surface) => surface.said.some((said) => said.start - 0.05 <= now && now < said.end + LINGER_S))
      .map((surface) => surface.id)
      .join(" ");
  });
  const now = lit.value.split(" ");
  return (
    <section class="piece-lines">
      <h3>{s.lines}</h3>
      {surfaces.length === 0 && <p class="quiet">{s.noLines}</p>}
      <ul>
        {sorted.map((surface) => (
          <Line key={surface.id} desk={desk} surface={surface} lit={now.includes(surface.id)} />
        ))}
      </ul>
    </section>
  );
}

/** What a surface is at its station, in one or two words. */
export function roleOf(surface: Pick<Surface, "ruling" | "role">): string {
  const t = strings.station;
  if (surface.ruling === "out") return t.outOfPlay;
  return surface.role === "start" ? t.start : surface.role === "finish" ? t.finish : t.inPlay;
}

function Line({ desk, surface, lit }: { desk: Desk; surface: Surface; lit: boolean }) {
  const said = surface.said[0];
  return (
    <li class={`heard-line heard-${surface.ruling}${lit ? " heard-lit" : ""}`}>
      {said ? (
        <button type="button" class="go-time" aria-label={strings.station.hear(clock(said.start))} onClick={() => desk.go(said.start)}>
          {clock(said.start)}
        </button>
      ) : (
        <span class="go-time" />
      )}
      <span>
        <b>{roleOf(surface)}</b> {surface.name}
        {surface.part && `: ${surface.part}`}
      </span>
      <span class="item-state">{strings.station[surface.state]}</span>
    </li>
  );
}
