/** Text that somebody began to type and did not send: it is still there after Back, a reload, or another day, until it is sent or left. */

import { createContext } from "preact";
import { useContext, useLayoutEffect, useRef, useState } from "preact/hooks";
import { recall, remember } from "../models/keep";

/** Which course, or which of its stations, the fields below belong to; without one nothing is kept. */
export const Whose = createContext<string | null>(null);

/** What is typed in one field, null where the field is shut; kept under `field`, which is the field's own name among those of its place. */
export function useHalf(field: string): [string | null, (text: string | null) => void] {
  const place = useContext(Whose);
  const key = place === null ? null : `half ${place} ${field}`;
  const [typed, setTyped] = useState<string | null>(() => (key === null ? null : recall(key)));
  const write = (text: string | null) => {
    setTyped(text);
    if (key !== null) remember(key, text?.trim() ? text : null);
  };
  return [typed, write];
}

/** Calls `left` when the page is left, or what is shown goes away, with nobody having left the field itself: Back, a reload, a closed tab. */
export function useLeaving(left: () => void): void {
  const now = useRef(left);
  now.current = left;
  useLayoutEffect(() => {
    const leave = () => now.current();
    addEventListener("pagehide", leave);
    return () => {
      removeEventListener("pagehide", leave);
      leave();
    };
  }, []);
}
