/** Small things that every page draws: links inside the app, problems, evidence, the tape. */

import type { ComponentChildren } from "preact";
import type { Problem, Said } from "../api";
import { clock } from "../geometry/clock";
import { hear } from "../models/hear";
import { go } from "../models/route";
import { strings } from "../strings";

/** A link to another page of ours, followed without a reload; opens as any link does with a modifier key. */
type LinkProps = { href: string; children: ComponentChildren; class?: string; title?: string; "aria-current"?: "page" | undefined };

export function Link({ href, children, ...rest }: LinkProps) {
  const follow = (event: MouseEvent) => {
    if (event.defaultPrevented || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
    event.preventDefault();
    go(href);
  };
  return (
    <a href={href} {...rest} onClick={follow}>
      {children}
    </a>
  );
}

export function Trouble({ problem }: { problem: Problem | null }) {
  return (
    <div role="alert">
      {problem && (
        <div class="trouble">
          <p>{problem.sentence}</p>
          {problem.reasons.length > 0 && (
            <ul>
              {problem.reasons.map((reason) => (
                <li key={reason}>{reason}</li>
              ))}
            </ul>
          )}
        </div>
      )}
    </div>
  );
}

/** What was said, with its time; the time plays that moment of the walk. */
export function Evidence({ said }: { said: readonly Said[] }) {
  if (said.length === 0) return null;
  return (
    <ul class="evidence">
      {said.map((each) => (
        <li key={`${each.start} ${each.text}`}>
          {hear.can(each.start) ? (
            <button
              type="button"
              class="time"
              aria-label={strings.station.hear(clock(each.start))}
              onClick={() => hear.play(each.start, each.end)}
            >
              {clock(each.start)}
            </button>
          ) : (
            <span class="time">{clock(each.start)}</span>
          )}{" "}
          <q>{each.text}</q>
        </li>
      ))}
    </ul>
  );
}

/** The strip of tape with a large number. */
export function Tape({ children }: { children: ComponentChildren }) {
  return (
    <div class="tape" aria-hidden="true">
      <span>{children}</span>
    </div>
  );
}

/** The same words with a capital letter in front, as a heading has it. */
export function capital(words: string): string {
  return words.charAt(0).toLocaleUpperCase() + words.slice(1);
}

export function when(at: string): string {
  return new Date(at).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}
