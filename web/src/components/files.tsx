/** Files that a person chooses: the button for it, and where each stands on its way. */

import { useRef } from "preact/hooks";
import { clock } from "../geometry/clock";
import type { Sending } from "../models/upload";
import { strings } from "../strings";

const s = strings.takeIn;

/** Where a file stands on its way to the server; once it is there, what it is. */
export function Standing({ sending }: { sending: Sending }) {
  const state = sending.state.value;
  if (state.at === "refused") return <p role="alert">{state.problem.sentence}</p>;
  if (state.at === "looking") return <p>{s.looking}</p>;
  if (state.at === "here") {
    const { upload } = state;
    if (upload.kind === "captions") return <p>{[s.captionsHere(upload.cues ?? 0), ...upload.remarks].join(" ")}</p>;
    return <p>{s.here(clock(upload.duration_s ?? 0), upload.width ?? 0, upload.height ?? 0)}</p>;
  }
  return (
    <>
      <progress max={1} value={state.share} aria-label={sending.file.name} />
      <p>{state.waiting ? s.waiting(state.share) : s.sending(state.share)}</p>
    </>
  );
}

/** A file button of our own looks; the browser's own stays underneath for keyboards and screen readers. */
export function Pick({
  label,
  spoken,
  accept,
  multiple = false,
  quiet = false,
  chosen,
}: {
  label: string;
  spoken?: string;
  accept: string;
  multiple?: boolean;
  quiet?: boolean;
  chosen: (files: File[]) => void;
}) {
  const input = useRef<HTMLInputElement>(null);
  return (
    <label class={quiet ? "pick pick-quiet" : "pick"}>
      <span>{label}</span>
      <input
        ref={input}
        type="file"
        aria-label={spoken}
        accept={accept}
        multiple={multiple}
        onChange={(event) => {
          const files = [...(event.currentTarget.files ?? [])];
          event.currentTarget.value = "";
          if (files.length > 0) chosen(files);
        }}
      />
    </label>
  );
}
