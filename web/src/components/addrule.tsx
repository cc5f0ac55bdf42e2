/** Adds a rule for every station: the name of a thing, or a sentence. What is understood of a sentence is shown before it is put in. */

import { useRef, useState } from "preact/hooks";
import { api, type CourseView, type Edit, type TypedView } from "../api";
import { fresh } from "../models/outbox";
import { understood } from "../models/typed";
import { strings } from "../strings";
import { Line, LONGEST } from "./fields";
import { useHalf } from "./half";

const s = strings.typedRule;
const MOST = 1000;
/** So that the line stays the same one, with what is typed in it, when the server has it. */
export const ownRuleId = () => `b-${fresh()}`;

/** What became of the text that was sent to be read: what was understood, why it was not read, or that it is on its way. */
type Read = Readonly<{ kind: "read"; typed: TypedView }> | Readonly<{ kind: "not"; why: string }> | Readonly<{ kind: "reading" }>;

export function AddRule({ view, edit }: { view: CourseView; edit: (...edits: Edit[]) => void }) {
  const [text, setText] = useHalf("a rule for every station");
  const [read, setRead] = useState<Read | null>(null);
  const now = useRef<string | null>(null);
  now.current = text;
  if (text === null)
    return (
      <button type="button" class="plain small" onClick={() => setText("")}>
        {strings.coursePage.addRule}
      </button>
    );
  const write = (typed: string | null) => {
    setText(typed);
    setRead(null);
  };
  const typed = text.trim();
  const put = (...edits: Edit[]) => {
    edit(...edits);
    write(null);
  };
  const asName = () => put({ do: "add-blanket", id: ownRuleId(), rule: { rule: "surface", surface: typed, ruling: "out" } as never });
  const ask = async () => {
    if (!typed || typed.length > MOST) return;
    setRead({ kind: "reading" });
    const answer = await api.typed(view.course.name, typed);
    if (now.current !== text) return; // it was changed, or left, meanwhile
    if (answer.kind === "ok" && answer.value.name && typed.length <= LONGEST) asName();
    else if (answer.kind === "ok") setRead({ kind: "read", typed: answer.value });
    else setRead({ kind: "not", why: answer.kind === "away" ? s.away : answer.problem.sentence });
  };
  return (
    <form
      class="add add-rule"
      onSubmit={(event) => {
        event.preventDefault();
        void ask();
      }}
    >
      <Line
        label={s.label}
        help={s.help}
        value={text}
        write={write}
        most={MOST}
        leave={() => write(null)}
        {...(text === "" && { first: "focus" })}
      />
      {read?.kind !== "read" && (
        <div class="row">
          <button type="submit" disabled={!typed || read?.kind === "reading"}>
            {read?.kind === "reading" ? s.reading : strings.coursePage.ruleGo}
          </button>
          {read?.kind === "not" && typed.length <= LONGEST && <AsName put={asName} />}
          <Never leave={() => write(null)} />
        </div>
      )}
      <div role="status">
        {read?.kind === "not" && <p class="wrong">{read.why}</p>}
        {read?.kind === "read" && (
          <Preview
            typed={read.typed}
            view={view}
            put={put}
            asName={read.typed.may_be_name && typed.length <= LONGEST ? asName : null}
            leave={() => write(null)}
          />
        )}
      </div>
    </form>
  );
}

type Shown = { typed: TypedView; view: CourseView; put: (...edits: Edit[]) => void; asName: (() => void) | null; leave: () => void };

function Preview({ typed, view, put, asName, leave }: Shown) {
  const all = understood(typed, view.course, ownRuleId);
  const edits = all.flatMap((each) => each.edits);
  return (
    <>
      {all.length === 0 ? (
        <p class="wrong">{s.nothing}</p>
      ) : (
        <>
          <p>{s.understood}</p>
          <ul class="understood">
            {all.map((each) => (
              <li key={each.sentence}>
                <strong>{each.sentence}</strong> {each.note && <span class="quiet">{each.note}</span>}
              </li>
            ))}
          </ul>
          {typed.left.length > 0 && <p class="wrong">{s.left(typed.left)}</p>}
        </>
      )}
      {!typed.may_be_name && (all.length === 0 || typed.left.length > 0) && <p class="quiet">{s.canSay}</p>}
      {typed.left.some((sentence) => /\b(?:adults?|grown)/i.test(sentence)) && <p class="quiet">{s.adults}</p>}
      <div class="row">
        {edits.length > 0 && (
          <button type="button" onClick={() => put(...edits)}>
            {s.put(all.filter((each) => each.edits.length > 0).length)}
          </button>
        )}
        {asName && <AsName put={asName} />}
        <Never leave={leave} />
      </div>
    </>
  );
}

function AsName({ put }: { put: () => void }) {
  return (
    <button type="button" class="plain" onClick={put}>
      {s.asName}
    </button>
  );
}

function Never({ leave }: { leave: () => void }) {
  return (
    <button type="button" class="plain" onClick={leave}>
      {strings.sheet.never}
    </button>
  );
}
