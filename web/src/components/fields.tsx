/** Plain controls that stand in the page itself: a text that is kept when one leaves it, a row of choices, an adder. */

import { useId, useLayoutEffect, useRef, useState } from "preact/hooks";
import { strings } from "../strings";
import { useHalf, useLeaving } from "./half";

export const LONGEST = 200;

type Text<Since> = {
  label: string;
  value: string;
  since: Since;
  keep: (text: string, since: Since) => void;
  help?: string | undefined;
  most?: number;
  needed?: boolean;
  placeholder?: string;
  lang?: string;
};

/** A text field. What is typed is the field's own until it, or the page, is left or Enter is pressed: nobody else's change touches it.
 * Escape gives back what stood there. `since` is what the person saw when they began to type; it goes along with what they typed. */
export function TextField<Since>({ label, value, since, keep, help, most = LONGEST, needed = false, placeholder, lang }: Text<Since>) {
  const [typed, setTyped] = useState<string | null>(null);
  const began = useRef(since);
  const id = useId();
  const text = (typed ?? value).trim();
  const wrong =
    typed === null ? null : text.length > most ? strings.sheet.tooLong(text.length, most) : needed && !text ? strings.sheet.empty : null;
  const open = useRef(false);
  open.current = typed !== null;
  const done = () => {
    if (!open.current || wrong) return;
    open.current = false;
    if (text !== value.trim()) keep(text, began.current);
    setTyped(null);
  };
  useLeaving(done);
  return (
    <div class="text-field">
      <label for={id}>{label}</label>
      <input
        id={id}
        value={typed ?? value}
        placeholder={placeholder}
        lang={lang}
        autocomplete="off"
        aria-invalid={wrong !== null}
        aria-describedby={wrong || help ? `${id}-help` : undefined}
        onInput={(event) => {
          if (typed === null) began.current = since;
          setTyped(event.currentTarget.value);
        }}
        onBlur={done}
        onKeyDown={(event) => {
          if (event.key === "Enter") done();
          if (event.key === "Escape" && typed !== null) {
            event.stopPropagation();
            open.current = false;
            setTyped(null);
          }
        }}
      />
      {(wrong || help) && (
        <p id={`${id}-help`} class={wrong ? "wrong" : "quiet"} role={wrong ? "alert" : undefined}>
          {wrong ?? help}
        </p>
      )}
    </div>
  );
}

type Choices<T extends string> = {
  label: string;
  options: readonly (readonly [T, string])[];
  value: T;
  choose: (value: T) => void;
  control?: string;
};

/** A row of choices of which one holds. */
export function Choose<T extends string>({ label, options, value, choose, control }: Choices<T>) {
  const name = useId();
  return (
    <fieldset class="choose" data-control={control}>
      <legend>{label}</legend>
      {options.map(([each, word]) => (
        <label key={each} class={each === value ? "on" : undefined}>
          <input type="radio" name={name} checked={each === value} onChange={() => choose(each)} />
          {word}
        </label>
      ))}
    </fieldset>
  );
}

/** The button that opens a line's controls in place, and closes them. `named` tells by ear what it changes. */
export function OpensLine({ open, named, toggle }: { open: boolean; named: string; toggle: () => void }) {
  return (
    <button type="button" class="plain small quiet-hand" aria-expanded={open} aria-label={open ? undefined : named} onClick={toggle}>
      {open ? strings.sheet.close : strings.sheet.change}
    </button>
  );
}

export type ForDivision = "as-all" | "in" | "out";

/** A row of choices for each division: as for everyone, or a ruling of its own. */
export function ForDivisions(props: {
  names: readonly string[];
  given: Readonly<Record<string, "in" | "out">>;
  divide: (name: string, value: ForDivision) => void;
}) {
  const { asAll, rulings } = strings.sheet;
  const options = [["as-all", asAll] as const, ["in", rulings.in] as const, ["out", rulings.out] as const];
  return (
    <>
      {props.names.map((name) => (
        <Choose<ForDivision>
          key={name}
          label={name}
          value={props.given[name] ?? "as-all"}
          options={options}
          choose={(value) => props.divide(name, value)}
        />
      ))}
    </>
  );
}

type Line = {
  label: string;
  value: string;
  write: (text: string) => void;
  most?: number;
  first?: "focus" | "select";
  needed?: boolean;
  help?: string;
  leave?: () => void;
};

/** A form's field for at most `most` characters. More can be typed and pasted and nothing of it is cut off: it is told, and the form
 * cannot be sent before it is shorter. */
export function Line({ label, value, write, most = LONGEST, first, needed = false, help, leave }: Line) {
  const input = useRef<HTMLInputElement>(null);
  const id = useId();
  const length = value.trim().length;
  const wrong = length > most ? strings.sheet.tooLong(length, most) : "";
  useLayoutEffect(() => input.current?.setCustomValidity(wrong), [wrong]);
  useLayoutEffect(() => {
    if (first) input.current?.[first]();
  }, []);
  const about = [help && `${id}-help`, wrong && `${id}-wrong`].filter(Boolean).join(" ");
  return (
    <div class="text-field">
      <label for={id}>{label}</label>
      <input
        id={id}
        ref={input}
        value={value}
        required={needed}
        autocomplete="off"
        aria-invalid={wrong !== ""}
        aria-describedby={about || undefined}
        onInput={(event) => write(event.currentTarget.value)}
        onKeyDown={(event) => {
          if (event.key === "Escape") leave?.();
        }}
      />
      {help && (
        <p id={`${id}-help`} class="quiet">
          {help}
        </p>
      )}
      {wrong && (
        <p id={`${id}-wrong`} class="wrong" role="alert">
          {wrong}
        </p>
      )}
    </div>
  );
}

type Adder = {
  open: string;
  label: string;
  go: string;
  add: (text: string) => void;
  refuse?: (text: string) => string | null;
  /** Tells fields of the same label apart. */
  of?: string;
};

/** A button that becomes a field: type, Enter, and it is there. What was half typed is there again until it is sent, or left by Escape. */
export function Add({ open, label, go, add, refuse, of = "" }: Adder) {
  const [typed, setTyped] = useHalf(`${label} ${of}`);
  const [tried, setTried] = useState(false);
  const id = useId();
  if (typed === null)
    return (
      <button type="button" class="plain small" onClick={() => setTyped("")}>
        {open}
      </button>
    );
  const text = typed.trim();
  const long = text.length > LONGEST ? strings.sheet.tooLong(text.length, LONGEST) : null;
  const wrong = long ?? (tried && !text ? strings.sheet.empty : text ? (refuse?.(text) ?? null) : null);
  const close = () => {
    setTyped(null);
    setTried(false);
  };
  return (
    <form
      class="add"
      onSubmit={(event) => {
        event.preventDefault();
        setTried(true);
        if (!text || long || refuse?.(text)) return;
        add(text);
        close();
      }}
    >
      <label for={id}>{label}</label>
      <div class="row">
        <input
          id={id}
          value={typed}
          autocomplete="off"
          aria-invalid={wrong !== null}
          aria-describedby={wrong ? `${id}-wrong` : undefined}
          ref={(input) => {
            if (input && !input.dataset.met && typed === "") input.focus(); // one that was half typed takes nobody's focus away
            if (input) input.dataset.met = "yes";
          }}
          onInput={(event) => setTyped(event.currentTarget.value)}
          onKeyDown={(event) => {
            if (event.key === "Escape") close();
          }}
        />
        <button type="submit">{go}</button>
        <button type="button" class="plain" onClick={close}>
          {strings.sheet.never}
        </button>
      </div>
      {wrong && (
        <p id={`${id}-wrong`} class="wrong" role="alert">
          {wrong}
        </p>
      )}
    </form>
  );
}
