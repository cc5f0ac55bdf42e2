/** A station's sheet: start, in play, out of play, finish, each line with its evidence. */

import { useState } from "preact/hooks";
import type { BlanketRule, Finding, Limb, Station, Surface } from "../api";
import { named } from "../models/words";
import { strings } from "../strings";
import { Evidence } from "./bits";
import { Findings } from "./findings";

type Point = (surface: string | null) => void;
type Lines = Readonly<{
  title: string;
  kind: "start" | "in" | "out" | "finish";
  surfaces: readonly Surface[];
  none: string;
  blanket: readonly BlanketRule[];
}>;

/** The sheet's four groups: a start or finish that is out of play stands with what is out of play. */
export function grouped(station: Station, blanket: readonly BlanketRule[]): readonly Lines[] {
  const inPlay = station.surfaces.filter((each) => each.ruling === "in");
  const everywhere = (ruling: "in" | "out") => blanket.filter((each) => each.rule === "surface" && each.ruling === ruling);
  const s = strings.station;
  return [
    { title: s.start, kind: "start", surfaces: inPlay.filter((each) => each.role === "start"), none: s.noStart, blanket: [] },
    { title: s.inPlay, kind: "in", surfaces: inPlay.filter((each) => each.role === "route"), none: s.noInPlay, blanket: everywhere("in") },
    {
      title: s.outOfPlay,
      kind: "out",
      surfaces: station.surfaces.filter((each) => each.ruling === "out"),
      none: "",
      blanket: everywhere("out"),
    },
    { title: s.finish, kind: "finish", surfaces: inPlay.filter((each) => each.role === "finish"), none: s.noFinish, blanket: [] },
  ];
}

export function Sheet({
  station,
  blanket,
  findings,
  lit,
  point,
}: {
  station: Station;
  blanket: readonly BlanketRule[];
  findings: readonly Finding[];
  lit: string | null;
  point: Point;
}) {
  const own = new Set(station.surfaces.map((each) => each.id));
  const unnamedOut = blanket.some((each) => each.rule === "unnamed-out");
  return (
    <>
      <Findings findings={findings.filter((each) => each.surface === null || !own.has(each.surface))} />
      {grouped(station, blanket).map((group) => (
        <section key={group.kind} class={`lines lines-${group.kind}`}>
          <h2>{group.title}</h2>
          <ul>
            {group.surfaces.map((surface) => (
              <SurfaceLine
                key={surface.id}
                surface={surface}
                limbs={station.contact}
                findings={findings.filter((each) => each.surface === surface.id)}
                lit={lit === surface.id}
                point={point}
              />
            ))}
            {group.blanket.map((rule) => (
              <li key={rule.id} class={`rule rule-${rule.state}`}>
                <p>
                  <strong>{named(rule.surface ?? "", rule.part)}</strong> <span class="quiet">{strings.station.everywhere}</span>
                </p>
              </li>
            ))}
            {group.kind === "out" && unnamedOut && <li class="rest">{strings.station.andRest}</li>}
          </ul>
          {group.surfaces.length + group.blanket.length === 0 && group.none && <p class="quiet">{group.none}</p>}
        </section>
      ))}
      {station.demonstration && <p>{strings.station.demonstration[station.demonstration]}</p>}
    </>
  );
}

function SurfaceLine({
  surface,
  limbs,
  findings,
  lit,
  point,
}: {
  surface: Surface;
  limbs: readonly Limb[] | null;
  findings: readonly Finding[];
  lit: boolean;
  point: Point;
}) {
  const s = strings.station;
  const differs = surface.contact !== null && surface.contact.join() !== limbs?.join();
  const remarks = [
    differs && surface.contact ? s.onlyWith(surface.contact) : "",
    surface.overshoot === "allowed" ? s.mayLandPast : surface.overshoot === "not allowed" ? s.doNotLandPast : "",
    surface.optional ? s.ifWanted : "",
    ...Object.entries(surface.divisions ?? {}).map(([division, ruling]) => s.forDivision(division, ruling)),
  ].filter(Boolean);
  return (
    <li
      class={`rule rule-${surface.state}${lit ? " lit" : ""}`}
      onPointerEnter={() => point(surface.id)}
      onPointerLeave={() => point(null)}
      onFocusCapture={() => point(surface.id)}
      onBlurCapture={() => point(null)}
    >
      <p>
        <strong>{named(surface.name, surface.part)}</strong>
        {remarks.map((remark) => (
          <span key={remark} class="remark">
            {remark}
          </span>
        ))}
        <span class="item-state">{s[surface.state]}</span>
      </p>
      <Evidence said={surface.said} />
      <Findings findings={findings} bare />
    </li>
  );
}

/** Asks once more before a thing that cannot be looked at piece by piece. */
export function Sure({
  ask,
  sure,
  yes,
  no,
  act,
  disabled,
}: {
  ask: string;
  sure: string;
  yes: string;
  no: string;
  act: () => void;
  disabled: boolean;
}) {
  const [asked, setAsked] = useState(false);
  if (!asked)
    return (
      <button type="button" class="plain" disabled={disabled} onClick={() => setAsked(true)}>
        {ask}
      </button>
    );
  return (
    <div class="sure">
      <p>{sure}</p>
      <button
        type="button"
        disabled={disabled}
        onClick={() => {
          setAsked(false);
          act();
        }}
      >
        {yes}
      </button>
      <button type="button" class="plain" onClick={() => setAsked(false)}>
        {no}
      </button>
    </div>
  );
}
