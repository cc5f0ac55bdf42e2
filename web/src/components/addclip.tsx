/** A further clip for a course that is there: the one that was forgotten, or a station that was filmed again. */

import { useEffect, useRef, useState } from "preact/hooks";
import type { CourseView } from "../api";
import type { CourseModel } from "../models/course";
import { isOpen } from "../models/job";
import { walkAtHand } from "../models/walk";
import { needWho } from "../models/who";
import { strings } from "../strings";
import { Trouble } from "./bits";
import { Clips } from "./clips";

const s = strings.addClip;

export function AddClip({ model, view }: { model: CourseModel; view: CourseView }) {
  const course = view.course.name;
  const [walk, setWalk] = useState(() => walkAtHand(course));
  const [open, setOpen] = useState(walk.clips.value.length > 0);
  const hand = useRef<HTMLButtonElement>(null);
  const sent = walk.job.value;
  useEffect(() => {
    if (sent === null) return;
    setWalk(walkAtHand(course));
    setOpen(false);
    hand.current?.focus();
    void model.load();
  }, [sent, course, model]);
  useEffect(() => {
    if (open) void walk.lookForLeft();
  }, [open, walk]);
  const send = (event: Event) => {
    event.preventDefault();
    needWho();
    walk.wish();
  };
  const job = model.job.value;
  const being = job?.kind === "add clips" && isOpen(job);
  const none = walk.clips.value.length === 0;
  return (
    <>
      <button ref={hand} type="button" class="plain" aria-expanded={open} onClick={() => setOpen(!open)}>
        {s.add}
      </button>
      <p role="status">{!open && being && s.being}</p>
      {open && (
        <form class="take-in add-clip" aria-label={s.add} onSubmit={send}>
          <Clips walk={walk} help={s.help} after={view.course.clips.length} />
          <section class="field">
            <label for="add-names">{s.names}</label>
            <p id="add-names-help" class="quiet">
              {s.namesHelp}
            </p>
            <textarea
              id="add-names"
              rows={3}
              aria-describedby="add-names-help"
              value={walk.names.value}
              onInput={(event) => {
                walk.names.value = event.currentTarget.value;
              }}
            />
          </section>
          <Trouble problem={walk.problem.value} />
          <p class="row go">
            <button type="submit" disabled={none || walk.refused.value || !walk.captionsFit.value || walk.wished.value}>
              {s.go}
            </button>
            <span class="quiet" role="status">
              {none ? strings.takeIn.noClip : walk.wished.value || !walk.allHere.value ? s.goWhenHere : ""}
            </span>
          </p>
        </form>
      )}
    </>
  );
}
