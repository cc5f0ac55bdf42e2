/** What names are called in other languages: folded away beside each name, and all of them together for one language. */

import { useState } from "preact/hooks";
import type { CourseView } from "../api";
import type { CourseModel } from "../models/course";
import { calledIn, languageName, type Naming, namesOf, otherLanguages } from "../models/naming";
import { strings } from "../strings";
import { Choose, TextField } from "./fields";

const s = strings.naming;

export function naming(model: CourseModel, view: CourseView): Naming {
  return {
    languages: otherLanguages(view),
    translated: view.course.translated,
    edit: (edits) => void model.editCourse([...edits]),
  };
}

/** One name in every other language, folded away until wanted. */
export function InOtherLanguages({ said, naming }: { said: string | null; naming: Naming }) {
  if (said === null || naming.languages.length === 0) return null;
  const done = naming.languages.filter((each) => calledIn(naming.translated, said, each) !== "").length;
  return (
    <details class="in-languages">
      <summary>{s.inOthers(done, naming.languages.length)}</summary>
      <div class="names-grid">
        {naming.languages.map((language) => (
          <InOne key={`${language} ${said}`} said={said} language={language} label={languageName(language)} naming={naming} />
        ))}
      </div>
    </details>
  );
}

function InOne({ said, language, label, naming }: { said: string; language: string; label: string; naming: Naming }) {
  return (
    <TextField
      label={label}
      lang={language}
      value={calledIn(naming.translated, said, language)}
      placeholder={s.asSaid}
      since={null}
      keep={(text) => naming.edit([{ do: "translate", said, language, translation: text || null }])}
    />
  );
}

/** All names of the course in one language: the way for somebody who sits down and translates. */
export function AllNames({ model, view }: { model: CourseModel; view: CourseView }) {
  const here = naming(model, view);
  const [language, setLanguage] = useState(here.languages[0] ?? "");
  const names = namesOf(
    view.course,
    model.stations.value.map((at) => at.station),
  );
  if (here.languages.length === 0 || names.length === 0) return null;
  const missing = names.filter((name) => calledIn(here.translated, name, language) === "").length;
  return (
    <section>
      <h2>{s.title}</h2>
      <details class="all-names">
        <summary>{here.languages.map(languageName).join(", ")}</summary>
        <p class="quiet">{s.help}</p>
        <Choose
          label={s.language}
          value={language}
          options={here.languages.map((each) => [each, languageName(each)] as const)}
          choose={setLanguage}
        />
        <p role="status">{s.missing(missing)}</p>
        <div class="names-grid">
          {names.map((name) => (
            <InOne key={`${language} ${name}`} said={name} language={language} label={name} naming={here} />
          ))}
        </div>
      </details>
    </section>
  );
}
