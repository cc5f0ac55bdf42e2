/** What holds at every station: blanket rules, how a run is counted, and for which divisions something differs. */

import { useState } from "preact/hooks";
import type { BlanketRule, CourseView, Edit } from "../api";
import type { CourseModel } from "../models/course";
import { blanketSentence } from "../models/words";
import { strings } from "../strings";
import { AddRule, ownRuleId } from "./addrule";
import { Evidence } from "./bits";
import { Add, Choose, type ForDivision, ForDivisions, OpensLine, TextField } from "./fields";
import { contactOf, divided, limbsOf } from "./line";

const s = strings.coursePage;
const c = strings.course;
type Shown = { model: CourseModel; view: CourseView };

export function Everywhere({ model, view }: Shown) {
  const { blanket, format, divisions } = view.course;
  const edit = (...edits: Edit[]) => void model.editCourse(edits);
  const drafts = blanket.some((rule) => rule.state === "draft") || (format !== null && !view.course.format_by_hand);
  const signed = view.plates.filter((plate) => plate.standing === "signed").length;
  const restOut = blanket.some((rule) => rule.rule === "unnamed-out");
  return (
    <section id="everywhere">
      <h2>{c.everywhere}</h2>
      {blanket.length === 0 && <p class="quiet">{c.noEverywhere}</p>}
      {signed > 0 && <p class="quiet">{s.signaturesGo(signed)}</p>}
      <ul class="everywhere">
        {blanket.map((rule) => (
          <Rule key={rule.id} rule={rule} divisions={divisions} edit={edit} />
        ))}
      </ul>
      <div class="row">
        <AddRule view={view} edit={edit} />
        {!restOut && (
          <button
            type="button"
            class="plain small"
            onClick={() => edit({ do: "add-blanket", id: ownRuleId(), rule: { rule: "unnamed-out" } as never })}
          >
            {s.restOut}
          </button>
        )}
      </div>
      <h3>{c.format}</h3>
      <Format view={view} edit={edit} />
      <h3>{s.divisions}</h3>
      <p>{divisions.length > 0 ? c.divisions(divisions) : s.noDivision}</p>
      <p class="quiet">{s.divisionsHelp}</p>
      {drafts && (
        <button type="button" onClick={() => edit({ do: "accept-course" })}>
          {c.acceptCourse}
        </button>
      )}
    </section>
  );
}

function Rule({ rule, divisions, edit }: { rule: BlanketRule; divisions: readonly string[]; edit: (...edits: Edit[]) => void }) {
  const [open, setOpen] = useState(false);
  const id = rule.id ?? rule.surface ?? rule.rule;
  const sentence = blanketSentence(rule);
  const set = (fields: Partial<BlanketRule>) => edit({ do: "change-blanket", blanket: id, set: fields as never });
  const given = rule.divisions ?? {};
  const names = [...new Set([...divisions, ...Object.keys(given)])];
  const divide = (name: string, value: ForDivision) => set({ divisions: divided(given, name, value) });
  const sh = strings.sheet;
  return (
    <li class={`rule rule-${rule.state}`}>
      <div class="line-top">
        <p>
          {sentence}
          {Object.entries(given).map(([division, ruling]) => (
            <span key={division} class="remark">
              {strings.station.forDivision(division, ruling)}
            </span>
          ))}{" "}
          <span class="item-state">{strings.station[rule.state]}</span>
        </p>
        <p class="line-hand">
          {rule.state === "draft" && (
            <button type="button" class="plain small" aria-label={s.acceptRule(sentence)} onClick={() => edit({ do: "accept-item", id })}>
              {s.accept}
            </button>
          )}
          <OpensLine open={open} named={s.changeRule(sentence)} toggle={() => setOpen(!open)} />
        </p>
      </div>
      {open && (
        <div class="line-controls">
          {rule.rule !== "unnamed-out" && (
            <TextField label={s.what} value={rule.surface ?? ""} since={null} needed keep={(surface) => set({ surface })} />
          )}
          {rule.rule === "surface" && (
            <>
              <TextField
                label={sh.part}
                help={sh.partHelp}
                value={rule.part ?? ""}
                since={null}
                keep={(part) => set({ part: part || null })}
              />
              <Choose
                label={sh.ruling}
                value={rule.ruling ?? "out"}
                options={[
                  ["in", sh.rulings.in],
                  ["out", sh.rulings.out],
                ]}
                choose={(ruling) => set({ ruling })}
              />
              <Choose
                label={sh.limbs}
                value={limbsOf(rule.contact)}
                options={[
                  ["none", sh.asStation],
                  ["hands", sh.limbsOf.hands],
                  ["feet", sh.limbsOf.feet],
                  ["both", sh.limbsOf.both],
                ]}
                choose={(value) => set({ contact: contactOf(value) })}
              />
              <ForDivisions names={names} given={given} divide={divide} />
              <Add
                of={rule.id ?? ""}
                open={sh.divisions}
                label={sh.anotherDivision}
                go={sh.addGo}
                add={(name) => divide(name, rule.ruling === "in" ? "out" : "in")}
              />
            </>
          )}
          <div class="row">
            <button type="button" class="plain small" onClick={() => edit({ do: "remove-blanket", blanket: id })}>
              {s.removeRule}
            </button>
          </div>
        </div>
      )}
      {rule.said.length > 0 ? <Evidence said={rule.said} /> : <p class="quiet">{s.byHand}</p>}
    </li>
  );
}

function Format({ view, edit }: { view: CourseView; edit: (...edits: Edit[]) => void }) {
  const [open, setOpen] = useState(false);
  const [wrong, setWrong] = useState(false);
  const { format } = view.course;
  return (
    <div class={`rule run rule-${format && !view.course.format_by_hand ? "draft" : "accepted"}`}>
      <div class="line-top">
        <div>
          {format === null && <p class="quiet">{c.noFormat}</p>}
          {format?.retries != null && <p>{c.retries(format.retries)}</p>}
          {format?.ranking != null && <p>{c.ranking(format.ranking)}</p>}
        </div>
        <p class="line-hand">
          <OpensLine open={open} named={s.changeRule(c.format)} toggle={() => setOpen(!open)} />
        </p>
      </div>
      {open && (
        <div class="line-controls">
          <TextField
            label={s.retries}
            help={wrong ? s.retriesWrong : s.retriesHelp}
            value={format?.retries == null ? "" : String(format.retries)}
            since={null}
            most={10}
            keep={(text) => {
              const fits = text === "" || /^\d{1,2}$/.test(text);
              setWrong(!fits);
              if (fits) edit({ do: "set-format", retries: text === "" ? null : Number(text) } as Edit);
            }}
          />
          <TextField
            label={s.ranking}
            value={format?.ranking ?? ""}
            since={null}
            keep={(text) => edit({ do: "set-format", ranking: text || null } as Edit)}
          />
        </div>
      )}
      <Evidence said={format?.said ?? []} />
    </div>
  );
}
