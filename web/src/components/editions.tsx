/** What was published, each edition with its outputs, and publishing the next one. */

import type { CourseView, Edition, Output } from "../api";
import type { CourseModel } from "../models/course";
import { languageName } from "../models/naming";
import { strings } from "../strings";
import { when } from "./bits";
import { Films } from "./films";
import { Publishing } from "./publishing";

const e = strings.editions;
type Part = { model: CourseModel; view: CourseView };

export function Editions({ model, view }: Part) {
  const newest = view.editions.findLast((each) => each.outputs.length > 0) ?? view.editions.at(-1);
  const newer = view.editions.filter((each) => newest && each.number > newest.number); // being written
  const older = view.editions.filter((each) => newest && each.number < newest.number).reverse();
  return (
    <section id="editions" class="editions-part">
      <h2>{e.title}</h2>
      {view.editions.length === 0 && <p class="quiet">{e.none}</p>}
      <Publishing model={model} view={view} />
      {newer.map((edition) => (
        <OneEdition key={edition.number} edition={edition} model={model} view={view} newest={false} />
      ))}
      {newest && <OneEdition edition={newest} model={model} view={view} newest />}
      {newest && older.length > 0 && (
        <details class="earlier">
          <summary>{e.earlier(older.length)}</summary>
          <p class="quiet">{e.replaced(newest.number)}</p>
          <ol class="editions" reversed>
            {older.map((edition) => (
              <li key={edition.number}>
                <OneEdition edition={edition} model={model} view={view} newest={false} />
              </li>
            ))}
          </ol>
        </details>
      )}
    </section>
  );
}

function OneEdition({ edition, model, view, newest }: Part & { edition: Edition; newest: boolean }) {
  const shelves = shelved(edition.outputs);
  return (
    <article class="edition">
      <p>
        <strong>{e.line(edition.number, when(edition.at), edition.who)}</strong> <code class="code">{edition.code}</code>
      </p>
      {edition.outputs.length === 0 && <p class="quiet">{e.writing}</p>}
      <Outputs outputs={shelves.whole} />
      {[...shelves.languages].map(([language, outputs]) => (
        <details key={language}>
          <summary>{languageName(language)}</summary>
          <Outputs outputs={outputs} lang={language} />
        </details>
      ))}
      {shelves.captions.length > 0 && (
        <details>
          <summary>{e.captions(shelves.captions.length)}</summary>
          <Outputs outputs={shelves.captions} />
        </details>
      )}
      {shelves.films.length > 0 && (
        <details>
          <summary>{e.filmsMade(shelves.films.length)}</summary>
          <Outputs outputs={shelves.films} />
        </details>
      )}
      {newest && edition.outputs.length > 0 && <Films model={model} view={view} edition={edition} />}
    </article>
  );
}

type Shelves = {
  whole: readonly Output[];
  languages: ReadonlyMap<string, readonly Output[]>;
  captions: readonly Output[];
  films: readonly Output[];
};

/** The outputs as people look for them: what everybody opens, then what is in another language, then captions and films. */
export function shelved(outputs: readonly Output[]): Shelves {
  const languages = new Map<string, Output[]>();
  const whole: Output[] = [];
  for (const output of outputs) {
    const [folder, file] = output.kind.split("/");
    if (file === undefined || folder === undefined || output.kind in e.outputs) whole.push(output);
    else if (/^[a-z]{2,3}$/.test(folder)) languages.set(folder, [...(languages.get(folder) ?? []), output]);
    else if (folder !== "captions" && folder !== "films") whole.push(output);
  }
  const of = (folder: string) => outputs.filter((output) => output.kind.startsWith(`${folder}/`) && !(output.kind in e.outputs));
  return { whole, languages, captions: of("captions"), films: of("films") };
}

function Outputs({ outputs, lang }: { outputs: readonly Output[]; lang?: string }) {
  if (outputs.length === 0) return null;
  return (
    <ul>
      {outputs.map((output) => (
        <li key={output.kind}>
          <a href={output.address} hreflang={lang}>
            {outputName(output)}
          </a>{" "}
          {output.size_bytes !== null && <span class="quiet">{size(output.size_bytes)}</span>}
        </li>
      ))}
    </ul>
  );
}

export function outputName(output: Output): string {
  const [folder, file] = output.kind.split("/");
  const names = e.outputs;
  const film = /^films\/station-(\d+)\.mp4$/.exec(output.kind);
  if (film?.[1]) return e.filmOf(film[1]);
  return (
    names[output.kind] ?? (file && names[file]) ?? (folder && file && names[folder] ? `${names[folder]}: ${file}` : (file ?? output.kind))
  );
}

export function size(bytes: number): string {
  return bytes < 1_000_000 ? `${Math.max(1, Math.round(bytes / 1000))} kB` : `${(bytes / 1_000_000).toFixed(1)} MB`;
}
