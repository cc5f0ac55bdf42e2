/** What stands around every page: the way home, who you are, and whether all is saved. */

import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { line } from "../models/line";
import { outbox } from "../models/outbox";
import { to } from "../models/route";
import { asking, LONGEST_NAME, setWho, who } from "../models/who";
import { strings } from "../strings";
import { Link } from "./bits";
import { Keys, Tour } from "./help";
import { Player } from "./player";

/** `row` stands below the top, `tools` in it, beside the line. */
export function Frame({ children, row, tools }: { children: ComponentChildren; row?: ComponentChildren; tools?: ComponentChildren }) {
  return (
    <>
      <a class="skip" href="#content">
        {strings.skip}
      </a>
      <header class="top">
        <Link href={to.courses} class="home">
          {strings.home}
        </Link>
        <Line />
        {tools}
        <Who />
        <Keys />
      </header>
      {row}
      <main id="content" tabIndex={-1}>
        {children}
      </main>
      <Player />
      <Tour />
    </>
  );
}

/** The one place that tells whether all is saved. */
function Line() {
  const s = strings.line;
  const state = line.state.value;
  const words = state === "kept" ? s.kept(line.waiting.value) : state === "held" ? s.held(line.held.value) : s[state];
  const trouble = outbox.trouble.value;
  return (
    <p class={`line line-${state}`} role="status">
      {words}
      {trouble && ` ${trouble.sentence}`}
      {outbox.homeless.value && line.waiting.value > 0 && ` ${s.homeless}`}
    </p>
  );
}

function Who() {
  const [typed, setTyped] = useState(who.value);
  const [wanted, setWanted] = useState(false); // a question that came by itself takes nobody's focus away
  if (!asking.value)
    return (
      <button
        type="button"
        class="plain who"
        onClick={() => {
          setTyped(who.value);
          setWanted(true);
          asking.value = true;
        }}
      >
        {who.value ? strings.who.is(who.value) : strings.who.none}
      </button>
    );
  const keep = (event: Event) => {
    event.preventDefault();
    setWho(typed);
    asking.value = false;
  };
  return (
    <form class="who-form" onSubmit={keep}>
      <label>
        {strings.who.label}
        <input
          value={typed}
          maxLength={LONGEST_NAME}
          autocomplete="name"
          ref={(input) => {
            if (wanted) input?.focus();
          }}
          onInput={(event) => setTyped(event.currentTarget.value)}
        />
      </label>
      <button type="submit">{strings.who.keep}</button>
    </form>
  );
}
