/** A station's sheet: its name and limbs, then start, in play, out of play and finish, each line with its evidence, its marks' sign, its
 * state, and what a person can do to it. A line and its marks are one thing: point at one and the other answers. */

import type { ComponentChildren } from "preact";
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import type { BlanketRule, Edit, Finding, Station, StationView, Surface } from "../api";
import { type Around, mends } from "../models/mends";
import type { Naming } from "../models/naming";
import { fresh } from "../models/outbox";
import { declined, taken, twinOf } from "../models/twins";
import { named, surfaceWords } from "../models/words";
import { strings } from "../strings";
import { Evidence } from "./bits";
import { Add, Choose, OpensLine, TextField } from "./fields";
import { Hand as FindingHand, Findings } from "./findings";
import { contactOf, LineControls, limbsOf } from "./line";
import { InOtherLanguages } from "./naming";

const s = strings.sheet;
type Point = (surface: string | null) => void;
type Kind = "start" | "in" | "out" | "finish";
type Lines = Readonly<{ title: string; kind: Kind; surfaces: readonly Surface[]; none: string; blanket: readonly BlanketRule[] }>;

/** What a person can do to the sheet; `since` is the station as they saw it when they began. */
export type Hand = Readonly<{
  edit: (edits: readonly Edit[], since?: StationView) => void;
  around: Around;
  divisions: readonly string[];
  naming: Naming;
}>;
/** Which lines are open, and which control was used last: a line that goes to another group keeps both. */
type Opened = Readonly<{ ids: ReadonlySet<string>; toggle: (id: string) => void; used: { current: readonly [string, string] | null } }>;

/** The sheet's four groups: a start or finish that is out of play stands with what is out of play. */
export function grouped(station: Station, blanket: readonly BlanketRule[]): readonly Lines[] {
  const shown = station.surfaces.filter((each) => twinOf(each, station) === null);
  const inPlay = shown.filter((each) => each.ruling === "in");
  const everywhere = (ruling: "in" | "out") => blanket.filter((each) => each.rule === "surface" && each.ruling === ruling);
  const st = strings.station;
  return [
    { title: st.start, kind: "start", surfaces: inPlay.filter((each) => each.role === "start"), none: st.noStart, blanket: [] },
    {
      title: st.inPlay,
      kind: "in",
      surfaces: inPlay.filter((each) => each.role === "route"),
      none: st.noInPlay,
      blanket: everywhere("in"),
    },
    { title: st.outOfPlay, kind: "out", surfaces: shown.filter((each) => each.ruling === "out"), none: "", blanket: everywhere("out") },
    { title: st.finish, kind: "finish", surfaces: inPlay.filter((each) => each.role === "finish"), none: st.noFinish, blanket: [] },
  ];
}

type Shown = {
  at: StationView;
  blanket: readonly BlanketRule[];
  findings: readonly Finding[];
  lit: string | null;
  point: Point;
  hand: Hand;
};

export function Sheet({ at, blanket, findings, lit, point, hand }: Shown) {
  const { station } = at;
  const [ids, setIds] = useState<ReadonlySet<string>>(new Set());
  const used = useRef<readonly [string, string] | null>(null);
  const toggle = (id: string) => setIds(ids.has(id) ? new Set([...ids].filter((each) => each !== id)) : new Set([...ids, id]));
  const opened = { ids, toggle, used };
  const own = new Set(station.surfaces.map((each) => each.id));
  const unnamedOut = blanket.some((each) => each.rule === "unnamed-out");
  const mending = { mends: (finding: Finding) => mends(finding, station, hand.around), edit: hand.edit };
  return (
    <>
      <Findings findings={findings.filter((each) => each.surface === null || !own.has(each.surface))} hand={mending} />
      <Head at={at} hand={hand} />
      {grouped(station, blanket).map((group) => (
        <section key={group.kind} class={`lines lines-${group.kind}`}>
          <h2>{group.title}</h2>
          <ul>
            {group.surfaces.map((surface) => (
              <Line
                key={surface.id}
                surface={surface}
                at={at}
                findings={findings.filter((each) => each.surface === surface.id)}
                lit={lit === surface.id}
                point={point}
                hand={hand}
                opened={opened}
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
          <AddLine kind={group.kind} station={station} hand={hand} />
        </section>
      ))}
      <Aside station={station} />
    </>
  );
}

/** The first line: name, limbs, demonstration. It is open where something of it is missing. */
function Head({ at, hand }: { at: StationView; hand: Hand }) {
  const { station } = at;
  const number = station.number;
  const [opened, setOpened] = useState<boolean | null>(null);
  const open = opened ?? (station.name === null || station.contact === null);
  const told = [strings.station.limbs(station.contact), station.demonstration ? strings.station.demonstration[station.demonstration] : ""];
  return (
    <section class="lines lines-head">
      <h2>{s.nameAndLimbs}</h2>
      <div class={`rule rule-${station.state}`}>
        <div class="line-top">
          <p>
            <strong>{station.name ?? strings.station.unnamed}</strong>
            {told.filter(Boolean).map((each) => (
              <span key={each} class="remark">
                {each}
              </span>
            ))}
            <span class="item-state">{strings.station[station.state]}</span>
          </p>
          <p class="line-hand">
            <OpensLine open={open} named={s.changeNamed(s.nameAndLimbs.toLowerCase())} toggle={() => setOpened(!open)} />
          </p>
        </div>
        {open && (
          <div class="line-controls">
            <TextField
              label={s.name}
              value={station.name ?? ""}
              placeholder={s.noName}
              since={at}
              keep={(text, since) => hand.edit([{ do: "rename-station", station: number, name: text || null }], since)}
            />
            <InOtherLanguages said={station.name} naming={hand.naming} />
            <Choose
              label={s.limbs}
              value={limbsOf(station.contact)}
              options={[
                ["hands", s.limbsOf.hands],
                ["feet", s.limbsOf.feet],
                ["both", s.limbsOf.both],
                ["none", s.limbsOf.none],
              ]}
              choose={(value) => {
                setOpened(true);
                hand.edit([{ do: "set-limbs", station: number, limbs: contactOf(value) }]);
              }}
            />
            <Choose
              label={s.demonstration}
              value={station.demonstration ?? "none"}
              options={[
                ["clear", s.demonstrations.clear],
                ["fail", s.demonstrations.fail],
                ["none", s.demonstrations.none],
              ]}
              choose={(value) => hand.edit([{ do: "set-demonstration", station: number, demonstration: value === "none" ? null : value }])}
            />
          </div>
        )}
        <Evidence said={station.said} />
      </div>
    </section>
  );
}

type OneLine = {
  surface: Surface;
  at: StationView;
  findings: readonly Finding[];
  lit: boolean;
  point: Point;
  hand: Hand;
  opened: Opened;
};

function Line({ surface, at, findings, lit, point, hand, opened }: OneLine) {
  const { station } = at;
  const open = opened.ids.has(surface.id);
  const item = useRef<HTMLLIElement>(null);
  useLayoutEffect(() => {
    const [id, control] = opened.used.current ?? [];
    if (id === surface.id) item.current?.querySelector<HTMLInputElement>(`[data-control="${control}"] input:checked`)?.focus();
    opened.used.current = null;
  }, []);
  const st = strings.station;
  const name = named(surface.name, surface.part);
  const differs = surface.contact !== null && surface.contact.join() !== station.contact?.join();
  const remarks = [
    differs && surface.contact ? st.onlyWith(surface.contact) : "",
    surface.ruling === "out" && surface.role !== "route" ? s.roles[surface.role] : "",
    surface.overshoot === "allowed" ? st.mayLandPast : surface.overshoot === "not allowed" ? st.doNotLandPast : "",
    surface.optional ? st.ifWanted : "",
    ...Object.entries(surface.divisions ?? {}).map(([division, ruling]) => st.forDivision(division, ruling)),
  ].filter(Boolean);
  // What its sign says already is not said twice.
  const unmarked = findings.find((each) => each.kind === "surface-without-mark") ?? null;
  const news = station.surfaces.filter((each) => twinOf(each, station) === surface);
  return (
    <li
      ref={item}
      class={`rule rule-${surface.state}${lit ? " lit" : ""}`}
      onPointerEnter={() => point(surface.id)}
      onPointerLeave={() => point(null)}
      onFocusCapture={() => point(surface.id)}
      onBlurCapture={() => point(null)}
    >
      <div class="line-top">
        <p>
          <strong>{name}</strong>
          {remarks.map((remark) => (
            <span key={remark} class="remark">
              {remark}
            </span>
          ))}
          <span class="item-state">{st[surface.state]}</span>
        </p>
        <p class="line-hand">
          {surface.state === "draft" && (
            <button
              type="button"
              class="plain small"
              aria-label={s.acceptNamed(name)}
              onClick={() => hand.edit([{ do: "accept-item", station: station.number, id: surface.id }])}
            >
              {s.accept}
            </button>
          )}
          <OpensLine open={open} named={s.changeNamed(name)} toggle={() => opened.toggle(surface.id)} />
        </p>
      </div>
      <MarkSign surface={surface} station={station}>
        {unmarked && <FindingHand finding={unmarked} mends={[]} edit={hand.edit} />}
      </MarkSign>
      {open && (
        <LineControls
          surface={surface}
          at={at}
          hand={hand}
          moves={(control) => {
            opened.used.current = [surface.id, control];
          }}
        />
      )}
      <Evidence said={surface.said} />
      {news.map((draft) => (
        <NewDraft key={draft.id} draft={draft} accepted={surface} number={station.number} hand={hand} />
      ))}
      <Findings
        findings={findings.filter((each) => each !== unmarked)}
        bare
        hand={{ mends: (finding) => mends(finding, station, hand.around), edit: hand.edit }}
      />
    </li>
  );
}

/** The colour and sign of a line's marks, as they look on the still. */
function MarkSign({ surface, station, children }: { surface: Surface; station: Station; children: ComponentChildren }) {
  const marks = station.marks.filter((mark) => mark.surface === surface.id);
  const proposed = marks.length > 0 && marks.every((mark) => mark.state === "draft");
  if (marks.length === 0 && surface.ruling === "out") return null; // what is out need not be drawn
  const look = marks.length === 0 ? "none" : proposed ? "proposed" : surface.ruling;
  return (
    <div class="mark-sign">
      <i class={`swatch swatch-${look}`} aria-hidden="true">
        {look === "proposed" ? "?" : ""}
      </i>
      <span>{marks.length === 0 ? s.notMarked : proposed ? s.marksProposed(marks.length) : s.marks(marks.length)}</span>
      {marks.length === 0 && children}
    </div>
  );
}

/** What a new reading says beside a line that a person accepted; nothing of it holds before somebody chooses. */
function NewDraft({ draft, accepted, number, hand }: { draft: Surface; accepted: Surface; number: number; hand: Hand }) {
  return (
    <div class="new-draft">
      <p>
        {s.newDraft} <strong>{surfaceWords(draft)}</strong>
      </p>
      <Evidence said={draft.said} />
      <p class="row">
        <button type="button" class="plain small" onClick={() => hand.edit(declined(number, draft))}>
          {s.keepOld}
        </button>
        <button type="button" class="plain small" onClick={() => hand.edit(taken(number, draft, accepted))}>
          {s.takeNew}
        </button>
      </p>
    </div>
  );
}

function AddLine({ kind, station, hand }: { kind: Kind; station: Station; hand: Hand }) {
  const role = kind === "start" || kind === "finish" ? kind : "route";
  const same = (text: string) =>
    station.surfaces.find((each) => each.role === role && each.part === null && each.name.toLowerCase() === text.toLowerCase());
  return (
    <Add
      open={s.add[kind]}
      label={s.addLabel[kind]}
      go={s.addGo}
      refuse={(text) => (same(text) ? s.twin(text) : null)}
      add={(name) =>
        hand.edit([
          {
            do: "add-surface",
            station: station.number,
            id: `u-${fresh()}`,
            surface: { name, role, ruling: kind === "out" ? "out" : "in" } as never,
          },
        ])
      }
    />
  );
}

/** What was put aside, with who and why, for whoever wonders. */
function Aside({ station }: { station: Station }) {
  if (station.dismissed.length === 0) return null;
  return (
    <details>
      <summary>{s.putAside(station.dismissed.length)}</summary>
      <ul>
        {station.dismissed.map((each) => (
          <li key={`${each.kind} ${each.surface}`} class="quiet">
            {s.asideLine(s.kinds[each.kind] ?? each.kind, each.by, each.because)}
          </li>
        ))}
      </ul>
    </details>
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
