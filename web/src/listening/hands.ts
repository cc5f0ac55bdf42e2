/** Keys of the whole page. Single letters can be turned off, since they get in the way of speech input. */

import type { Desk } from "./desk";

const FAR_S = 5;

/** Listens for keys until the returned call. */
export function keysOf(desk: Desk): () => void {
  const pressed = (event: KeyboardEvent) => {
    if (event.defaultPrevented || event.isComposing || event.altKey) return;
    if (typing(event.target)) return;
    if (event.ctrlKey || event.metaKey) return undoing(desk, event);
    if (act(desk, event)) event.preventDefault();
  };
  addEventListener("keydown", pressed);
  return () => removeEventListener("keydown", pressed);
}

function undoing(desk: Desk, event: KeyboardEvent): void {
  const key = event.key.toLowerCase();
  if (key === "z") void (event.shiftKey ? desk.redo() : desk.undo());
  else if (key === "y") void desk.redo();
  else return;
  event.preventDefault();
}

function act(desk: Desk, event: KeyboardEvent): boolean {
  const { playing } = desk;
  const onButton = event.target instanceof Element && event.target.closest("button, a, input, select, summary, [role=slider]") !== null;
  if (event.key === " " && (!onButton || isWord(event.target))) playing.toggle();
  else if (event.key === "ArrowLeft" && !onButton) playing.seek(playing.time.value - FAR_S);
  else if (event.key === "ArrowRight" && !onButton) playing.seek(playing.time.value + FAR_S);
  else return desk.letters.value && letter(desk, event);
  return true;
}

function letter(desk: Desk, event: KeyboardEvent): boolean {
  const { playing } = desk;
  switch (event.key.toLowerCase()) {
    case "b":
      void playing.step(-1);
      return true;
    case "n":
      void playing.step(1);
      return true;
    case "p":
      if (!event.repeat) void desk.takeStill();
      return true;
    case "o":
      desk.keepToPiece(playing.only.value === null);
      return true;
    case "+":
      playing.faster(1);
      return true;
    case "-":
      playing.faster(-1);
      return true;
  }
  return false;
}

function typing(target: EventTarget | null): boolean {
  return (
    target instanceof Element && target.closest("input:not([type=checkbox], [type=radio]), textarea, select, [contenteditable]") !== null
  );
}

function isWord(target: EventTarget | null): boolean {
  return target instanceof Element && target.closest(".said-word") !== null;
}
