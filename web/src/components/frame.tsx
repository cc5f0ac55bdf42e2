/** What stands around every page: the way home, who you are, and whether all is saved. */

import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { line } from "../models/line";
import { to } from "../models/route";
import { LONGEST_NAME, setWho, who } from "../models/who";
import { strings } from "../strings";
import { Link } from "./bits";
import { Player } from "./player";

export function Frame({ children, row }: { children: ComponentChildren; row?: ComponentChildren }) {
  return (
    <>
      <a class="skip" href="#content">
        {strings.skip}
      </a>
      <header class="top">
        <Link href={to.courses} class="home">
          {strings.home}
        </Link>
        <p class={`line line-${line.state.value}`} role="status">
          {strings.line[line.state.value]}
        </p>
        <Who />
      </header>
      {row}
      <main id="content" tabIndex={-1}>
        {children}
      </main>
      <Player />
    </>
  );
}

function Who() {
  const [open, setOpen] = useState(false);
  const [typed, setTyped] = useState(who.value);
  if (!open)
    return (
      <button type="button" class="plain who" onClick={() => setOpen(true)}>
        {who.value ? strings.who.is(who.value) : strings.who.none}
      </button>
    );
  const keep = (event: Event) => {
    event.preventDefault();
    setWho(typed);
    setOpen(false);
  };
  return (
    <form class="who-form" onSubmit={keep}>
      <label>
        {strings.who.label}
        <input
          value={typed}
          maxLength={LONGEST_NAME}
          autocomplete="name"
          ref={(input) => input?.focus()}
          onInput={(event) => setTyped(event.currentTarget.value)}
        />
      </label>
      <button type="submit">{strings.who.keep}</button>
    </form>
  );
}
