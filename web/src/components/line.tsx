/** The controls of one line of the sheet, open in its place: what it is, where it stands, and what holds for it. */

import type { Edit, Limb, StationView, Surface } from "../api";
import { strings } from "../strings";
import { Add, Choose, type ForDivision, ForDivisions, TextField } from "./fields";
import { InOtherLanguages } from "./naming";
import type { Hand } from "./sheet";

const s = strings.sheet;

export function limbsOf(contact: readonly Limb[] | null): "hands" | "feet" | "both" | "none" {
  if (contact === null) return "none";
  return contact.length === 2 ? "both" : (contact[0] ?? "none");
}

export function contactOf(value: "hands" | "feet" | "both" | "none"): Limb[] | null {
  return value === "none" ? null : value === "both" ? ["hands", "feet"] : [value];
}

/** What differs for divisions, with another ruling for one of them; null where nothing differs any more. */
export function divided(given: NonNullable<Surface["divisions"]>, name: string, value: "as-all" | "in" | "out"): Surface["divisions"] {
  const others = Object.entries(given).filter(([each]) => each !== name);
  const next = value === "as-all" ? others : [...others, [name, value] as const];
  return next.length > 0 ? (Object.fromEntries(next) as NonNullable<Surface["divisions"]>) : null;
}

type Controls = { surface: Surface; at: StationView; hand: Hand; moves: (control: "role" | "ruling") => void };

/** `moves` is told before a choice that takes the line to another group of the sheet. */
export function LineControls({ surface, at, hand, moves }: Controls) {
  const number = at.station.number;
  const set = (fields: Partial<Surface>, since?: StationView) => {
    const edit: Edit = { do: "change-surface", station: number, surface: surface.id, set: fields as never };
    hand.edit([edit], since);
  };
  const given = surface.divisions ?? {};
  const names = [...new Set([...hand.divisions, ...Object.keys(given)])];
  const divide = (name: string, value: ForDivision) => set({ divisions: divided(given, name, value) });
  return (
    <div class="line-controls">
      <TextField label={s.name} value={surface.name} since={at} needed keep={(name, since) => set({ name }, since)} />
      <InOtherLanguages said={surface.name} naming={hand.naming} />
      <TextField
        label={s.part}
        help={s.partHelp}
        value={surface.part ?? ""}
        since={at}
        keep={(part, since) => set({ part: part || null }, since)}
      />
      <InOtherLanguages said={surface.part} naming={hand.naming} />
      <Choose
        label={s.role}
        value={surface.role}
        options={[
          ["start", s.roles.start],
          ["route", s.roles.route],
          ["finish", s.roles.finish],
        ]}
        control="role"
        choose={(role) => {
          moves("role");
          set({ role });
        }}
      />
      <Choose
        label={s.ruling}
        value={surface.ruling}
        options={[
          ["in", s.rulings.in],
          ["out", s.rulings.out],
        ]}
        control="ruling"
        choose={(ruling) => {
          moves("ruling");
          set({ ruling });
        }}
      />
      <Choose
        label={s.limbs}
        value={limbsOf(surface.contact)}
        options={[
          ["none", s.asStation],
          ["hands", s.limbsOf.hands],
          ["feet", s.limbsOf.feet],
          ["both", s.limbsOf.both],
        ]}
        choose={(value) => set({ contact: contactOf(value) })}
      />
      {surface.role === "finish" && (
        <Choose
          label={s.overshoot}
          value={surface.overshoot ?? "none"}
          options={[
            ["allowed", s.overshoots.allowed],
            ["not allowed", s.overshoots["not allowed"]],
            ["none", s.overshoots.none],
          ]}
          choose={(value) => set({ overshoot: value === "none" ? null : value })}
        />
      )}
      <ForDivisions names={names} given={given} divide={divide} />
      <Add
        of={surface.id}
        open={s.divisions}
        label={s.anotherDivision}
        go={s.addGo}
        add={(name) => divide(name, surface.ruling === "in" ? "out" : "in")}
      />
      <label class="tick">
        <input type="checkbox" checked={surface.optional} onChange={(event) => set({ optional: event.currentTarget.checked })} />{" "}
        {s.optional}
      </label>
      <div class="row">
        <button
          type="button"
          class="plain small"
          onClick={() => hand.edit([{ do: "remove-surface", station: number, surface: surface.id }])}
        >
          {s.remove}
        </button>
        <span class="quiet">{s.removeHelp}</span>
      </div>
    </div>
  );
}
